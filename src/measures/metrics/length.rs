//! Lengths and steps.

use super::shape::Shape;
use crate::maths::quantity::Number;

/// Sum of the counted legs in space, metres.
pub fn path_length<N: Number>(shape: &Shape<'_, N>) -> N {
    shape.lengths.iter().fold(N::of(0.0), |sum, &length| sum + length)
}

/// Sum of the counted legs in plan, metres.
pub fn horizontal_length<N: Number>(shape: &Shape<'_, N>) -> N {
    shape.runs.iter().fold(N::of(0.0), |sum, &run| sum + run)
}

/// Mean, median and standard deviation (divisor n − 1) of the legs, metres; not numbers where
/// there are too few.
pub fn steps<N: Number>(shape: &Shape<'_, N>, sample: &mut Vec<f64>) -> [N; 3] {
    let n = shape.lengths.len() as f64;
    let mean = path_length(shape) / N::of(n);
    let squares = shape.lengths.iter().fold(N::of(0.0), |sum, &length| {
        let off = length - mean;
        sum + off * off
    });
    let sd = if n > 1.0 { (squares / N::of(n - 1.0)).sqrt() } else { N::of(f64::NAN) };
    let median = N::lanes(|lane| {
        sample.clear();
        sample.extend(shape.lengths.iter().map(|length| length.lane(lane)));
        median(sample)
    });
    [mean, median, sd]
}

/// Mean of the horizontal steps and their coefficient of variation (divisor n); plumb legs are no
/// horizontal steps.
pub fn horizontal_steps<N: Number>(shape: &Shape<'_, N>) -> [N; 2] {
    let steps = || shape.runs.iter().zip(shape.plumb).filter(|(_, plumb)| !**plumb).map(|s| *s.0);
    let n = N::of(steps().count() as f64);
    let mean = steps().fold(N::of(0.0), |sum, step| sum + step) / n;
    let variance = steps().fold(N::of(0.0), |sum, step| {
        let off = step - mean;
        sum + off * off
    }) / n;
    [mean, variance.sqrt() / mean]
}

/// The middle of a sample; sorts no more of it than needed.
fn median(sample: &mut [f64]) -> f64 {
    let n = sample.len();
    if n == 0 {
        return f64::NAN;
    }
    let (below, &mut upper, _) = sample.select_nth_unstable_by(n / 2, f64::total_cmp);
    if n % 2 == 1 {
        return upper;
    }
    let lower = below.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    0.5 * (lower + upper)
}
