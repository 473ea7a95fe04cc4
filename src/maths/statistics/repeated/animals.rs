//! Nights gathered by animal, in units in which their values have a spread of one.
//!
//! In: nights in any order. Out: [`Animals`], in an order that follows from the values alone; `None` where
//! no fit is possible. Predictors are taken from their means and brought to one spread, for the sake of the digits.

use super::{FEWEST_ANIMALS, Night};
use std::cmp::Ordering;

/// The nights of one animal.
#[derive(Clone, Debug)]
pub(super) struct Animal {
    pub(super) values: Vec<f64>,
    /// Squared standard errors of measurement.
    pub(super) known: Vec<f64>,
    /// One row a night: 1, then the predictors.
    pub(super) rows: Vec<Vec<f64>>,
}

/// All of them.
#[derive(Clone, Debug)]
pub(super) struct Animals {
    pub(super) each: Vec<Animal>,
    pub(super) nights: usize,
    /// How many coefficients.
    pub(super) width: usize,
    /// What a value of one stands for.
    pub(super) unit: f64,
    /// What was taken off the values, in their unit.
    pub(super) centre: f64,
    /// Mean and spread of each predictor.
    pub(super) scales: Vec<[f64; 2]>,
    /// What scaling the predictors took off half the logarithm of |X'V⁻¹X|.
    pub(super) log_scale: f64,
}

impl Animals {
    pub(super) fn of(nights: &[Night<'_>]) -> Option<Self> {
        let count = nights.first()?.predictors.len();
        let usable = |night: &Night<'_>| {
            let error = night.standard_error.unwrap_or(0.0);
            let finite = |x: &f64| x.is_finite();
            night.predictors.len() == count
                && night.value.is_finite()
                && error.is_finite()
                && error >= 0.0
                && night.predictors.iter().all(finite)
        };
        let groups = grouped(nights);
        if !nights.iter().all(usable) || groups.len() < FEWEST_ANIMALS || nights.len() < count + 3 {
            return None;
        }
        let sorted: Vec<&Night<'_>> = groups.iter().flatten().copied().collect();
        let [centre, unit] = centre_and_spread(sorted.iter().map(|n| n.value))?;
        let scales: Vec<[f64; 2]> = (0..count)
            .map(|at| centre_and_spread(sorted.iter().map(|n| n.predictors[at])))
            .collect::<Option<_>>()?;
        let each = groups.iter().map(|group| Animal::of(group, [centre, unit], &scales)).collect();
        let log_scale = scales.iter().map(|[_, spread]| spread.ln()).sum();
        let nights = nights.len();
        Some(Self { each, nights, width: count + 1, unit, centre, scales, log_scale })
    }

    /// Whether some animal has two nights or more.
    pub(super) fn separable(&self) -> bool {
        self.each.iter().any(|animal| animal.values.len() > 1)
    }

    /// The mean squared standard error of measurement.
    pub(super) fn measurement_variance(&self) -> f64 {
        self.each.iter().flat_map(|animal| &animal.known).sum::<f64>() / self.nights as f64
    }
}

impl Animal {
    fn of(nights: &[&Night<'_>], [centre, unit]: [f64; 2], scales: &[[f64; 2]]) -> Self {
        let row = |night: &&Night<'_>| {
            let scaled =
                night.predictors.iter().zip(scales).map(|(x, [mean, spread])| (x - mean) / spread);
            std::iter::once(1.0).chain(scaled).collect()
        };
        Self {
            values: nights.iter().map(|n| (n.value - centre) / unit).collect(),
            known: nights
                .iter()
                .map(|n| (n.standard_error.unwrap_or(0.0) / unit).powi(2))
                .collect(),
            rows: nights.iter().map(row).collect(),
        }
    }
}

/// By animal; nights and animals in an order that does not depend on rows or names.
fn grouped<'a, 'b>(nights: &'a [Night<'b>]) -> Vec<Vec<&'a Night<'b>>> {
    let mut sorted: Vec<&Night<'_>> = nights.iter().collect();
    sorted.sort_by(|a, b| a.animal.cmp(&b.animal).then_with(|| order(a, b)));
    let mut groups: Vec<Vec<_>> =
        sorted.chunk_by(|a, b| a.animal == b.animal).map(<[_]>::to_vec).collect();
    groups.sort_by(|a, b| {
        let nights = a.iter().zip(b).map(|(a, b)| order(a, b));
        nights.fold(a.len().cmp(&b.len()), Ordering::then)
    });
    groups
}

fn order(a: &Night<'_>, b: &Night<'_>) -> Ordering {
    let numbers = |night: &Night<'_>| [night.value, night.standard_error.unwrap_or(0.0)];
    let pairs = numbers(a).into_iter().zip(numbers(b));
    pairs
        .chain(a.predictors.iter().copied().zip(b.predictors.iter().copied()))
        .fold(Ordering::Equal, |order, (a, b)| order.then_with(|| a.total_cmp(&b)))
}

/// `None` of numbers without spread.
fn centre_and_spread(numbers: impl Iterator<Item = f64> + Clone) -> Option<[f64; 2]> {
    let count = numbers.clone().count() as f64;
    let centre = numbers.clone().sum::<f64>() / count;
    let spread = (numbers.map(|x| (x - centre).powi(2)).sum::<f64>() / count).sqrt();
    (spread > 1e-12 * centre.abs() && spread.is_finite()).then_some([centre, spread])
}
