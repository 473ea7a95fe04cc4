//! Mean, spread and quantiles of a sample.

/// Arithmetic mean; `None` of nothing.
pub fn mean(sample: &[f64]) -> Option<f64> {
    (!sample.is_empty()).then(|| sample.iter().sum::<f64>() / sample.len() as f64)
}

/// Standard deviation with the divisor n − 1; `None` of fewer than two.
pub fn sd(sample: &[f64]) -> Option<f64> {
    let mean = mean(sample)?;
    let squares: f64 = sample.iter().map(|x| (x - mean).powi(2)).sum();
    (sample.len() > 1).then(|| (squares / (sample.len() - 1) as f64).sqrt())
}

/// The quantile `q` of a sample in rising order, linear between neighbours.
/// Source: type 7 of [`Source::Hyndman1996`](crate::sources::Source::Hyndman1996).
pub fn quantile_of_sorted(sorted: &[f64], q: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    let place = q.clamp(0.0, 1.0) * last as f64;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "within the sample"
    )]
    let below = place.floor() as usize;
    let above = (below + 1).min(last);
    Some(sorted[below] + (place - below as f64) * (sorted[above] - sorted[below]))
}

/// The same of a sample in any order, which is sorted no more than needed.
pub fn quantile(sample: &mut [f64], q: f64) -> Option<f64> {
    let last = sample.len().checked_sub(1)?;
    let place = q.clamp(0.0, 1.0) * last as f64;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "within the sample"
    )]
    let below = place.floor() as usize;
    let (_, &mut low, above) = sample.select_nth_unstable_by(below.min(last), f64::total_cmp);
    let high = above.iter().copied().min_by(f64::total_cmp).unwrap_or(low);
    Some(low + (place - below as f64) * (high - low))
}

/// The median; `None` of nothing.
pub fn median(sample: &[f64]) -> Option<f64> {
    let mut sorted = sample.to_vec();
    sorted.sort_by(f64::total_cmp);
    quantile_of_sorted(&sorted, 0.5)
}
