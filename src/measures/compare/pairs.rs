//! The same animals in two states: differences within each animal.

use super::animals::AnimalValue;
use super::groups::Group;
use super::test_row::TestRow;
use crate::maths::statistics::permutation::{interval_of_pairs, signs};
use crate::survey::names::Name;

/// Second less first of every animal that has both.
pub fn differences(first: &Group, second: &Group) -> Vec<(Name, f64)> {
    let of = |animal: &AnimalValue| {
        let other = first.values.iter().find(|other| other.animal == animal.animal)?;
        Some((animal.animal, animal.value - other.value))
    };
    second.values.iter().filter_map(of).collect()
}

/// The mean difference, signs shuffled over animals; its interval holds what the test does not refuse.
pub fn test(first: &Group, second: &Group, seed: u64) -> TestRow {
    let mut found: Vec<f64> = differences(first, second).into_iter().map(|(_, d)| d).collect();
    let groups = format!("{} - {}", second.name, first.name);
    let animals = vec![found.len()];
    if found.len() < 2 {
        let reason = "fewer than two animals have both";
        return TestRow::refused("sign_permutation", groups, animals, reason);
    }
    if found.iter().all(|d| *d == 0.0) {
        let reason = "no animal differs";
        return TestRow::refused("sign_permutation", groups, animals, reason);
    }
    found.sort_by(f64::total_cmp);
    let row = TestRow { test: "sign_permutation", groups, animals, ..TestRow::default() };
    let Some(test) = signs(&found, seed) else { return row };
    TestRow {
        statistic: Some(test.statistic),
        effect: Some(test.statistic),
        effect_name: "mean_difference",
        interval: interval_of_pairs(&found, seed),
        ..row
    }
    .with(&test)
}
