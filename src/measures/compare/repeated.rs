//! Repeated nights: each trail with its own value and error, animals above them.
//!
//! In: one value a trail. Out: means, differences and slopes of a model with animals above nights above
//! errors of measurement, in which each night weighs by what it knows; and slopes within animals over
//! their nights, tested by shuffling inside each animal. A night whose total is "at least" is left out.

use super::animals::{Roster, TrailValue};
use super::factors::Factor;
use super::test_row::TestRow;
use crate::maths::quantity::count_of;
use crate::maths::statistics::repeated::{
    Night, Repeated, Spread, fit, within_and_between, within_animals,
};

/// One complete night, with the place of its animal in the roster.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CompleteNight {
    animal: usize,
    listed: usize,
    value: f64,
    se: Option<f64>,
}

/// The complete nights of all animals.
pub fn nights(roster: &Roster, values: &[TrailValue]) -> Vec<CompleteNight> {
    let of = |value: &TrailValue| {
        let animal =
            roster.animals.iter().position(|(_, trails)| trails.contains(&value.listed))?;
        let (listed, se) = (value.listed, value.se);
        (!value.at_least).then_some(CompleteNight { animal, listed, value: value.value, se })
    };
    values.iter().filter_map(of).collect()
}

/// The mean over animals, and how animals and nights are spread; `None` where no animal has two nights
/// or there are too few.
pub fn mean(nights: &[CompleteNight]) -> Option<Repeated> {
    let found = fitted(nights, |_| Some(Vec::new()))?;
    matches!(found.spread, Spread::Separate { .. }).then_some(found)
}

/// The model with what `predictors` says of each night; nights of which it says nothing are left out.
fn fitted(
    nights: &[CompleteNight],
    predictors: impl Fn(&CompleteNight) -> Option<Vec<f64>>,
) -> Option<Repeated> {
    let known: Vec<(&CompleteNight, Vec<f64>)> =
        nights.iter().filter_map(|night| Some((night, predictors(night)?))).collect();
    let rows: Vec<Night<'_>> = known
        .iter()
        .map(|(night, predictors)| Night {
            animal: night.animal,
            value: night.value,
            standard_error: night.se,
            predictors,
        })
        .collect();
    fit(&rows)
}

/// The difference of two groups, first less second, by the model.
pub fn difference(levels: &[String], factor: &Factor, nights: &[CompleteNight]) -> Option<TestRow> {
    let [first, second] = levels else { return None };
    let of_first = |night: &CompleteNight| match factor.level(night.listed)? {
        level if level == first => Some(vec![1.0]),
        level if level == second => Some(vec![0.0]),
        _ => None,
    };
    let found = fitted(nights, of_first)?;
    matches!(found.spread, Spread::Separate { .. }).then_some(())?;
    modelled("repeated_nights", format!("{first} - {second}"), "difference", &found, 1)
}

/// Slopes on a covariate: within animals over their nights, by shuffling inside each animal; and by the
/// model, within animals and between them.
pub fn slopes(factor: &Factor, nights: &[CompleteNight], seed: u64) -> Vec<TestRow> {
    let both: Vec<(&CompleteNight, f64)> =
        nights.iter().filter_map(|night| Some((night, factor.number(night.listed)?))).collect();
    let rows: Vec<(usize, f64, f64)> =
        both.iter().map(|(night, x)| (night.animal, *x, night.value)).collect();
    let within = within_animals(&rows, seed).map(|found| {
        let row = TestRow {
            test: "slope_within_animals",
            animals: vec![found.animals],
            statistic: Some(found.test.statistic),
            effect: Some(found.test.statistic),
            effect_name: "slope",
            interval: found.interval,
            reason: format!("over {}", count_of(found.nights, "trail")),
            ..TestRow::default()
        };
        row.with(&found.test)
    });
    within.into_iter().chain(modelled_slopes(&both)).collect()
}

fn modelled_slopes(both: &[(&CompleteNight, f64)]) -> Vec<TestRow> {
    let (animals, xs): (Vec<usize>, Vec<f64>) =
        both.iter().map(|(night, x)| (night.animal, *x)).unzip();
    let Some(parted) = within_and_between(&xs, &animals) else { return Vec::new() };
    let nights: Vec<CompleteNight> = both.iter().map(|(night, _)| **night).collect();
    // animals that had the same nights tell of a slope within them alone
    let both = [
        ("repeated_within_animals", &parted.within),
        ("repeated_between_animals", &parted.between),
    ];
    let varying: Vec<(&'static str, &Vec<f64>)> =
        both.into_iter().filter(|(_, xs)| varies(xs)).collect();
    let predictors = |night: &CompleteNight| {
        let at = nights.iter().position(|other| other.listed == night.listed)?;
        varying.iter().map(|(_, xs)| xs.get(at).copied()).collect()
    };
    let Some(found) = fitted(&nights, predictors) else { return Vec::new() };
    let row = |(at, (name, _)): (usize, &(&'static str, _))| {
        modelled(name, String::new(), "slope", &found, at + 1)
    };
    varying.iter().enumerate().filter_map(row).collect()
}

/// Whether numbers differ by more than rounding makes of equal ones.
fn varies(xs: &[f64]) -> bool {
    let low = xs.iter().copied().fold(f64::INFINITY, f64::min);
    let high = xs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    high - low > 1e-9 * low.abs().max(high.abs())
}

/// One coefficient of the model; its interval, and no p, for labels were not shuffled.
fn modelled(
    test: &'static str,
    groups: String,
    effect_name: &'static str,
    found: &Repeated,
    at: usize,
) -> Option<TestRow> {
    let coefficient = found.coefficients.get(at)?;
    Some(TestRow {
        test,
        groups,
        animals: vec![found.animals],
        statistic: Some(coefficient.value / coefficient.standard_error),
        effect: Some(coefficient.value),
        effect_name,
        interval: Some(coefficient.interval),
        reason: format!("mixed model of {}, no p", count_of(found.nights, "complete trail")),
        ..TestRow::default()
    })
}
