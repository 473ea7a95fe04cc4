//! One geometry of a path, laid out for the formulas.
//!
//! In: a [`Subject`] and its geometry, or that of draws. Out: a [`Shape`]: points, and length, run,
//! rise and course of each leg, in a draw as far as the tape lets them go.

use super::subject::Subject;
use crate::path::Geometry;
use crate::quantity::{Lanes, Number, norm};
use std::ops::Range;

/// One geometry of a subject, or that of several draws in lanes. In a draw the lengths, runs and
/// rises are the retracted ones, which keep to the tape, and the points lie at their ends.
#[derive(Clone, Debug)]
pub struct Shape<'a, N = f64> {
    /// The counted legs.
    pub legs: &'a [[usize; 2]],
    /// Whether each stands plumb.
    pub plumb: &'a [bool],
    /// Whether each is so steep that its run is matched, not measured.
    pub steep: &'a [bool],
    /// Whether the direction of each hangs on those of other legs.
    pub turned: &'a [bool],
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
            steep: &subject.steep,
            turned: &subject.turned,
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
            steep: self.steep,
            turned: self.turned,
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

    /// Takes over a draw's points, and retracts each leg to the tape: it keeps its drawn rise u and
    /// its linearised length l = D + d · δ / D, from which its run follows; a plumb leg keeps its run
    /// instead, a steep one, whose run is matched already, the linearised run. Its direction in plan
    /// deviates by what lies across it alone: noise along a short run would turn it about. The legs
    /// are then laid end to end. `estimate` is the shape that the draw deviates from.
    ///
    /// ```text
    /// run = √(l² − u²)      plumb: rise = ± √(l² − run²)      steep: run = run₀ + along
    /// ```
    pub fn retract(&mut self, estimate: &Shape<'_>) {
        let zero = N::of(0.0);
        for leg in 0..self.legs.len() {
            let [e, n, u] = self.along(leg);
            let [e0, n0, u0] = estimate.along(leg);
            let [de, dn, du] = [e - N::of(e0), n - N::of(n0), u - N::of(u0)];
            let (long, flat) = (estimate.lengths[leg], estimate.runs[leg]);
            let along = de * N::of(e0) + dn * N::of(n0);
            let drawn = N::of(long) + (along + du * N::of(u0)) / N::of(long);
            let length = if long > 0.0 { drawn.max(zero) } else { zero };
            self.lengths[leg] = length;
            if self.plumb[leg] {
                let run = norm([e, n]).min(length);
                self.runs[leg] = run;
                self.rises[leg] =
                    (length * length - run * run).map(|rise2| rise2.sqrt().copysign(u0));
                self.courses[leg] = [e, n];
                continue;
            }
            let run = if self.steep[leg] && flat > 0.0 {
                (N::of(flat) + along / N::of(flat)).max(zero)
            } else {
                (length * length - u * u).max(zero).sqrt()
            };
            let toward = toward([e0, n0], [de, dn], self.turned[leg]);
            self.runs[leg] = run;
            self.rises[leg] = u;
            self.courses[leg] = toward.map(|axis| axis * run);
        }
        self.lay_end_to_end();
    }

    /// Lays each counted leg on the end of the one that it starts at; any other point keeps its place
    /// against the point before it.
    fn lay_end_to_end(&mut self) {
        let mut by = [N::of(0.0); 2];
        let mut legs = self.legs.iter().zip(&self.courses).peekable();
        for point in self.start + 1..self.range.end {
            let [e, n, u] = self.points[point];
            let mut at = [e + by[0], n + by[1]];
            if let Some((&[from, _], course)) = legs.next_if(|(leg, _)| leg[1] == point) {
                at = [0, 1].map(|k| self.points[from][k] + course[k]);
            }
            by = [at[0] - e, at[1] - n];
            self.points[point] = [at[0], at[1], u];
        }
    }
}

/// The direction of a leg that lay along (e, n) and deviates by (δe, δn): it deviates by the part that
/// lies across. A direction that hangs on those of other legs may be far off, and turns.
///
/// ```text
/// across = δ × (e, n) / run₀      (run₀, across) / √(run₀² + across²), or turned by across / run₀
/// ```
fn toward<N: Number>([e, n]: [f64; 2], [de, dn]: [N; 2], turns: bool) -> [N; 2] {
    let run2 = e * e + n * n;
    if run2 <= 0.0 {
        return [N::of(0.0); 2];
    }
    let [east, north] = [e, n].map(|axis| N::of(axis / run2.sqrt()));
    let across = (de * N::of(n) - dn * N::of(e)) / N::of(run2);
    let [cos, sin] = if turns {
        N::lanes_of(|lane| {
            let (sin, cos) = across.lane(lane).sin_cos();
            [cos, sin]
        })
    } else {
        let long = (N::of(1.0) + across * across).sqrt();
        [N::of(1.0) / long, across / long]
    };
    [cos * east + sin * north, cos * north - sin * east]
}
