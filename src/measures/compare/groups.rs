//! Groups of animals, and tests between them.

use super::animals::{AnimalValue, Roster, TrailValue, averages};
use super::factors::Factor;
use super::test_row::TestRow;
use crate::maths::statistics::describe::mean;
use crate::maths::statistics::permutation::{
    Stratum, difference_of_means, interval_of_difference, interval_within_strata, studentised,
    within_strata,
};
use crate::maths::statistics::rank::{holm, kruskal_wallis, mann_whitney};
use crate::survey::names::Name;
use std::collections::BTreeMap;

/// The animals of one level of a factor.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// The level.
    pub name: String,
    /// One value an animal.
    pub values: Vec<AnimalValue>,
}

impl Group {
    /// The values alone, in rising order: no number may depend on the order of a table.
    pub fn numbers(&self) -> Vec<f64> {
        let mut numbers: Vec<f64> = self.values.iter().map(|animal| animal.value).collect();
        numbers.sort_by(f64::total_cmp);
        numbers
    }
}

/// The groups of a factor: an animal's trails are averaged within each level.
pub fn split(roster: &Roster, factor: &Factor, values: &[TrailValue]) -> Vec<Group> {
    let rows = roster.animals.iter().flat_map(|(_, trails)| trails.iter().copied());
    let of = |level: String| Group {
        values: averages(roster, values, |row| factor.level(row) == Some(&level)),
        name: level,
    };
    factor.levels(rows).into_iter().map(of).collect()
}

/// Animals that stand in more than one group: their values are not independent.
pub fn shared(groups: &[Group]) -> Vec<Name> {
    let mut animals: Vec<Name> =
        groups.iter().flat_map(|group| group.values.iter().map(|a| a.animal)).collect();
    animals.sort_unstable();
    let mut twice: Vec<Name> =
        animals.windows(2).filter(|pair| pair[0] == pair[1]).map(|pair| pair[0]).collect();
    twice.dedup();
    twice
}

/// Why groups cannot be tested; `None` where they can.
fn untestable(groups: &[&Group], shared: usize) -> Option<String> {
    let numbers = || groups.iter().flat_map(|group| group.numbers());
    let first = numbers().next();
    if groups.len() < 2 {
        Some("only one group".into())
    } else if shared > 0 {
        Some(format!("{shared} animals stand in more than one group; --pairs compares those"))
    } else if let Some(small) = groups.iter().find(|group| group.values.len() < 2) {
        Some(format!("{} has fewer than two animals with a value", small.name))
    } else if numbers().all(|x| Some(x) == first) {
        Some("all values are equal".into())
    } else {
        None
    }
}

fn head(test: &'static str, groups: &[&Group]) -> TestRow {
    let names: Vec<&str> = groups.iter().map(|group| group.name.as_str()).collect();
    let animals = groups.iter().map(|group| group.values.len()).collect();
    TestRow { test, groups: names.join(" - "), animals, ..TestRow::default() }
}

/// All tests between the groups of a factor. Two groups: means by shuffled labels, and ranks. More:
/// Kruskal and Wallis, then each pair by ranks, p adjusted after Holm.
pub fn tests(groups: &[Group], shared: usize, seed: u64) -> Vec<TestRow> {
    let all: Vec<&Group> = groups.iter().collect();
    if let Some(reason) = untestable(&all, shared) {
        let row = head(if all.len() > 2 { "kruskal_wallis" } else { "permutation" }, &all);
        return vec![TestRow::refused(row.test, row.groups, row.animals, reason)];
    }
    if let [first, second] = all[..] {
        return vec![
            by_means(first, second, seed),
            by_spread(first, second, seed),
            by_ranks(first, second, seed),
        ];
    }
    let mut rows = vec![of_several(&all, seed)];
    let pairs = (0..all.len()).flat_map(|a| (a + 1..all.len()).map(move |b| (a, b)));
    let pairs: Vec<TestRow> = pairs.map(|(a, b)| by_ranks(all[a], all[b], seed)).collect();
    let p: Vec<f64> = pairs.iter().filter_map(|row| row.p).collect();
    let adjusted = holm(&p);
    let mut next = adjusted.into_iter();
    rows.extend(pairs.into_iter().map(|row| {
        let p_adjusted = row.p.and_then(|_| next.next());
        TestRow { p_adjusted, ..row }
    }));
    rows
}

fn by_means(first: &Group, second: &Group, seed: u64) -> TestRow {
    let (a, b) = (first.numbers(), second.numbers());
    let row = head("permutation", &[first, second]);
    let Some(test) = difference_of_means(&a, &b, seed) else { return row };
    TestRow {
        statistic: Some(test.statistic),
        effect: Some(test.statistic),
        effect_name: "difference_of_means",
        ..row
    }
    .with(&test)
}

/// The difference of means over its standard error (Welch), labels shuffled; the interval of the
/// difference holds what this test does not refuse.
fn by_spread(first: &Group, second: &Group, seed: u64) -> TestRow {
    let row = head("permutation_welch", &[first, second]);
    let (a, b) = (first.numbers(), second.numbers());
    let Some(test) = studentised(&a, &b, seed) else {
        return TestRow { reason: "no spread within the groups".into(), ..row };
    };
    TestRow {
        statistic: Some(test.statistic),
        effect: mean(&a).zip(mean(&b)).map(|(a, b)| a - b),
        effect_name: "difference_of_means",
        interval: interval_of_difference(&a, &b, seed),
        ..row
    }
    .with(&test)
}

fn by_ranks(first: &Group, second: &Group, seed: u64) -> TestRow {
    let row = head("mann_whitney", &[first, second]);
    let Some(found) = mann_whitney(&first.numbers(), &second.numbers(), seed) else { return row };
    TestRow {
        statistic: Some(found.u),
        effect: Some(found.shift),
        effect_name: "hodges_lehmann_shift",
        interval: found.interval,
        ..row
    }
    .with(&found.test)
}

/// H over n − 1, the share of the spread of ranks that lies between groups (common practice, no
/// source).
fn of_several(groups: &[&Group], seed: u64) -> TestRow {
    let row = head("kruskal_wallis", groups);
    let numbers: Vec<Vec<f64>> = groups.iter().map(|group| group.numbers()).collect();
    let n: usize = numbers.iter().map(Vec::len).sum();
    let Some(found) = kruskal_wallis(&numbers, seed) else { return row };
    TestRow {
        statistic: Some(found.h),
        effect: Some(found.h / (n as f64 - 1.0)),
        effect_name: "epsilon_squared",
        ..row
    }
    .with(&found.test)
}

/// The values of both groups by stratum, in rising order, and how many animals have no one stratum.
fn by_stratum<'a>(
    groups: [&Group; 2],
    roster: &Roster,
    within: &'a Factor,
) -> (BTreeMap<&'a str, [Vec<f64>; 2]>, usize) {
    let stratum_of = |animal: Name| {
        let own = roster.animals.iter().find(|(name, _)| *name == animal)?;
        let level = within.level(*own.1.first()?)?;
        own.1.iter().all(|&row| within.level(row) == Some(level)).then_some(level)
    };
    let mut strata: BTreeMap<&str, [Vec<f64>; 2]> = BTreeMap::new();
    let mut lost = 0;
    for (at, group) in groups.into_iter().enumerate() {
        for animal in &group.values {
            match stratum_of(animal.animal) {
                Some(stratum) => strata.entry(stratum).or_default()[at].push(animal.value),
                None => lost += 1,
            }
        }
    }
    for values in strata.values_mut().flatten() {
        values.sort_by(f64::total_cmp);
    }
    (strata, lost)
}

/// Two groups, labels shuffled within the levels of another factor only.
pub fn test_within(groups: &[Group], roster: &Roster, within: &Factor, seed: u64) -> TestRow {
    let all: Vec<&Group> = groups.iter().collect();
    let row = head("permutation_within", &all);
    let refused =
        |why: &str| TestRow::refused(row.test, row.groups.clone(), row.animals.clone(), why);
    let [first, second] = all[..] else {
        return refused("within strata two groups are compared, no more and no fewer");
    };
    let shared = shared(groups).len();
    if let Some(reason) = untestable(&all, shared) {
        return refused(&reason);
    }
    let (strata, lost) = by_stratum([first, second], roster, within);
    let lists: Vec<Stratum<'_>> =
        strata.values().map(|[first, second]| Stratum { first, second }).collect();
    let one_sided = strata.iter().filter(|(_, [a, b])| a.is_empty() || b.is_empty());
    let one_sided: Vec<&str> = one_sided.map(|(name, _)| *name).collect();
    let Some(test) = within_strata(&lists, seed) else {
        return refused("no stratum has animals of both groups");
    };
    let mut reason = format!("labels shuffled within {}", within.name);
    if !one_sided.is_empty() {
        reason += &format!("; {} has one group only and tells nothing", one_sided.join(", "));
    }
    if lost > 0 {
        reason += &format!("; {lost} animals have no one level of {}", within.name);
    }
    TestRow {
        statistic: Some(test.statistic),
        effect: Some(test.statistic),
        effect_name: "weighted_difference_of_means",
        interval: interval_within_strata(&lists, seed),
        reason,
        ..row
    }
    .with(&test)
}
