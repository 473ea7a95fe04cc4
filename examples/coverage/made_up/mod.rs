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
    /// How its animals move; `None` where every other one walks, the others climb.
    pub(crate) habit: Option<Habit>,
    pub(crate) trails: usize,
    pub(crate) anchors: usize,
    /// Roughness of the ground, metres.
    pub(crate) ground_m: f64,
    pub(crate) errors: Errors,
    pub(crate) seed: u64,
}

/// The default roughness of the ground, metres.
pub(crate) const GROUND_M: f64 = 0.10;

impl Wish {
    /// Both kinds of animals on ground as rough as stated, read with the errors stated.
    pub(crate) const fn of(protocol: Protocol, [trails, anchors]: [usize; 2], seed: u64) -> Self {
        let errors = Errors::STATED;
        Self { protocol, habit: None, trails, anchors, ground_m: GROUND_M, errors, seed }
    }
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

/// Makes a study up.
pub(crate) fn study(wish: &Wish) -> Study {
    let mut dice = Dice::new(wish.seed);
    let either = |trail: usize| match trail % 2 {
        0 => Habit::Walker,
        _ => Habit::Climber,
    };
    let truths: Vec<Truth> = (0..wish.trails)
        .map(|trail| Animal {
            habit: wish.habit.unwrap_or_else(|| either(trail)),
            step: wish.protocol.step(trail),
            ground_m: wish.ground_m,
        })
        .map(|animal| walk(animal, wish.anchors, &mut dice))
        .collect();
    let anchors = written(wish.protocol, &wish.errors, &truths, &mut dice);
    Study { anchors, settings: settings(wish.protocol), truths }
}
