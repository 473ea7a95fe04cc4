//! Heights above ground, weighted by length.

use super::shape::Shape;
use crate::path::strata::{LengthByHeight, Stretch};

/// Height statistics of one shape, metres; not numbers where the path has no length.
#[derive(Clone, Copy, Debug)]
pub struct Heights {
    /// The greatest.
    pub max: f64,
    /// The mean.
    pub mean: f64,
    /// Quartiles: a quarter, a half, three quarters.
    pub quartiles: [f64; 3],
    /// Share of the length above the ground.
    pub above: f64,
}

const QUARTILES: [f64; 3] = [0.25, 0.5, 0.75];

/// Heights of a shape; `above_m` is the height above which the animal is off the ground, `near`
/// where its quartiles are looked for first. Leaves in `spread` how its length lies over height.
pub fn heights(
    shape: &Shape<'_>,
    above_m: f64,
    near: [f64; 3],
    spread: &mut LengthByHeight,
) -> Heights {
    spread.clear();
    for (&[from, to], &length) in shape.legs.iter().zip(&shape.lengths) {
        spread.push(Stretch { length, from: shape.heights[from], to: shape.heights[to] });
    }
    let total = spread.total();
    let max = shape.visited().map(|point| shape.heights[point]).fold(f64::NEG_INFINITY, f64::max);
    Heights {
        max,
        mean: spread.mean().unwrap_or(f64::NAN),
        quartiles: [0, 1, 2].map(|k| spread.quantile(QUARTILES[k], near[k]).unwrap_or(f64::NAN)),
        // Not under zero by a rounding: a path on the ground is there all along.
        above: if total > 0.0 { (1.0 - spread.below(above_m) / total).max(0.0) } else { f64::NAN },
    }
}
