//! What may be level: of equal heights noise makes climbs and high points.
//!
//! A leg whose rise drowns in its noise may be level, and a point little lower than the highest
//! may be as high. How many of them are is not known. Noise adds most where all of them are: that
//! is what the lower end of a climb or of a greatest height has to allow for. What stands out
//! firmly is left as it is, so that a climb up a trunk keeps its sharp interval.
//! Source: the contact set of [`Source::Chernozhukov2013`](crate::survey::sources::Source::Chernozhukov2013).

use super::shape::Shape;
use super::subject::Subject;
use crate::adjustment::path::LegClass;
use crate::maths::quantity::Number;
use crate::maths::statistics::interval::largest_of_normal;

/// Standard deviations of a subject, metres.
#[derive(Clone, Debug, Default)]
pub struct Noise {
    /// Of the rise of each counted leg.
    pub rises: Vec<f64>,
    /// Of the height of each point of the path.
    pub heights: Vec<f64>,
    /// Of its elevation.
    pub elevations: Vec<f64>,
}

/// The legs and points of a subject that may be level.
#[derive(Clone, Debug, Default)]
pub(super) struct Level {
    /// The rise of each leg that may be level, 0 for every other, metres.
    offsets: Vec<f64>,
    /// Root mean square of the noise of a height, metres.
    pub(super) height_sd: f64,
    /// The points that may be the greatest height, the highest and the lowest.
    top: Vec<usize>,
    high: Vec<usize>,
    low: Vec<usize>,
}

/// Places of what a draw makes of the levelled path.
pub(super) const ASCENT: usize = 0;
/// See [`ASCENT`].
pub(super) const DESCENT: usize = 1;
/// See [`ASCENT`].
pub(super) const TOP: usize = 2;
/// See [`ASCENT`].
pub(super) const RANGE: usize = 3;
/// See [`ASCENT`].
pub(super) const RUNS: usize = 4;
/// How many there are.
pub(super) const LEVELLED: usize = 5;

impl Level {
    pub(super) fn of(subject: &Subject, estimate: &Shape<'_>, noise: &Noise) -> Self {
        let lost = largest_of_normal(estimate.legs.len());
        let may_be_level = |leg: usize| {
            subject.class[leg] != LegClass::Plumb
                && estimate.rises[leg].abs() <= lost * noise.rises[leg]
        };
        let mut level = Self::default();
        let rises = estimate.rises.iter().enumerate();
        level.offsets =
            rises.map(|(leg, &rise)| if may_be_level(leg) { rise } else { 0.0 }).collect();
        let visited = || estimate.visited();
        let squares = visited().map(|at| noise.heights[at].powi(2));
        level.height_sd = (squares.sum::<f64>() / visited().len() as f64).sqrt();
        level.top = ties(visited(), |at| estimate.heights[at], &noise.heights);
        level.high = ties(visited(), |at| estimate.points[at][2], &noise.elevations);
        level.low = ties(visited(), |at| -estimate.points[at][2], &noise.elevations);
        level
    }

    /// Ascent, descent and horizontal length of a draw whose doubtful legs are levelled; and how
    /// far noise lifts the greatest of the points that may tie, and widens the range.
    pub(super) fn drawn<N: Number>(
        &self,
        shape: &Shape<'_, N>,
        estimate: &Shape<'_>,
    ) -> [N; LEVELLED] {
        let zero = N::of(0.0);
        let [mut up, mut down, mut runs] = [zero; 3];
        for (leg, &offset) in self.offsets.iter().enumerate() {
            let rise = shape.rises[leg] - N::of(offset);
            up = up + rise.max(zero);
            down = down - rise.min(zero);
            let (length, level) = (shape.lengths[leg], offset == 0.0);
            let run = || (length * length - rise * rise).max(zero).sqrt();
            runs = runs + if level { shape.runs[leg] } else { run() };
        }
        let lift = |&at: &usize| shape.heights[at] - N::of(estimate.heights[at]);
        let rise = |&at: &usize| shape.points[at][2] - N::of(estimate.points[at][2]);
        let (lowest, highest) = (N::of(f64::NEG_INFINITY), N::of(f64::INFINITY));
        let top = self.top.iter().map(lift).fold(lowest, N::max);
        let high = self.high.iter().map(rise).fold(lowest, N::max);
        let low = self.low.iter().map(rise).fold(highest, N::min);
        [up, down, top, high - low, runs]
    }
}

/// The points whose value may be the greatest.
///
/// ```text
/// x + c σ ≥ max (x − c σ)          c: the largest of n normal numbers with 95 %
/// ```
fn ties(
    points: impl ExactSizeIterator<Item = usize> + Clone,
    value: impl Fn(usize) -> f64,
    sd: &[f64],
) -> Vec<usize> {
    let c = largest_of_normal(points.len());
    let surely = points.clone().map(|at| value(at) - c * sd[at]).fold(f64::NEG_INFINITY, f64::max);
    points.filter(|&at| value(at) + c * sd[at] >= surely).collect()
}

#[cfg(test)]
mod tests {
    use super::ties;

    #[test]
    fn only_near_points_tie_with_the_highest() {
        let heights = [5.0, 5.3, 1.0, 4.9];
        let near = ties(0..4, |at| heights[at], &[0.1; 4]);
        assert_eq!(near, [0, 1, 3]); // c = 2.5: within 0.5 m of the highest
        assert_eq!(ties(0..4, |at| heights[at], &[0.0; 4]), [1]);
    }
}
