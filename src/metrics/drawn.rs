//! What the draws of one subject gave.

use super::catalogue::Metric;
use super::level;
use super::shape::{Scratch, Shape, Subject, Values, by_class, measure_with};
use crate::statistics::describe::quantile_of_sorted;
use crate::statistics::interval::Z95;

/// How many sums by class there are.
pub(super) const SUMS: usize = 6;
/// What is carried beside the metrics of a draw: sums by class, then the levelled path.
pub(super) const EXTRAS: usize = SUMS + level::LEVELLED;

/// The draws of one subject.
#[derive(Debug, Default)]
pub struct Drawn {
    values: Vec<Values>,
    pub(super) extras: Vec<[f64; EXTRAS]>,
    /// Share of each height band, draw after draw.
    shares: Vec<f64>,
    bands: usize,
    scratch: Scratch,
}

impl Drawn {
    /// Measures one draw: `shape` holds its points and heights, `estimate` what it deviates from.
    pub fn push(&mut self, subject: &Subject, shape: &mut Shape<'_>, estimate: &Shape<'_>) {
        shape.retract(estimate);
        self.values.push(measure_with(subject, shape, &mut self.scratch));
        let spread = &self.scratch.spread;
        let total = spread.total();
        self.bands = subject.edges.len() + 1;
        self.shares.extend(spread.by_stratum(&subject.edges).map(|metres| metres / total));
        let sums = by_class(subject, shape);
        let levelled = subject.level.drawn(shape, estimate);
        let extra = |k: usize| if k < SUMS { sums[k / 3][k % 3] } else { levelled[k - SUMS] };
        self.extras.push(std::array::from_fn(extra));
    }

    /// How many draws.
    pub fn len(&self) -> usize {
        self.values.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// Takes over the draws of `other`, after its own.
    pub fn append(&mut self, other: &mut Self) {
        self.values.append(&mut other.values);
        self.extras.append(&mut other.extras);
        self.shares.append(&mut other.shares);
        self.bands = self.bands.max(other.bands);
    }

    /// 95 % interval of the share of height band `band`, whose estimate is `share`.
    pub fn share_interval(&self, band: usize, share: f64) -> Option<[f64; 2]> {
        if self.len() < 2 || !share.is_finite() {
            return None;
        }
        let (_, sd) = moments(self.shares.iter().skip(band).step_by(self.bands).copied());
        let ends = [share - Z95 * sd, share + Z95 * sd].map(|end| end.clamp(0.0, 1.0));
        sd.is_finite().then_some(ends)
    }

    /// The draws of one metric.
    pub(super) fn of(&self, metric: Metric) -> impl Iterator<Item = f64> + Clone + '_ {
        self.values.iter().map(move |values| values[metric.at()]).filter(|value| value.is_finite())
    }

    /// Mean of what is carried at a place beside the metrics.
    pub(super) fn mean_extra(&self, at: usize) -> f64 {
        self.extras.iter().map(|extras| extras[at]).sum::<f64>() / self.extras.len() as f64
    }
}

/// Mean and standard deviation of draws; not numbers under two.
pub(super) fn moments(draws: impl Iterator<Item = f64> + Clone) -> (f64, f64) {
    let n = draws.clone().count() as f64;
    let mean = draws.clone().sum::<f64>() / n;
    let squares: f64 = draws.map(|draw| (draw - mean).powi(2)).sum();
    (mean, (squares / (n - 1.0)).sqrt())
}

/// Quantiles of a sample.
pub(super) fn quantiles<const N: usize>(
    sample: impl Iterator<Item = f64>,
    shares: [f64; N],
) -> [f64; N] {
    let mut sorted: Vec<f64> = sample.collect();
    sorted.sort_unstable_by(f64::total_cmp);
    shares.map(|share| quantile_of_sorted(&sorted, share).unwrap_or(f64::NAN))
}
