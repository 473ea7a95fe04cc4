//! The true path of one made-up animal over rough ground.

use super::dice::Dice;
use std::f64::consts::TAU;

/// How an animal moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Habit {
    /// On the ground, over logs and low shrubs.
    Walker,
    /// Along branches and up and down trunks.
    Climber,
}

/// An animal, its ground and its crew's step.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Animal {
    pub(crate) habit: Habit,
    /// Even step of its crew, metres.
    pub(crate) step: Option<f64>,
    /// Roughness of the ground, metres.
    pub(crate) ground_m: f64,
}

/// The truth of one trail, anchor by anchor.
#[derive(Clone, Debug, Default)]
pub(crate) struct Truth {
    /// East, north and up, metres.
    pub(crate) places: Vec<[f64; 3]>,
    /// Above the ground beneath, metres.
    pub(crate) heights: Vec<f64>,
    /// Whether the leg to it runs along a trunk, so that it has no direction in plan.
    pub(crate) plumb: Vec<bool>,
    /// Its even step, metres: what the tape says whatever the true length.
    pub(crate) step: Option<f64>,
}

/// How far a trunk leans from one anchor to the next on either axis: the default, metres.
const PLUMB_M: f64 = 0.15;
/// Median leg, metres, and the spread of its logarithm.
const LEG_M: f64 = 1.7;
const LEG_SPREAD: f64 = 0.4;
/// Spread of the turns, radians: 50°, as the contract states it for animals of which few turns are
/// known. Common practice, no source.
const TURN: f64 = 0.873;
/// A leg that is not plumb runs at least this share of its length in plan.
const LEAST_RUN: f64 = 0.3;
/// The shortest piece of trunk between two anchors, and the treetops, metres.
const LEAST_TRUNK_M: f64 = 0.8;
const TREETOP_M: f64 = 11.0;
/// Share of a climber's legs along trunks.
const TRUNKS: f64 = 0.15;

/// The default standard deviation of a tape that reads `length`, metres.
pub(crate) fn sd_of_tape(length: f64) -> f64 {
    0.03_f64.hypot(0.002 * length)
}

/// A walk of so many anchors.
pub(crate) fn walk(animal: Animal, anchors: usize, dice: &mut Dice) -> Truth {
    let Animal { habit, step, ground_m } = animal;
    let height = if habit == Habit::Climber { 1.0 } else { 0.0 };
    let up = height + dice.normal(ground_m);
    let place = [dice.normal(40.0), dice.normal(40.0), up];
    let mut truth = Truth { step, ..Truth::default() };
    truth.push(place, height, false);
    let mut heading = dice.even() * TAU;
    while truth.places.len() < anchors {
        let length = match step {
            Some(step) => step + dice.normal(sd_of_tape(step)),
            None => LEG_M * dice.normal(LEG_SPREAD).exp(),
        };
        heading += dice.normal(TURN);
        if habit == Habit::Climber && length > LEAST_TRUNK_M && dice.even() < TRUNKS {
            truth.along_trunk(length, ground_m, dice);
        } else {
            let share = rise_share(habit, truth.height(), length, dice);
            let rise = share * length;
            truth.onward([length, rise, heading], ground_m, dice);
        }
    }
    truth
}

/// Rise of a leg as a share of its length.
fn rise_share(habit: Habit, height: f64, length: f64, dice: &mut Dice) -> f64 {
    let kind = dice.even();
    if habit == Habit::Walker {
        let onto = match kind {
            kind if kind < 0.6 => 0.0,
            kind if kind < 0.8 => 0.1 + 0.3 * dice.even(),
            _ => 0.3 + 0.6 * dice.even(),
        };
        return ((onto - height) / length).clamp(-0.5, 0.5);
    }
    let steep = if kind < 0.6 { dice.normal(0.12) } else { 0.7 + dice.normal(0.12) };
    let sense = sense(height, length, dice);
    (sense * steep).clamp(-height / length, 0.9).max(-0.9)
}

/// Up, down, or either where there is room for both.
fn sense(height: f64, length: f64, dice: &mut Dice) -> f64 {
    let up = dice.even() < 0.5;
    match height {
        height if height < length + 0.3 => 1.0,
        height if height > TREETOP_M - length => -1.0,
        _ if up => 1.0,
        _ => -1.0,
    }
}

impl Truth {
    fn push(&mut self, place: [f64; 3], height: f64, plumb: bool) {
        self.places.push(place);
        self.heights.push(height);
        self.plumb.push(plumb);
    }

    fn height(&self) -> f64 {
        self.heights[self.heights.len() - 1]
    }

    fn place(&self) -> [f64; 3] {
        self.places[self.places.len() - 1]
    }

    /// A leg of this length that ends higher above ground by `rise`, where the ground is rough.
    fn onward(&mut self, [length, rise, heading]: [f64; 3], ground_m: f64, dice: &mut Dice) {
        let [east, north, up] = self.place();
        let height = self.height() + rise;
        let to = height + dice.normal(ground_m);
        let run = (length * length - (to - up).powi(2)).max(0.0).sqrt().max(LEAST_RUN * length);
        let (sin, cos) = heading.sin_cos();
        self.push([east + run * sin, north + run * cos, to], height, false);
    }

    /// A leg of this length along a trunk, which leans as stated.
    fn along_trunk(&mut self, length: f64, ground_m: f64, dice: &mut Dice) {
        let [east, north, up] = self.place();
        let sense = sense(self.height(), length, dice);
        let [aside, ahead] = [dice.normal(PLUMB_M), dice.normal(PLUMB_M)];
        let rise = (length * length - aside * aside - ahead * ahead).max(0.0).sqrt();
        let to = up + sense * rise;
        let height = to - dice.normal(ground_m);
        self.push([east + aside, north + ahead, to], height, true);
    }

    /// What the thread lies on at an anchor.
    pub(crate) fn support(&self, anchor: usize) -> &'static str {
        let on_trunk = self.plumb[anchor] || self.plumb.get(anchor + 1) == Some(&true);
        match self.heights[anchor] {
            _ if on_trunk => "trunk",
            height if height <= 0.05 => "litter",
            height if height < 0.45 => "log",
            height if height < 1.0 => "shrub",
            _ => "branch",
        }
    }

    /// East, north and up along the leg to an anchor, metres.
    pub(crate) fn along(&self, anchor: usize) -> [f64; 3] {
        let (a, b) = (self.places[anchor - 1], self.places[anchor]);
        std::array::from_fn(|k| b[k] - a[k])
    }
}
