//! Groups of animals: their summaries, and tests between them.

use super::animals::{AnimalValue, Roster, TrailValue, averages};
use super::factors::Factor;
use super::test_row::TestRow;
use crate::statistics::bootstrap::{RESAMPLES, Resamples, interval_of_difference};
use crate::statistics::describe::{mean, quantile_of_sorted, sd};
use crate::statistics::permutation::{Stratum, difference_of_means, studentised, within_strata};
use crate::statistics::rank::{holm, kruskal_wallis, mann_whitney};
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
    /// The values alone.
    pub fn numbers(&self) -> Vec<f64> {
        self.values.iter().map(|animal| animal.value).collect()
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

/// Resamples for samples of every size met, so that each is drawn once. Groups resample by streams
/// of their own: two groups of one size must not move together.
#[derive(Clone, Debug)]
pub struct Resampled {
    seed: u64,
    drawn: BTreeMap<(usize, usize), Resamples>,
}

impl Resampled {
    /// Begins with `seed`.
    pub fn new(seed: u64) -> Self {
        Self { seed, drawn: BTreeMap::new() }
    }

    /// Resamples of a sample of `n` in this stream.
    pub fn of(&mut self, n: usize, stream: usize) -> &Resamples {
        let seed = self.seed ^ (stream as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        self.drawn.entry((n, stream)).or_insert_with(|| Resamples::new(n, RESAMPLES, seed))
    }

    /// The 95 % interval of the difference of the means of two samples.
    pub fn difference(&mut self, first: &[f64], second: &[f64]) -> Option<[f64; 2]> {
        self.of(first.len(), 0);
        self.of(second.len(), 1);
        let drawn = |n: usize, stream| self.drawn.get(&(n, stream));
        let (a, b) = drawn(first.len(), 0).zip(drawn(second.len(), 1))?;
        interval_of_difference((first, a), (second, b))
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
        }
    }

    /// With `BCa` intervals of mean and median.
    pub fn with_intervals(values: &[AnimalValue], resampled: &mut Resampled) -> Self {
        let mut sorted: Vec<f64> = values.iter().map(|animal| animal.value).collect();
        sorted.sort_by(f64::total_cmp);
        let resamples = resampled.of(sorted.len(), 0);
        let of = |statistic: fn(&[f64]) -> Option<f64>| {
            resamples.interval(&sorted, |sample| statistic(sample).unwrap_or(f64::NAN))
        };
        Self {
            mean_interval: of(mean),
            median_interval: of(|sample| quantile_of_sorted(sample, 0.5)),
            ..Self::of(values)
        }
    }
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
pub fn tests(
    groups: &[Group],
    shared: usize,
    resampled: &mut Resampled,
    seed: u64,
) -> Vec<TestRow> {
    let all: Vec<&Group> = groups.iter().collect();
    if let Some(reason) = untestable(&all, shared) {
        let row = head(if all.len() > 2 { "kruskal_wallis" } else { "permutation" }, &all);
        return vec![TestRow::refused(row.test, row.groups, row.animals, reason)];
    }
    if let [first, second] = all[..] {
        return vec![
            by_means(first, second, resampled, seed),
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

fn by_means(first: &Group, second: &Group, resampled: &mut Resampled, seed: u64) -> TestRow {
    let (a, b) = (first.numbers(), second.numbers());
    let row = head("permutation", &[first, second]);
    let Some(test) = difference_of_means(&a, &b, seed) else { return row };
    TestRow {
        statistic: Some(test.statistic),
        effect: Some(test.statistic),
        effect_name: "difference_of_means",
        interval: resampled.difference(&a, &b),
        ..row
    }
    .with(&test)
}

/// The difference of means over its standard error (Welch), labels shuffled.
fn by_spread(first: &Group, second: &Group, seed: u64) -> TestRow {
    let row = head("permutation_welch", &[first, second]);
    let (a, b) = (first.numbers(), second.numbers());
    let Some(test) = studentised(&a, &b, seed) else {
        return TestRow { reason: "no spread within the groups".into(), ..row };
    };
    TestRow { statistic: Some(test.statistic), ..row }.with(&test)
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
    let stratum_of = |animal: Name| {
        let own = roster.animals.iter().find(|(name, _)| *name == animal)?;
        let level = within.level(*own.1.first()?)?;
        own.1.iter().all(|&row| within.level(row) == Some(level)).then_some(level)
    };
    let mut strata: BTreeMap<&str, [Vec<f64>; 2]> = BTreeMap::new();
    let mut lost = 0;
    for (at, group) in [first, second].into_iter().enumerate() {
        for animal in &group.values {
            match stratum_of(animal.animal) {
                Some(stratum) => strata.entry(stratum).or_default()[at].push(animal.value),
                None => lost += 1,
            }
        }
    }
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
        reason,
        ..row
    }
    .with(&test)
}
