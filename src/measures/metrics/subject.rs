//! A part of a path that is measured, and what is told of it once for estimate and draws.
//!
//! In: a path, the legs of the part, thresholds, how well rises and heights are known. Out: a
//! [`Subject`], by which each [`Shape`] is laid out and measured.

use super::hull;
use super::level::{Level, Noise};
use super::shape::Shape;
use crate::adjustment::path::{Geometry, Leg, LegClass, Path};
use std::ops::Range;

/// A part of a path, the same for estimate and draws.
#[derive(Clone, Debug)]
pub struct Subject {
    /// The counted legs, as pairs of points.
    pub(super) legs: Vec<[usize; 2]>,
    /// How the geometry of each is known.
    pub(super) class: Vec<LegClass>,
    /// Whether each stands plumb.
    pub(super) plumb: Vec<bool>,
    /// Whether the run of each is matched, not measured.
    pub(super) steep: Vec<bool>,
    /// Whether the direction of each hangs on those of other legs.
    pub(super) turned: Vec<bool>,
    /// Whether each follows the one before without a gap.
    pub(super) follows: Vec<bool>,
    /// Its points.
    pub(super) visited: Range<usize>,
    /// The same from west to east as far as known, which is near their order in each draw.
    pub(super) eastward: Vec<usize>,
    /// Those at the corners of the estimate's outline, by place in `eastward`; closed.
    pub(super) corners: Vec<usize>,
    /// The height above which the animal is off the ground, metres.
    pub(super) above_m: f64,
    /// A reversal larger than this counts, metres.
    pub(super) threshold: f64,
    /// Step of the equally stepped path, metres.
    pub(super) step: f64,
    /// Whether the extended metrics are wanted.
    pub(super) extended: bool,
    /// Edges of the height bands, metres.
    pub(super) edges: Vec<f64>,
    /// What may be level of it.
    pub(super) level: Level,
}

impl Subject {
    /// The part of `path` that `legs` make, starting at `start`.
    pub fn new(path: &Path, legs: &[Leg], start: usize, above_m: f64) -> Self {
        let counted: Vec<&Leg> = legs.iter().filter(|leg| leg.counted).collect();
        let node = |point: usize| path.points[point].node;
        let follows = |at: usize| at > 0 && node(counted[at].from) == node(counted[at - 1].to);
        Self {
            legs: counted.iter().map(|leg| [leg.from, leg.to]).collect(),
            class: counted.iter().map(|leg| leg.class).collect(),
            plumb: counted.iter().map(|leg| leg.class == LegClass::Plumb).collect(),
            steep: counted.iter().map(|leg| leg.class == LegClass::Steep).collect(),
            turned: counted.iter().map(|leg| leg.turned).collect(),
            follows: (0..counted.len()).map(follows).collect(),
            visited: start..path.points.len(),
            eastward: (start..path.points.len()).collect(),
            corners: Vec::new(),
            above_m,
            threshold: 0.0,
            step: f64::NAN,
            extended: false,
            edges: Vec::new(),
            level: Level::default(),
        }
    }

    /// Sets how well its rises, heights and elevations are known at its `estimate`.
    #[must_use]
    pub fn with_noise(mut self, estimate: &Geometry, noise: &Noise) -> Self {
        let east = |point: &usize| estimate.points[*point][0];
        self.eastward.sort_by(|a, b| east(a).total_cmp(&east(b)));
        let plan = |&point: &usize| [estimate.points[point][0], estimate.points[point][1]];
        self.corners = hull::corners(&self.eastward.iter().map(plan).collect::<Vec<_>>());
        self.level = Level::of(&self, &Shape::of(&self, estimate), noise);
        self
    }

    /// Sets the edges of the height bands, metres.
    #[must_use]
    pub fn with_edges(mut self, edges: Vec<f64>) -> Self {
        self.edges = edges;
        self
    }

    /// Step of the equally stepped path, metres.
    pub fn step(&self) -> f64 {
        self.step
    }

    /// Whether the extended metrics are wanted.
    pub fn is_extended(&self) -> bool {
        self.extended
    }

    /// Sets the reversal threshold, the step of the equally stepped path (metres), and whether the
    /// extended metrics are wanted.
    #[must_use]
    pub fn with(mut self, threshold: f64, step: f64, extended: bool) -> Self {
        (self.threshold, self.step, self.extended) = (threshold, step, extended);
        self
    }
}

#[cfg(test)]
impl Subject {
    /// These legs of a path in walking order, of these classes, whose noise is none.
    pub(super) fn laid(legs: &[[usize; 2]], class: &[LegClass]) -> Self {
        let is = |which: LegClass| class.iter().map(|&class| class == which).collect();
        let points = legs.iter().map(|leg| leg[1] + 1).max().unwrap_or(1);
        let start = legs.first().map_or(0, |leg| leg[0]);
        Self {
            legs: legs.to_vec(),
            class: class.to_vec(),
            plumb: is(LegClass::Plumb),
            steep: is(LegClass::Steep),
            turned: vec![false; legs.len()],
            follows: (0..legs.len()).map(|at| at > 0 && legs[at][0] == legs[at - 1][1]).collect(),
            visited: start..points,
            eastward: (start..points).collect(),
            corners: Vec::new(),
            above_m: 0.3,
            threshold: 0.0,
            step: f64::NAN,
            extended: false,
            edges: Vec::new(),
            level: Level::default(),
        }
    }
}
