//! Heights above ground, weighted by length.

use super::shape::Shape;
use crate::adjustment::path::strata::{LengthByHeight, Stretch};
use crate::maths::quantity::Number;

/// Height statistics of one shape, metres; not numbers where the path has no length.
#[derive(Clone, Copy, Debug)]
pub struct Heights<N> {
    /// The greatest.
    pub max: N,
    /// The mean.
    pub mean: N,
    /// Quartiles: a quarter, a half, three quarters.
    pub quartiles: [N; 3],
    /// Share of the length above the ground.
    pub above: N,
}

const QUARTILES: [f64; 3] = [0.25, 0.5, 0.75];

/// Heights of a shape; `above_m` is the height above which the animal is off the ground, `near`
/// where its quartiles are looked for first. Leaves in `spread` how its length lies over height.
pub fn heights<N: Number>(
    shape: &Shape<'_, N>,
    above_m: f64,
    near: [N; 3],
    spread: &mut LengthByHeight<N>,
) -> Heights<N> {
    spread.clear();
    for (&[from, to], &length) in shape.legs.iter().zip(&shape.lengths) {
        spread.push(Stretch { length, from: shape.heights[from], to: shape.heights[to] });
    }
    let heights = shape.visited().map(|point| shape.heights[point]);
    let below = spread.below(N::of(above_m)) / spread.total();
    Heights {
        max: heights.fold(N::of(f64::NEG_INFINITY), N::max),
        mean: spread.mean(),
        quartiles: [0, 1, 2].map(|k| spread.quantile(QUARTILES[k], near[k])),
        // Not under zero by a rounding: a path on the ground is there all along.
        above: (N::of(1.0) - below).map(|above| if above < 0.0 { 0.0 } else { above }),
    }
}
