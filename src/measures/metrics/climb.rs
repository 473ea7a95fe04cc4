//! Climb and descent, raw and between reversals.

use super::shape::Shape;
use crate::maths::quantity::Number;

/// Sum of the rises, metres.
pub fn ascent<N: Number>(shape: &Shape<'_, N>) -> N {
    shape.rises.iter().fold(N::of(0.0), |sum, rise| sum + rise.max(N::of(0.0)))
}

/// Sum of the falls, metres, not negative.
pub fn descent<N: Number>(shape: &Shape<'_, N>) -> N {
    shape.rises.iter().fold(N::of(0.0), |sum, rise| sum - rise.min(N::of(0.0)))
}

/// Ascent and descent [between reversals](between_reversals), metres, over each stretch of legs that
/// follow each other.
pub fn thresholded<N: Number>(shape: &Shape<'_, N>, threshold: f64) -> [N; 2] {
    let mut sums = [N::of(0.0); 2];
    let mut first = 0;
    for leg in 1..=shape.legs.len() {
        if leg < shape.legs.len() && shape.follows[leg] {
            continue;
        }
        let ends = shape.legs[first..leg].iter().map(|&[_, to]| to);
        let points = shape.legs.get(first).map(|&[from, _]| from).into_iter().chain(ends);
        let elevations = points.map(|point| shape.points[point][2]);
        let [up, down] = between_reversals(&elevations, threshold);
        sums = [sums[0] + up, sums[1] + down];
        first = leg;
    }
    sums
}

/// Ascent and descent of a walk of `elevations` (metres) where a reversal counts only when it
/// exceeds `threshold`, measured from the last extreme; the running extreme is kept.
pub fn between_reversals<N: Number>(
    elevations: &(impl Iterator<Item = N> + Clone),
    threshold: f64,
) -> [N; 2] {
    N::lanes_of(|lane| {
        let mut walk = elevations.clone().map(|elevation| elevation.lane(lane));
        let Some(first) = walk.next() else { return [0.0; 2] };
        let mut filter = Reversals { low: first, high: first, rising: None, sums: [0.0; 2] };
        walk.for_each(|elevation| filter.step(elevation, threshold));
        filter.finish()
    })
}

/// The hysteresis: the extremes since the last reversal, and what was climbed before it.
struct Reversals {
    low: f64,
    high: f64,
    rising: Option<bool>,
    sums: [f64; 2],
}

impl Reversals {
    fn step(&mut self, elevation: f64, threshold: f64) {
        // The extreme that a climb or descent began at stays; only the running one moves.
        if self.rising != Some(true) {
            self.low = self.low.min(elevation);
        }
        if self.rising != Some(false) {
            self.high = self.high.max(elevation);
        }
        let fell = self.high - elevation > threshold;
        let rose = elevation - self.low > threshold;
        match self.rising {
            None if rose => (self.rising, self.high) = (Some(true), elevation),
            None if fell => (self.rising, self.low) = (Some(false), elevation),
            Some(true) if fell => {
                self.sums[0] += self.high - self.low;
                (self.rising, self.low) = (Some(false), elevation);
            }
            Some(false) if rose => {
                self.sums[1] += self.high - self.low;
                (self.rising, self.high) = (Some(true), elevation);
            }
            _ => {}
        }
    }

    fn finish(mut self) -> [f64; 2] {
        match self.rising {
            Some(true) => self.sums[0] += self.high - self.low,
            Some(false) => self.sums[1] += self.high - self.low,
            None => {}
        }
        self.sums
    }
}
