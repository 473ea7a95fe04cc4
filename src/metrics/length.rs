//! Lengths and steps.

use super::shape::Shape;

/// Sum of the counted legs in space, metres.
pub fn path_length(shape: &Shape<'_>) -> f64 {
    shape.lengths.iter().fold(0.0, |sum, length| sum + length) // an empty sum would be −0
}

/// Sum of the counted legs in plan, metres.
pub fn horizontal_length(shape: &Shape<'_>) -> f64 {
    shape.runs.iter().fold(0.0, |sum, run| sum + run)
}

/// Mean, median and standard deviation (divisor n − 1) of the legs, metres; not numbers where
/// there are too few.
pub fn steps(shape: &Shape<'_>, sorted: &mut Vec<f64>) -> [f64; 3] {
    let n = shape.lengths.len() as f64;
    let mean = path_length(shape) / n;
    let squares: f64 = shape.lengths.iter().map(|length| (length - mean).powi(2)).sum();
    let sd = if n > 1.0 { (squares / (n - 1.0)).sqrt() } else { f64::NAN };
    sorted.clear();
    sorted.extend_from_slice(&shape.lengths);
    [mean, median(sorted), sd]
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
