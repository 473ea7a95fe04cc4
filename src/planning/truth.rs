//! The true path of a made-up animal: a walk by habit.

use super::dice::Dice;
use crate::maths::quantity::Turn;
use crate::survey::settings::Precision;
use std::f64::consts::TAU;

/// How a made-up animal moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Habit {
    /// On the ground, over logs and low shrubs.
    Walker,
    /// Mostly up and down trunks and out on branches.
    Climber,
    /// From tree to tree, climbing some.
    Mixed,
}

impl Habit {
    /// The chance, at each anchor on the ground, that it climbs the next tree.
    const fn climbs(self) -> f64 {
        match self {
            Self::Walker => 0.0,
            Self::Climber => 0.35,
            Self::Mixed => 0.1,
        }
    }

    /// How high a climb goes, metres.
    const fn top(self) -> [f64; 2] {
        match self {
            Self::Climber => [3.0, 9.0],
            _ => [2.0, 6.0],
        }
    }
}

/// What the thread lies on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Support {
    /// Leaf litter.
    Litter,
    /// A log.
    Log,
    /// A low shrub.
    Shrub,
    /// The trunk of a tree.
    Trunk,
    /// A branch.
    Branch,
}

impl Support {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Litter => "litter",
            Self::Log => "log",
            Self::Shrub => "shrub",
            Self::Trunk => "trunk",
            Self::Branch => "branch",
        }
    }
}

/// A true anchor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// East, north and up of the release's ground, metres.
    pub at: [f64; 3],
    /// Above the ground beneath, metres.
    pub height: f64,
    /// What it is on.
    pub support: Support,
    /// The number of its tree.
    pub tree: Option<usize>,
    /// Whether the leg to it runs along a trunk and is measured without a bearing.
    pub plumb: bool,
}

/// What the leg between two marks lies on: beside a branch the branch, else beside a trunk the bark,
/// and from one thing on the ground to another the litter between them.
pub fn leg_support(from: &Mark, to: &Mark) -> Support {
    let ends = [from.support, to.support];
    if ends[0] == ends[1] {
        return ends[0];
    }
    let beside = [Support::Branch, Support::Trunk].into_iter().find(|on| ends.contains(on));
    beside.unwrap_or(Support::Litter)
}

/// Median leg on the ground, metres, and the spread of its logarithm: small animals' legs have a
/// long right tail. Common practice, no source.
const LEG_M: f64 = 1.7;
const LEG_SPREAD: f64 = 0.4;
/// Spread of the turns on the ground, degrees: an anchor is marked where the direction changes, so
/// turns are large. Common practice, no source.
const TURN_DEG: f64 = 55.0;
/// However steep the way onto a shrub, it runs so far, metres.
const LEAST_RUN_M: f64 = 0.6;
/// A leg along a trunk that leans by more than this, in `plumb_m`, is measured with a needle: it
/// would not pass for plumb.
const PLUMB: f64 = 3.0;

/// A walk of so many anchors.
pub fn walk(habit: Habit, anchors: usize, precision: &Precision, dice: &mut Dice) -> Vec<Mark> {
    let heading = dice.even(0.0, TAU);
    let release = Mark {
        at: [0.0, 0.0, 1.0],
        height: 1.0,
        support: Support::Trunk,
        tree: Some(1),
        plumb: false,
    };
    let mut walker = Walker {
        habit,
        rough: precision.ground_m,
        lean: precision.plumb_m,
        dice,
        marks: vec![release],
        heading,
        trees: 1,
        ground: 0.0,
    };
    if habit == Habit::Walker {
        walker.down();
    } else {
        walker.climb();
    }
    while walker.marks.len() < anchors {
        walker.cross();
        if walker.dice.chance(habit.climbs()) {
            walker.trees += 1;
            walker.climb();
        }
    }
    walker.marks.truncate(anchors);
    walker.marks
}

struct Walker<'a> {
    habit: Habit,
    rough: f64,
    /// How far a trunk leans from one anchor to the next, metres on either axis.
    lean: f64,
    dice: &'a mut Dice,
    marks: Vec<Mark>,
    heading: f64,
    trees: usize,
    /// Elevation of the ground at the foot of the tree it is on, or beneath the last anchor.
    ground: f64,
}

impl Walker<'_> {
    fn last(&self) -> Mark {
        self.marks[self.marks.len() - 1]
    }

    /// One leg on the ground.
    fn cross(&mut self) {
        let length = (LEG_M * self.dice.normal(LEG_SPREAD).exp()).clamp(0.5, 6.0);
        self.heading += Turn::from_degrees(self.dice.normal(TURN_DEG)).to_radians();
        let (support, height) = match self.dice.even(0.0, 1.0) {
            share if share < 0.6 => (Support::Litter, 0.0),
            share if share < 0.8 => (Support::Log, self.dice.even(0.1, 0.4)),
            _ => (Support::Shrub, self.dice.even(0.3, 0.9)),
        };
        let from = self.last();
        self.ground = self.dice.normal(self.rough);
        let rise = self.ground + height - from.at[2];
        let run = (length * length - rise * rise).max(LEAST_RUN_M.powi(2)).sqrt();
        let (sin, cos) = self.heading.sin_cos();
        let at = [from.at[0] + run * sin, from.at[1] + run * cos, self.ground + height];
        self.marks.push(Mark { at, height, support, tree: None, plumb: false });
    }

    /// Up the tree it stands at, out on a branch, and down again.
    fn climb(&mut self) {
        let [low, high] = self.habit.top();
        let top = self.dice.even(low, high);
        if self.last().support != Support::Trunk && self.last().height > 0.0 {
            self.cross();
        }
        while self.last().height < top {
            let rise = self.dice.even(0.8, 2.4);
            self.along_trunk(rise);
        }
        let trunk = self.last();
        let out = 1 + self.dice.below(3);
        for _ in 0..out {
            self.along_branch();
        }
        self.back_to(trunk);
        self.down();
    }

    fn down(&mut self) {
        while self.last().height > 0.0 {
            let height = self.last().height;
            let drop = self.dice.even(0.8, 2.4);
            self.along_trunk(if height - drop < 0.4 { -height } else { -drop });
        }
    }

    fn along_trunk(&mut self, rise: f64) {
        let from = self.last();
        let height = (from.height + rise).max(0.0);
        let [east, north] = [self.lean; 2].map(|sd| self.dice.normal(sd));
        let at = [from.at[0] + east, from.at[1] + north, self.ground + height];
        let plumb = east.hypot(north) < PLUMB * self.lean;
        let on_ground = height == 0.0;
        let support = if on_ground { Support::Litter } else { Support::Trunk };
        let tree = (!on_ground).then_some(self.trees);
        self.marks.push(Mark { at, height, support, tree, plumb });
    }

    fn along_branch(&mut self) {
        let from = self.last();
        self.heading += Turn::from_degrees(self.dice.normal(TURN_DEG)).to_radians();
        let (run, rise) = (self.dice.even(0.6, 1.8), self.dice.normal(0.25));
        let (sin, cos) = self.heading.sin_cos();
        let up = from.at[2] + rise;
        let at = [from.at[0] + run * sin, from.at[1] + run * cos, up];
        let height = (up - self.ground).max(0.2);
        let tree = Some(self.trees);
        self.marks.push(Mark { at, height, support: Support::Branch, tree, plumb: false });
    }

    fn back_to(&mut self, trunk: Mark) {
        let up = trunk.at[2] + self.dice.normal(0.15);
        let at = [trunk.at[0], trunk.at[1], up];
        self.marks.push(Mark { at, height: up - self.ground, plumb: false, ..trunk });
    }
}
