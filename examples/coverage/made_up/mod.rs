//! Made-up studies with known truth: one protocol of measuring each, as crews keep them.
//!
//! In: a protocol, how many trails and anchors, a seed. Out: a [`Study`]: the field table as text,
//! the settings it goes with, and the true path of every trail. Animals, wood and readings are
//! invented. The programs of `examples/coverage` and the tests read the same studies.

pub(crate) mod dice;
pub(crate) mod protocol;
pub(crate) mod sheet;
pub(crate) mod walk;

use dice::Dice;
use protocol::Protocol;
use sheet::{Errors, settings, written};
use walk::{Animal, Habit, Truth, walk};

/// What is to be made up.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wish {
    pub(crate) protocol: Protocol,
    pub(crate) trails: usize,
    pub(crate) anchors: usize,
    /// Roughness of the ground, metres.
    pub(crate) ground_m: f64,
    pub(crate) errors: Errors,
    pub(crate) seed: u64,
}

/// A made-up study.
pub(crate) struct Study {
    /// The text of `anchors.csv`.
    pub(crate) anchors: String,
    /// The text of `survey.toml`.
    pub(crate) settings: String,
    /// What is true of each trail, in the order of the table.
    pub(crate) truths: Vec<Truth>,
}

/// Makes a study up; every other animal walks, the others climb.
pub(crate) fn study(wish: &Wish) -> Study {
    let mut dice = Dice::new(wish.seed);
    let habit = |trail: usize| if trail.is_multiple_of(2) { Habit::Walker } else { Habit::Climber };
    let truths: Vec<Truth> = (0..wish.trails)
        .map(|trail| Animal {
            habit: habit(trail),
            step: wish.protocol.step(trail),
            ground_m: wish.ground_m,
        })
        .map(|animal| walk(animal, wish.anchors, &mut dice))
        .collect();
    let anchors = written(wish.protocol, &wish.errors, &truths, &mut dice);
    Study { anchors, settings: settings(wish.protocol), truths }
}
