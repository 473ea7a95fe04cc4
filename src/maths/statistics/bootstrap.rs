//! Bootstrap intervals, corrected for bias and skew (`BCa`).
//!
//! Conventions: [`RESAMPLES`] resamples with a seed; resamples equal to the estimate count half;
//! the acceleration is by the jackknife; ends are quantiles of the resamples, linear between
//! neighbours. Source: [`Source::Efron1987`](crate::survey::sources::Source::Efron1987).

use super::chance::Chance;
use super::describe::{mean, moments, quantile};
use super::interval::{Z95, normal_cdf, normal_quantile};

/// How many resamples are drawn.
pub const RESAMPLES: usize = 4_999;

/// Fewest values of which an interval is given: of two there are only three resamples.
pub const FEWEST: usize = 3;

/// Resamples of a sample of a given size: which of its values each holds, in rising order. They
/// serve every sample of that size.
#[derive(Clone, Debug)]
pub struct Resamples {
    n: usize,
    picked: Vec<u32>,
}

impl Resamples {
    /// `count` resamples of a sample of `n`.
    pub fn new(n: usize, count: usize, seed: u64) -> Self {
        let mut chance = Chance::new(seed ^ (n as u64).rotate_left(32));
        let mut picked = Vec::with_capacity(n * count);
        for resample in 0..count {
            #[expect(clippy::cast_possible_truncation, reason = "a sample is far smaller")]
            picked.extend((0..n).map(|_| chance.below(n) as u32));
            picked[resample * n..].sort_unstable();
        }
        Self { n, picked }
    }

    fn each(&self) -> impl Iterator<Item = &[u32]> {
        self.picked.chunks_exact(self.n.max(1))
    }

    /// The 95 % interval of a `statistic` of one sample. The statistic is handed values in rising
    /// order. `None` of fewer than [`FEWEST`] values, or where all are equal and resamples tell
    /// nothing.
    pub fn interval<T: Copy + Default>(
        &self,
        sample: &[T],
        statistic: impl Fn(&[T]) -> f64,
    ) -> Option<[f64; 2]> {
        debug_assert_eq!(sample.len(), self.n, "resamples of another size");
        if sample.len() < FEWEST {
            return None;
        }
        let mut resample = vec![T::default(); sample.len()];
        let replicates = self.each().map(|picked| {
            resample.iter_mut().zip(picked).for_each(|(to, &at)| *to = sample[at as usize]);
            statistic(&resample)
        });
        let replicates: Vec<f64> = replicates.collect();
        let influence = jackknife(sample, &statistic);
        bca(statistic(sample), replicates, acceleration(&influence), Z95)
    }
}

/// Mean of the leave-one-out values less each of them.
fn jackknife<T: Copy>(sample: &[T], statistic: impl Fn(&[T]) -> f64) -> Vec<f64> {
    let without = |at: usize| {
        let rest: Vec<T> = [&sample[..at], &sample[at + 1..]].concat();
        statistic(&rest)
    };
    let left_out: Vec<f64> = (0..sample.len()).map(without).collect();
    let centre = mean(&left_out).unwrap_or(0.0);
    left_out.iter().map(|value| centre - value).collect()
}

/// ```text
/// a = Σ u³ / 6 (Σ u²)^(3/2)
/// ```
/// u the influence of each value; 0 where none has any.
fn acceleration(influence: &[f64]) -> f64 {
    let squares: f64 = influence.iter().map(|u| u * u).sum();
    let cubes: f64 = influence.iter().map(|u| u * u * u).sum();
    if squares > 0.0 { cubes / (6.0 * squares.powf(1.5)) } else { 0.0 }
}

/// The interval of an estimate by its replicates.
///
/// ```text
/// z₀ = Φ⁻¹( P(replicate < estimate) + ½ P(replicate = estimate) )
/// α  = Φ( z₀ + (z₀ ± z) / (1 − a (z₀ ± z)) )
/// ```
pub fn bca(estimate: f64, mut replicates: Vec<f64>, acceleration: f64, z: f64) -> Option<[f64; 2]> {
    let (_, spread) = moments(&replicates);
    let near = 1e-12 * estimate.abs().max(spread);
    if !estimate.is_finite() || spread.is_nan() || spread <= near {
        return None; // also where a resample had no value
    }
    let count = replicates.len() as f64;
    let less = replicates.iter().filter(|r| **r < estimate - near).count() as f64;
    let equal = replicates.iter().filter(|r| (**r - estimate).abs() <= near).count() as f64;
    // All on one side: as far out as so many replicates can show.
    let share = ((less + 0.5 * equal) / count).clamp(0.5 / count, 1.0 - 0.5 / count);
    let z0 = normal_quantile(share);
    let ends = [-z, z].map(|z| {
        let moved = z0 + z;
        normal_cdf(z0 + moved / (1.0 - acceleration * moved))
    });
    let [low, high] = ends.map(|end| quantile(&mut replicates, end));
    low.zip(high).map(<[f64; 2]>::from)
}
