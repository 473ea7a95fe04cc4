//! One geometry of a path, laid out for the formulas.
//!
//! In: a [`Subject`] and its geometry, or that of draws. Out: a [`Shape`]: points, and length, run,
//! rise and course of each leg, in a draw as far as the tape lets them go.

use super::subject::Subject;
use crate::adjustment::path::Geometry;
use crate::maths::quantity::{Lanes, Number, norm};
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
                let aside = norm([e, n]);
                let run = aside.min(length);
                let share = run / aside.max(N::of(f64::MIN_POSITIVE));
                self.runs[leg] = run;
                self.rises[leg] =
                    (length * length - run * run).map(|rise2| rise2.sqrt().copysign(u0));
                self.courses[leg] = [e, n].map(|axis| axis * share);
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

#[cfg(test)]
impl<'a> Shape<'a> {
    /// A subject whose points lie here, over ground of elevation 0.
    pub(super) fn laid(subject: &'a Subject, points: &[[f64; 3]]) -> Self {
        let heights = points.iter().map(|point| point[2]).collect();
        Self::of(subject, &Geometry { points: points.to_vec(), heights })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::adjustment::path::LegClass::{self, Measured, Plumb, Steep};

    fn close<const AXES: usize>(found: [f64; AXES], expected: [f64; AXES]) {
        for (a, b) in found.iter().zip(expected) {
            assert!((a - b).abs() < 1e-12, "{found:?} for {expected:?}");
        }
    }

    /// One leg that was adjusted to `estimate` and drawn to `drawn`.
    fn retracted(class: LegClass, turned: bool, [estimate, drawn]: [[f64; 3]; 2]) -> [f64; 8] {
        let mut subject = Subject::laid(&[[0, 1]], &[class]);
        subject.turned = vec![turned];
        let estimate = Shape::laid(&subject, &[[1.0, 1.0, 0.0], estimate]);
        let mut shape = estimate.clone();
        shape.points[1] = drawn;
        shape.retract(&estimate);
        let [e, n] = shape.courses[0];
        let [x, y, z] = shape.points[1];
        [shape.lengths[0], shape.runs[0], shape.rises[0], e, n, x, y, z]
    }

    /// 3 m east and 4 m up, drawn 4/3 m farther, 2.25 m to the right and 1 m lower. Along the leg that
    /// is (4 − 4) / 5 = 0: it is 5 m long still, rises 3 m and runs 4 m. To the right it deviates by
    /// 2.25 / 3 = 3/4 of its run: its direction by 4/5 and 3/5, or by 0.75 rad where it hangs on others.
    #[test]
    fn a_leg_keeps_to_its_tape_and_its_drawn_rise() {
        let lies = [[4.0, 1.0, 4.0], [4.0 + 4.0 / 3.0, 1.0 - 2.25, 3.0]];
        close(retracted(Measured, false, lies), [5.0, 4.0, 3.0, 3.2, -2.4, 4.2, -1.4, 3.0]);
        let (sin, cos) = 0.75_f64.sin_cos();
        let turned = [5.0, 4.0, 3.0, 4.0 * cos, -4.0 * sin, 1.0 + 4.0 * cos, 1.0 - 4.0 * sin, 3.0];
        close(retracted(Measured, true, lies), turned);
        // The run of a steep leg was matched: 3 + 4/3 m.
        let run = 13.0 / 3.0;
        let steep = [5.0, run, 3.0, 0.8 * run, -0.6 * run, 1.0 + 0.8 * run, 1.0 - 0.6 * run, 3.0];
        close(retracted(Steep, false, lies), steep);
    }

    /// It rises by no more than its length, and a draw of a leg without length stays there.
    #[test]
    fn a_leg_has_no_run_beyond_its_tape() {
        // Drawn 2 m higher it is 5 + 2 · 0.8 = 6.6 m long, and rises 6 m.
        let high = [[4.0, 1.0, 4.0], [4.0, 1.0, 6.0]];
        close(
            retracted(Measured, false, high),
            [6.6, 7.56_f64.sqrt(), 6.0, 7.56_f64.sqrt(), 0.0, 1.0 + 7.56_f64.sqrt(), 1.0, 6.0],
        );
        let upright = [[1.0, 1.0, 4.0], [1.2, 1.0, 5.0]];
        close(retracted(Measured, false, upright), [5.0, 0.0, 5.0, 0.0, 0.0, 1.0, 1.0, 5.0]);
        let nowhere = [[1.0, 1.0, 0.0], [1.2, 1.3, 0.1]];
        close(retracted(Measured, false, nowhere), [0.0, 0.0, 0.1, 0.0, 0.0, 1.0, 1.0, 0.1]);
        // Drawn behind its start: no length is negative.
        let back = [[4.0, 1.0, 0.0], [-3.0, 1.0, 0.0]];
        close(retracted(Measured, false, back), [0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 0.0]);
        close(retracted(Steep, false, back), [0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 0.0]);
    }

    /// 5 m straight down, drawn 3 m aside: 5 m of tape leave 4 m of descent. Its far end stays where it
    /// was drawn.
    #[test]
    fn a_plumb_leg_keeps_its_offset() {
        let down = [[1.0, 1.0, -5.0], [1.0, 4.0, -5.0]];
        close(retracted(Plumb, false, down), [5.0, 3.0, -4.0, 0.0, 3.0, 1.0, 4.0, -5.0]);
        let up = [[1.0, 1.0, 5.0], [4.0, 1.0, 5.0]];
        close(retracted(Plumb, false, up), [5.0, 3.0, 4.0, 3.0, 0.0, 4.0, 1.0, 5.0]);
        // It cannot lie farther aside than it is long.
        let flat = [[1.0, 1.0, 5.0], [7.0, 1.0, 5.0]];
        close(retracted(Plumb, false, flat), [5.0, 5.0, 0.0, 5.0, 0.0, 6.0, 1.0, 5.0]);
    }

    #[test]
    fn draws_in_lanes_are_those_of_one_number() {
        let subject = Subject::laid(&[[0, 1], [1, 2]], &[Measured, Plumb]);
        let estimate = Shape::laid(&subject, &[[0.0; 3], [3.0, 0.0, 4.0], [3.0, 0.0, 6.0]]);
        let mut one = estimate.clone();
        (one.points[1], one.points[2]) = ([3.3, 0.5, 4.2], [3.5, 0.9, 6.1]);
        let mut lanes = one.in_lanes();
        one.retract(&estimate);
        lanes.retract(&estimate);
        for point in 0..3 {
            close(lanes.points[point].map(|axis| axis.0[7]), one.points[point]);
        }
        for leg in 0..2 {
            let [length, run, rise] =
                [&lanes.lengths, &lanes.runs, &lanes.rises].map(|of| of[leg].0[0]);
            close([length, run, rise], [one.lengths[leg], one.runs[leg], one.rises[leg]]);
        }
    }

    /// Where points lie once their legs have these courses.
    fn laid(legs: &[[usize; 2]], points: &[[f64; 2]], courses: &[[f64; 2]]) -> Vec<[f64; 2]> {
        let subject = Subject::laid(legs, &vec![Measured; legs.len()]);
        let points: Vec<[f64; 3]> = points.iter().map(|&[e, n]| [e, n, 7.0]).collect();
        let mut shape = Shape::laid(&subject, &points);
        shape.courses = courses.to_vec();
        shape.lay_end_to_end();
        assert!(shape.points.iter().all(|point| (point[2] - 7.0).abs() < 1e-12), "elevations stay");
        shape.points.iter().map(|point| [point[0], point[1]]).collect()
    }

    #[test]
    fn legs_are_laid_end_to_end() {
        let points = [[0.0, 0.0], [1.0, 0.0], [3.0, 1.0], [4.0, 1.0]];
        let legs = [[0, 1], [1, 2], [2, 3]];
        let courses = [[2.0, 0.0], [0.0, 1.0], [-1.0, 0.0]];
        let chain = [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 1.0]];
        assert_eq!(laid(&legs, &points, &courses), chain);
        // Behind a gap all moves as far as the point before it did.
        let gap = [[0.0, 0.0], [2.0, 0.0], [4.0, 1.0], [4.0, 2.0]];
        assert_eq!(laid(&[[0, 1], [2, 3]], &points, &[[2.0, 0.0], [0.0, 1.0]]), gap);
        // A leg that starts at an earlier point is laid there.
        let fork = [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 0.0]];
        assert_eq!(laid(&[[0, 1], [1, 2], [1, 3]], &points, &courses), fork);
        // What comes before the part stays.
        let part = [[0.0, 0.0], [1.0, 0.0], [3.0, 0.0], [3.0, 1.0]];
        assert_eq!(laid(&[[1, 2], [2, 3]], &points, &courses[..2]), part);
    }

    /// A leg toward the north-east deviates by √2 to the left: half a run aside of 2√2.
    #[test]
    fn a_direction_deviates_by_what_lies_across() {
        let aside = toward([2.0, 2.0], [-1.0, 1.0], false);
        // tan 0.5: the direction is (2 − 1, 2 + 1) / √10, whatever lies along.
        close(aside, [1.0 / 10.0_f64.sqrt(), 3.0 / 10.0_f64.sqrt()]);
        close(toward([2.0, 2.0], [4.0, 6.0], false), aside);
        let north_east = std::f64::consts::FRAC_PI_4;
        let (north, east) = (north_east + 0.5).sin_cos();
        close(toward([2.0, 2.0], [-1.0, 1.0], true), [east, north]);
        // A whole turn of errors that added up comes back.
        let turn = std::f64::consts::TAU;
        close(toward([0.0, 1.0], [turn, 0.0], true), [0.0, 1.0]);
        close(toward([0.0, 0.0], [1.0, 2.0], false), [0.0, 0.0]);
    }
}
