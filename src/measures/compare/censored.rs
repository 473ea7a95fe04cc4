//! Groups of which some totals are only "at least": threads that ran out.
//!
//! Such totals are never averaged as if they were complete: means go up to a length that all groups
//! reach, and the curves of how far animals went are held against each other.

use super::animals::AnimalValue;
use super::groups::Group;
use super::test_row::TestRow;
use crate::maths::quantity::significant;
use crate::maths::statistics::censored::{
    RestrictedMean, Total, common_bound, difference, log_rank, restricted_mean,
};

/// The values of a group as totals.
fn totals(values: &[AnimalValue]) -> Vec<Total> {
    let of = |animal: &AnimalValue| Total { value: animal.value, at_least: animal.at_least };
    values.iter().map(of).collect()
}

/// The mean of each group up to the length that all reach; `None` where no thread ran out, or of
/// groups that have no such length.
pub fn restricted_means(groups: &[&[AnimalValue]]) -> Vec<Option<RestrictedMean>> {
    let ran_out = groups.iter().copied().flatten().any(|animal| animal.at_least);
    let groups: Vec<Vec<Total>> = groups.iter().map(|values| totals(values)).collect();
    let reached: Vec<&[Total]> =
        groups.iter().filter(|group| !group.is_empty()).map(Vec::as_slice).collect();
    let bound = common_bound(&reached).filter(|_| ran_out);
    groups.iter().map(|group| restricted_mean(group, bound?).map(possible)).collect()
}

/// With an interval that holds no mean that cannot be: none below zero, none beyond the bound.
fn possible(found: RestrictedMean) -> RestrictedMean {
    let interval = found.interval.map(|[low, high]| [low.max(0.0), high.min(found.bound)]);
    RestrictedMean { interval, ..found }
}

/// The log-rank test and that of the difference of restricted means, of two groups of which some
/// totals are "at least"; nothing of others.
pub fn tests(groups: &[Group], seed: u64) -> Vec<TestRow> {
    let [first, second] = groups else { return Vec::new() };
    let ran_out = [first, second].map(|g| g.values.iter().filter(|animal| animal.at_least).count());
    let (a, b) = (totals(&first.values), totals(&second.values));
    let (Some(bound), true) = (common_bound(&[&a, &b]), ran_out != [0, 0]) else {
        return Vec::new();
    };
    let row = |test| TestRow {
        test,
        groups: format!("{} - {}", first.name, second.name),
        animals: vec![a.len(), b.len()],
        reason: format!(
            "up to {}; {} and {} values are at least",
            significant(bound, 3),
            ran_out[0],
            ran_out[1]
        ),
        ..TestRow::default()
    };
    let means = difference(&a, &b, seed);
    let ranks = log_rank(&a, &b, seed).map(|found| {
        TestRow {
            statistic: Some(found.test.statistic),
            effect: means.map(|means| means.difference),
            effect_name: "difference_of_restricted_means",
            ..row("log_rank")
        }
        .with(&found.test)
    });
    let means = means.and_then(|means| {
        let test = means.test?;
        let row = TestRow {
            statistic: Some(test.statistic),
            effect: Some(means.difference),
            effect_name: "difference_of_restricted_means",
            interval: means.interval,
            ..row("restricted_means")
        };
        Some(row.with(&test))
    });
    ranks.into_iter().chain(means).collect()
}
