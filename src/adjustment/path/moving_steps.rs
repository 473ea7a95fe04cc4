//! Equal steps along a path in plan, from every place on it.
//!
//! In: the points of a path in plan and one step. Out: the chords of that step and the turns between
//! successive ones, over all places where the first may begin. A walk with dividers takes only the
//! steps that follow from one start: where one of them ends on an anchor, a hair's breadth sends the
//! rest of the walk elsewhere. Steps from everywhere have no such place, and a leg that stands plumb
//! leaves them as they are. Common practice in part: dividers walked from several starts; the
//! integral over all of them has no source.

use crate::maths::statistics::circular::MeanVector;

/// The steps of a path.
#[derive(Clone, Copy, Debug)]
pub struct MovingSteps {
    /// Mean chord, metres.
    pub mean_chord: f64,
    /// Coefficient of variation of the chords.
    pub variation: f64,
    /// The turns from chord to chord.
    pub turns: MeanVector,
    /// Length of the path in plan, metres.
    pub length: f64,
}

/// Places at which steps begin, for each piece of the path and at least.
const STARTS: usize = 32;
const LEAST_STARTS: usize = 512;
/// A path of fewer steps than this tells nothing of them.
const LEAST_STEPS: f64 = 3.0;

/// The steps of length `step` (metres, along the path) of the polyline `points`; `None` where it is
/// shorter than three of them.
///
/// ```text
/// x(s) the place s metres along,  chord(s) = x(s + r) − x(s),  turn(s) from chord(s) to chord(s + r)
/// means over 0 ≤ s ≤ L − 2 r
/// ```
pub fn moving_steps(points: &[[f64; 2]], step: f64) -> Option<MovingSteps> {
    let along = Along::of(points);
    let length = along.length();
    if !(step > 0.0 && length >= LEAST_STEPS * step) {
        return None;
    }
    let starts = (STARTS * points.len()).max(LEAST_STARTS);
    let mut places = [0.0, step, 2.0 * step].map(|from| along.walk(from));
    let (mut chords, mut squares, mut sums) = (0.0, 0.0, [0.0; 3]);
    for start in 0..starts {
        let s = (length - 2.0 * step) * (start as f64 + 0.5) / starts as f64;
        let [a, b, c] = [0, 1, 2].map(|k| places[k].at(s));
        let (v, w) = ([b[0] - a[0], b[1] - a[1]], [c[0] - b[0], c[1] - b[1]]);
        let (first, second) = (v[0].hypot(v[1]), w[0].hypot(w[1]));
        // Both, so that a walk followed backward has the same steps.
        chords += 0.5 * (first + second);
        squares += 0.5 * (first * first + second * second);
        let product = first * second;
        if product > 0.0 {
            let (cos, sin) = (v[0] * w[0] + v[1] * w[1], v[1] * w[0] - v[0] * w[1]);
            sums = [sums[0] + 1.0, sums[1] + cos / product, sums[2] + sin / product];
        }
    }
    let (mean, square) = (chords / starts as f64, squares / starts as f64);
    let variation = (square - mean * mean).max(0.0).sqrt() / mean;
    Some(MovingSteps { mean_chord: mean, variation, turns: MeanVector::of_sums(sums), length })
}

/// A polyline by the metres along it.
struct Along<'a> {
    points: &'a [[f64; 2]],
    /// How far along each point lies, metres.
    metres: Vec<f64>,
}

impl<'a> Along<'a> {
    fn of(points: &'a [[f64; 2]]) -> Self {
        let mut metres = Vec::with_capacity(points.len());
        let mut sum = 0.0;
        for (at, point) in points.iter().enumerate() {
            let before = points[at.saturating_sub(1)];
            sum += (point[0] - before[0]).hypot(point[1] - before[1]);
            metres.push(sum);
        }
        Self { points, metres }
    }

    fn length(&self) -> f64 {
        self.metres.last().copied().unwrap_or(0.0)
    }

    /// A walk that begins `from` metres along.
    fn walk(&self, from: f64) -> Walker<'_> {
        Walker { along: self, from, piece: 1 }
    }
}

/// A walk along a polyline, which only goes on.
struct Walker<'a> {
    along: &'a Along<'a>,
    from: f64,
    piece: usize,
}

impl Walker<'_> {
    /// The place `s` metres beyond where the walk began; `s` never falls.
    fn at(&mut self, s: f64) -> [f64; 2] {
        let Along { points, metres } = self.along;
        let s = self.from + s;
        while self.piece + 1 < points.len() && metres[self.piece] < s {
            self.piece += 1;
        }
        let (a, b) = (points[self.piece - 1], points[self.piece]);
        let (start, end) = (metres[self.piece - 1], metres[self.piece]);
        let share = if end > start { ((s - start) / (end - start)).min(1.0) } else { 1.0 };
        [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]
    }
}
