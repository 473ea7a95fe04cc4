//! What a group's values come to, with intervals by resampling its animals.

use super::animals::AnimalValue;
use crate::maths::statistics::bootstrap::{RESAMPLES, Resamples};
use crate::maths::statistics::censored::RestrictedMean;
use crate::maths::statistics::describe::{mean, quantile_of_sorted, sd};
use crate::maths::statistics::means::interval_of_mean;
use std::collections::BTreeMap;

/// Fewest animals of which a median has an interval: of five the outermost two hold it in 94 of 100
/// samples, and nothing within them can.
pub const FEWEST_OF_A_MEDIAN: usize = 6;

/// Resamples for samples of every size met, so that each is drawn once.
#[derive(Clone, Debug)]
pub struct Resampled {
    seed: u64,
    count: usize,
    drawn: BTreeMap<(usize, usize), Resamples>,
}

impl Resampled {
    /// Begins with `seed`.
    pub fn new(seed: u64) -> Self {
        Self { seed, count: RESAMPLES, drawn: BTreeMap::new() }
    }

    /// Draws nothing, so that nothing has an interval.
    pub fn none() -> Self {
        Self { seed: 0, count: 0, drawn: BTreeMap::new() }
    }

    /// Resamples of a sample of `n` in this stream.
    pub fn of(&mut self, n: usize, stream: usize) -> &Resamples {
        let seed = self.seed ^ (stream as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        let count = self.count;
        self.drawn.entry((n, stream)).or_insert_with(|| Resamples::new(n, count, seed))
    }
}

/// What a group's values come to.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Summary {
    /// How many animals.
    pub animals: usize,
    /// Their mean.
    pub mean: Option<f64>,
    /// Their standard deviation.
    pub sd: Option<f64>,
    /// The standard error of the mean, by the spread between animals.
    pub se: Option<f64>,
    /// The part of it that measurement alone makes.
    pub measurement_se: Option<f64>,
    /// The interval of the mean.
    pub mean_interval: Option<[f64; 2]>,
    /// The median.
    pub median: Option<f64>,
    /// The lower and upper quartile.
    pub quartiles: Option<[f64; 2]>,
    /// The interval of the median.
    pub median_interval: Option<[f64; 2]>,
    /// The least and the greatest value.
    pub range: Option<[f64; 2]>,
    /// How many values are lower bounds.
    pub at_least: usize,
    /// The mean up to a length that every group reaches, where some values are lower bounds.
    pub restricted: Option<RestrictedMean>,
}

impl Summary {
    /// Without intervals.
    pub fn of(values: &[AnimalValue]) -> Self {
        let mut sorted: Vec<f64> = values.iter().map(|animal| animal.value).collect();
        sorted.sort_by(f64::total_cmp);
        let n = sorted.len() as f64;
        let variance: Option<f64> = values.iter().map(|animal| animal.se.map(|se| se * se)).sum();
        let spread = sd(&sorted);
        let quantile = |q| quantile_of_sorted(&sorted, q);
        Self {
            animals: values.len(),
            mean: mean(&sorted),
            sd: spread,
            se: spread.map(|sd| sd / n.sqrt()),
            measurement_se: variance.filter(|_| n > 0.0).map(|variance| variance.sqrt() / n),
            median: quantile(0.5),
            quartiles: quantile(0.25).zip(quantile(0.75)).map(<[f64; 2]>::from),
            range: quantile(0.0).zip(quantile(1.0)).map(<[f64; 2]>::from),
            at_least: values.iter().filter(|animal| animal.at_least).count(),
            mean_interval: None,
            median_interval: None,
            restricted: None,
        }
    }

    /// With intervals: of the mean, and by resampling of the median where there are
    /// [`FEWEST_OF_A_MEDIAN`].
    pub fn with_intervals(values: &[AnimalValue], resampled: &mut Resampled) -> Self {
        let mut sorted: Vec<f64> = values.iter().map(|animal| animal.value).collect();
        sorted.sort_by(f64::total_cmp);
        let resamples = resampled.of(sorted.len(), 0);
        let median = |sample: &[f64]| quantile_of_sorted(sample, 0.5).unwrap_or(f64::NAN);
        let enough = sorted.len() >= FEWEST_OF_A_MEDIAN;
        Self {
            mean_interval: interval_of_mean(&sorted),
            median_interval: enough.then(|| resamples.interval(&sorted, median)).flatten(),
            ..Self::of(values)
        }
    }
}
