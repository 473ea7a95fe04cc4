//! Turning angles, in plan and in space.

use super::shape::Shape;
use super::space::norm;
use crate::statistics::circular::MeanVector;

/// A run shorter than this, metres, has no direction in plan.
const NO_RUN: f64 = 1e-6;

/// The turns in plan, right positive, as a mean vector. A turn needs two legs that follow each
/// other and both have a direction in plan; next to a plumb leg there is none.
pub fn in_plan(shape: &Shape<'_>) -> MeanVector {
    let mut turns = MeanVector::default();
    for (cos, sin) in pairs(shape).filter_map(|(a, b)| turn(shape, a, b)) {
        turns.push(cos, sin);
    }
    turns
}

/// Cosine and sine of the turn in plan from leg `a` to leg `b`.
pub fn turn(shape: &Shape<'_>, a: usize, b: usize) -> Option<(f64, f64)> {
    if shape.plumb[a] || shape.plumb[b] {
        return None;
    }
    let ([e, n], [f, m]) = (shape.courses[a], shape.courses[b]);
    let (before, after) = (norm([e, n]), norm([f, m]));
    let product = before * after;
    (before.min(after) > NO_RUN).then(|| ((e * f + n * m) / product, (n * f - e * m) / product))
}

/// The angles between successive legs in space, radians: their sum, the sum of their cosines,
/// and how many.
pub fn in_space(shape: &Shape<'_>) -> (f64, f64, usize) {
    let cosine = |(a, b): (usize, usize)| {
        let (v, w) = (shape.along(a), shape.along(b));
        let product = norm(v) * norm(w);
        let dot = v[0] * w[0] + v[1] * w[1] + v[2] * w[2];
        (product > NO_RUN * NO_RUN).then(|| (dot / product).clamp(-1.0, 1.0))
    };
    pairs(shape)
        .filter_map(cosine)
        .fold((0.0, 0.0, 0), |(angle, sum, n), cos| (angle + cos.acos(), sum + cos, n + 1))
}

/// Pairs of legs that follow each other without a gap.
fn pairs<'a>(shape: &'a Shape<'_>) -> impl Iterator<Item = (usize, usize)> + 'a {
    (1..shape.legs.len()).filter(|&b| shape.follows[b]).map(|b| (b - 1, b))
}
