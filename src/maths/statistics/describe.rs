//! Mean, spread and quantiles of a sample.

/// Arithmetic mean; `None` of nothing.
pub fn mean(sample: &[f64]) -> Option<f64> {
    (!sample.is_empty()).then(|| sample.iter().sum::<f64>() / sample.len() as f64)
}

/// Mean and standard deviation (divisor n − 1) of a long sample: of eight sums at once, which the
/// processor adds together. Not numbers where there are too few.
pub fn moments(sample: &[f64]) -> (f64, f64) {
    let n = sample.len() as f64;
    let mean = sum(sample, |x| x) / n;
    let squares = sum(sample, |x| (x - mean) * (x - mean));
    (mean, (squares / (n - 1.0).max(0.0)).sqrt())
}

fn sum(sample: &[f64], f: impl Fn(f64) -> f64) -> f64 {
    let (eights, rest) = sample.as_chunks::<8>();
    let mut sums = [0.0; 8];
    for eight in eights {
        sums.iter_mut().zip(eight).for_each(|(sum, &x)| *sum += f(x));
    }
    sums.iter().sum::<f64>() + rest.iter().map(|&x| f(x)).sum::<f64>()
}

/// Standard deviation with the divisor n − 1; `None` of fewer than two.
pub fn sd(sample: &[f64]) -> Option<f64> {
    let mean = mean(sample)?;
    let squares: f64 = sample.iter().map(|x| (x - mean).powi(2)).sum();
    (sample.len() > 1).then(|| (squares / (sample.len() - 1) as f64).sqrt())
}

/// The quantile `q` of a sample in rising order, linear between neighbours.
/// Source: type 7 of [`Source::Hyndman1996`](crate::survey::sources::Source::Hyndman1996).
pub fn quantile_of_sorted(sorted: &[f64], q: f64) -> Option<f64> {
    let (below, share) = place_of(q, sorted.len())?;
    let above = (below + 1).min(sorted.len() - 1);
    Some(sorted[below] + share * (sorted[above] - sorted[below]))
}

/// The same of a sample in any order, which is sorted no more than needed.
pub fn quantile(sample: &mut [f64], q: f64) -> Option<f64> {
    let (below, share) = place_of(q, sample.len())?;
    let (_, &mut low, above) = sample.select_nth_unstable_by(below, f64::total_cmp);
    let high = above.iter().copied().min_by(f64::total_cmp).unwrap_or(low);
    Some(low + share * (high - low))
}

/// The value below the quantile `q` of so many in rising order, and how far the quantile lies on the
/// way to the next. `None` of none.
fn place_of(q: f64, count: usize) -> Option<(usize, f64)> {
    let last = count.checked_sub(1)?;
    let place = q.clamp(0.0, 1.0) * last as f64;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "within the sample"
    )]
    let below = place.floor() as usize;
    Some((below, place - below as f64))
}

/// The median; `None` of nothing.
pub fn median(sample: &[f64]) -> Option<f64> {
    let mut sorted = sample.to_vec();
    sorted.sort_by(f64::total_cmp);
    quantile_of_sorted(&sorted, 0.5)
}
