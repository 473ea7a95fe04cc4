//! Turning angles, in plan and in space.

use super::shape::Shape;
use crate::maths::quantity::{Number, norm};
use crate::maths::statistics::circular::MeanVector;

/// A run shorter than this, metres, has no direction in plan.
const NO_RUN: f64 = 1e-6;

/// Turns in plan: how many, and the sums of their cosines and sines.
#[derive(Clone, Copy, Debug)]
pub struct Turns<N>([N; 3]);

impl<N: Number> Turns<N> {
    /// What `f` makes of their mean vector; not a number where that is nothing.
    pub fn mean(&self, f: impl Fn(MeanVector) -> Option<f64>) -> N {
        N::lanes(|lane| f(self.vector(lane)).unwrap_or(f64::NAN))
    }

    /// The mean vector of one lane.
    pub fn vector(&self, lane: usize) -> MeanVector {
        MeanVector::of_sums(self.0.map(|sum| sum.lane(lane)))
    }
}

/// The turns in plan, right positive. A turn needs two legs that follow each other and both have a
/// direction in plan; next to a plumb leg there is none.
pub fn in_plan<N: Number>(shape: &Shape<'_, N>) -> Turns<N> {
    let mut sums = [N::of(0.0); 3];
    let mut before = sums;
    for leg in 0..shape.legs.len() {
        let direction = direction(shape, leg);
        if shape.follows[leg] {
            let turn = turn(before, direction);
            sums = [0, 1, 2].map(|k| sums[k] + turn[k]);
        }
        before = direction;
    }
    Turns(sums)
}

/// The direction of a leg in plan: 1, and east and north along it; all 0 where it has none.
pub fn direction<N: Number>(shape: &Shape<'_, N>, leg: usize) -> [N; 3] {
    if shape.plumb[leg] {
        return [N::of(0.0); 3];
    }
    let [e, n] = shape.courses[leg];
    let run = norm([e, n]);
    let one = run.map(|run| if run > NO_RUN { 1.0 } else { 0.0 });
    let inverse = one / run.max(N::of(NO_RUN));
    [one, e * inverse, n * inverse]
}

/// The turn from one direction to another: 1, its cosine and its sine; all 0 where there is none.
pub fn turn<N: Number>([one, e, n]: [N; 3], [other, f, m]: [N; 3]) -> [N; 3] {
    [one * other, e * f + n * m, n * f - e * m]
}

/// The angles between successive legs in space: how many, their sum in radians, and the sum of
/// their cosines.
pub fn in_space<N: Number>(shape: &Shape<'_, N>) -> [N; 3] {
    let mut sums = [N::of(0.0); 3];
    for leg in (1..shape.legs.len()).filter(|&leg| shape.follows[leg]) {
        let (v, w) = (shape.along(leg - 1), shape.along(leg));
        let product = norm(v) * norm(w);
        let dot = v[0] * w[0] + v[1] * w[1] + v[2] * w[2];
        let one = product.map(|product| if product > NO_RUN * NO_RUN { 1.0 } else { 0.0 });
        let cosine = (dot / product)
            .with(one, |cos, one| if one > 0.0 { cos.clamp(-1.0, 1.0) } else { 0.0 });
        let angle = cosine.with(one, |cos, one| one * cos.acos());
        sums = [sums[0] + one, sums[1] + angle, sums[2] + cosine];
    }
    sums
}
