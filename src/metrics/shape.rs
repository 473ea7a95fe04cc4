//! One geometry of a path, laid out for the formulas.
//!
//! In: a [`Subject`] and its geometry, or that of draws. Out: a [`Shape`]: points, and length, run,
//! rise and course of each leg, in a draw as far as the tape lets them go.

use super::subject::Subject;
use crate::path::Geometry;
use crate::quantity::{Lanes, Number, norm};
use std::ops::Range;

/// One geometry of a subject, or that of several draws in lanes. In a draw the lengths, runs and
/// rises are the retracted ones, which keep to the tape; the points are as drawn.
#[derive(Clone, Debug)]
pub struct Shape<'a, N = f64> {
    /// The counted legs.
    pub legs: &'a [[usize; 2]],
    /// Whether each stands plumb.
    pub plumb: &'a [bool],
    /// Whether each follows the one before without a gap.
    pub follows: &'a [bool],
    /// The point it starts at.
    pub start: usize,
    /// The points of the part.
    pub range: Range<usize>,
    /// East, north, up of each point of the path, metres.
    pub points: Vec<[N; 3]>,
    /// Heights above ground, metres.
    pub heights: Vec<N>,
    /// Length of each counted leg, metres.
    pub lengths: Vec<N>,
    /// Its horizontal length, metres.
    pub runs: Vec<N>,
    /// Its rise, metres.
    pub rises: Vec<N>,
    /// East and north along it, for its direction in plan, metres.
    pub courses: Vec<[N; 2]>,
}

impl<'a> Shape<'a> {
    /// A subject as its geometry lies.
    pub fn of(subject: &'a Subject, geometry: &Geometry) -> Self {
        let mut shape = Self {
            legs: &subject.legs,
            plumb: &subject.plumb,
            follows: &subject.follows,
            start: subject.visited.start,
            range: subject.visited.clone(),
            points: geometry.points.clone(),
            heights: geometry.heights.clone(),
            lengths: Vec::new(),
            runs: Vec::new(),
            rises: Vec::new(),
            courses: Vec::new(),
        };
        for leg in 0..subject.legs.len() {
            let [e, n, u] = shape.along(leg);
            shape.lengths.push(norm([e, n, u]));
            shape.runs.push(norm([e, n]));
            shape.rises.push(u);
            shape.courses.push([e, n]);
        }
        shape
    }

    /// The same in every lane.
    pub fn in_lanes(&self) -> Shape<'a, Lanes> {
        let lanes = |numbers: &[f64]| numbers.iter().map(|&number| Lanes::of(number)).collect();
        Shape {
            legs: self.legs,
            plumb: self.plumb,
            follows: self.follows,
            start: self.start,
            range: self.range.clone(),
            points: self.points.iter().map(|point| point.map(Lanes::of)).collect(),
            heights: lanes(&self.heights),
            lengths: lanes(&self.lengths),
            runs: lanes(&self.runs),
            rises: lanes(&self.rises),
            courses: self.courses.iter().map(|course| course.map(Lanes::of)).collect(),
        }
    }
}

impl<N: Number> Shape<'_, N> {
    /// The vector along a counted leg, metres.
    pub fn along(&self, leg: usize) -> [N; 3] {
        let [a, b] = self.legs[leg].map(|point| self.points[point]);
        [b[0] - a[0], b[1] - a[1], b[2] - a[2]]
    }

    /// The points of the part.
    pub fn visited(&self) -> Range<usize> {
        self.range.clone()
    }

    /// Takes over a draw's `geometry`, and retracts each leg to the tape: it keeps its drawn
    /// azimuth and rise u, and its linearised length l = D + d · δ / D; a plumb leg keeps its run
    /// instead. Its direction in plan deviates by what lies across it alone: noise along a short run
    /// would turn it about. `estimate` is the shape that the draw deviates from.
    ///
    /// ```text
    /// run = √(l² − u²)     plumb: rise = ± √(l² − run²)     course = run₀ along, δ across
    /// ```
    pub fn retract(&mut self, estimate: &Shape<'_>) {
        let zero = N::of(0.0);
        for leg in 0..self.legs.len() {
            let [e, n, u] = self.along(leg);
            let [e0, n0, u0] = estimate.along(leg);
            let [de, dn, du] = [e - N::of(e0), n - N::of(n0), u - N::of(u0)];
            let long = estimate.lengths[leg];
            let ahead = de * N::of(e0) + dn * N::of(n0) + du * N::of(u0);
            let drawn = (N::of(long) + ahead / N::of(long)).max(zero);
            let length = if long > 0.0 { drawn } else { zero };
            self.lengths[leg] = length;
            self.courses[leg] = course([e0, n0], [de, dn]);
            if self.plumb[leg] {
                let run = norm([e, n]).min(length);
                self.runs[leg] = run;
                self.rises[leg] =
                    (length * length - run * run).map(|rise2| rise2.sqrt().copysign(u0));
            } else {
                self.runs[leg] = (length * length - u * u).max(zero).sqrt();
                self.rises[leg] = u;
            }
        }
    }
}

/// A course in plan with the part of a deviation that lies across it.
fn course<N: Number>([e, n]: [f64; 2], [de, dn]: [N; 2]) -> [N; 2] {
    let run2 = e * e + n * n;
    let [e, n, run2] = [e, n, if run2 > 0.0 { run2 } else { f64::INFINITY }].map(N::of);
    let across = (dn * e - de * n) / run2;
    [e - across * n, n + across * e]
}
