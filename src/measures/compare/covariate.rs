//! A metric against a number of the animal or of its trails.

use super::animals::{Roster, TrailValue};
use super::factors::Factor;
use super::test_row::TestRow;
use crate::maths::statistics::permutation::{interval_of_slope, products};
use crate::maths::statistics::rank::{slope, spearman};
use crate::survey::names::Name;

/// An animal's covariate and metric.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// The animal.
    pub animal: Name,
    /// The covariate, averaged over the trails that have both.
    pub x: f64,
    /// The metric, averaged over the same.
    pub y: f64,
    /// Whether the true metric is at least this.
    pub at_least: bool,
}

/// One pair an animal.
pub fn pairs(roster: &Roster, factor: &Factor, values: &[TrailValue]) -> Vec<Pair> {
    let of = |(animal, trails): &(Name, Vec<usize>)| {
        let own = values.iter().filter(|value| trails.contains(&value.listed));
        let own: Vec<(f64, &TrailValue)> =
            own.filter_map(|value| Some((factor.number(value.listed)?, value))).collect();
        let both: Vec<(f64, f64)> = own.iter().map(|(x, value)| (*x, value.value)).collect();
        let at_least = own.iter().any(|(_, value)| value.at_least);
        let count = both.len() as f64;
        let (x, y) = both.iter().fold((0.0, 0.0), |(x, y), (a, b)| (x + a, y + b));
        (!both.is_empty()).then(|| Pair { animal: *animal, x: x / count, y: y / count, at_least })
    };
    roster.animals.iter().filter_map(of).collect()
}

/// Spearman's coefficient, and the slope with the interval of slopes that its own test does not refuse.
pub fn tests(pairs: &[Pair], seed: u64) -> Vec<TestRow> {
    let mut both: Vec<(f64, f64)> = pairs.iter().map(|pair| (pair.x, pair.y)).collect();
    // no number may depend on the order of a table
    both.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let (x, y): (Vec<f64>, Vec<f64>) = both.iter().copied().unzip();
    let animals = vec![pairs.len()];
    let refused =
        |reason: &str| vec![TestRow::refused("spearman", String::new(), animals.clone(), reason)];
    if pairs.len() < 4 {
        return refused("needs four animals with both numbers");
    }
    let Some((rho, by_ranks)) = spearman(&x, &y, seed) else {
        return refused("one of the two does not vary");
    };
    let (Some(slope), Some(by_values)) = (slope(&x, &y), products(&x, &y, seed)) else {
        return refused("one of the two does not vary");
    };
    let row = |test, effect, effect_name, interval| TestRow {
        test,
        animals: animals.clone(),
        statistic: Some(effect),
        effect: Some(effect),
        effect_name,
        interval,
        ..TestRow::default()
    };
    vec![
        row("spearman", rho, "rho", None).with(&by_ranks),
        row("slope", slope, "slope", interval_of_slope(&x, &y, seed)).with(&by_values),
    ]
}
