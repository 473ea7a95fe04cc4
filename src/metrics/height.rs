//! Heights above ground, weighted by length.

use super::shape::Shape;
use crate::path::strata::{Stretch, height_quantiles, mean_height};

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

/// Heights of a shape; `above_m` is the height above which the animal is off the ground.
pub fn heights(shape: &Shape<'_>, above_m: f64, stretches: &mut Vec<Stretch>) -> Heights {
    stretches.clear();
    stretches.extend(shape.legs.iter().zip(&shape.lengths).map(|(&[from, to], &length)| Stretch {
        length,
        from: shape.heights[from],
        to: shape.heights[to],
    }));
    let total: f64 = shape.lengths.iter().sum();
    let below: f64 = stretches.iter().map(|stretch| stretch.below(above_m)).sum();
    let max = shape.visited().map(|point| shape.heights[point]).fold(f64::NEG_INFINITY, f64::max);
    Heights {
        max,
        mean: mean_height(stretches).unwrap_or(f64::NAN),
        quartiles: height_quantiles(stretches, [0.25, 0.5, 0.75]).unwrap_or([f64::NAN; 3]),
        above: if total > 0.0 { 1.0 - below / total } else { f64::NAN },
    }
}
