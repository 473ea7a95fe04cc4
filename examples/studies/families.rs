//! Studies in which nothing differs: how often a difference is claimed.

use super::{Dice, SPREADS, Spread};
use perchline::maths::statistics::permutation::{several_groups, studentised, two_groups};

/// How much the metrics of one animal have in common.
const COMMON: f64 = 0.5;
const METRICS: usize = 8;

pub(super) fn families(studies: usize, dice: &mut Dice) {
    println!(
        "\n| nothing differs, 8 questions | animals | some p ≤ 0.05 | some adjusted p ≤ 0.05 |\n\
         |---|---|---|---|"
    );
    for (name, spread) in SPREADS {
        for sizes in [vec![10, 3], vec![5, 5], vec![8, 7], vec![5, 4, 4]] {
            let (mut alone, mut together) = (0_u32, 0_u32);
            for _ in 0..studies {
                let (one, all) = claims(&values(sizes.iter().sum(), spread, dice), &sizes);
                alone += u32::from(one);
                together += u32::from(all);
            }
            let of = |count: u32| 100.0 * f64::from(count) / studies as f64;
            let sizes: Vec<String> = sizes.iter().map(usize::to_string).collect();
            println!("| {name} | {} | {:.1} | {:.1} |", sizes.join(" + "), of(alone), of(together));
        }
    }
}

/// Metrics × animals.
fn values(animals: usize, spread: Spread, dice: &mut Dice) -> Vec<Vec<Option<f64>>> {
    let shared = dice.values(animals, spread);
    let one = |shared: &f64, own: f64| Some(COMMON.sqrt() * shared + (1.0 - COMMON).sqrt() * own);
    (0..METRICS)
        .map(|_| {
            let own = dice.values(animals, spread);
            shared.iter().zip(own).map(|(shared, own)| one(shared, own)).collect()
        })
        .collect()
}

/// Whether any p is low by itself, and any after allowing for all.
fn claims(values: &[Vec<Option<f64>>], sizes: &[usize]) -> (bool, bool) {
    let tests = if let [first, _] = sizes {
        let is_first: Vec<bool> = (0..values[0].len()).map(|at| at < *first).collect();
        two_groups(values, &is_first, 1)
    } else {
        let group = |(at, n): (usize, &usize)| std::iter::repeat_n(at, *n);
        several_groups(values, &sizes.iter().enumerate().flat_map(group).collect::<Vec<_>>(), 1)
    };
    let tests: Vec<_> = tests.into_iter().flatten().collect();
    (tests.iter().any(|test| test.p <= 0.05), tests.iter().any(|test| test.p_adjusted <= 0.05))
}

/// One asked factor of three: what was claimed when every factor was tested by itself, and what is now.
pub(super) fn factors(studies: usize, dice: &mut Dice) {
    let (mut unasked, mut asked) = (0_u32, 0_u32);
    for _ in 0..studies {
        let values = values(13, Spread::Skewed, dice);
        let mut claimed = false;
        for (at, first) in [10, 5, 7].into_iter().enumerate() {
            let order: Vec<usize> = dice.shuffled(13);
            let is_first: Vec<bool> = order.iter().map(|place| *place < first).collect();
            let part = |metric: &Vec<Option<f64>>, own: bool| -> Vec<f64> {
                let pairs = metric.iter().zip(&is_first);
                pairs.filter(|(_, is)| **is == own).filter_map(|(value, _)| *value).collect()
            };
            claimed |= values.iter().any(|metric| {
                let test = studentised(&part(metric, true), &part(metric, false), 1);
                test.is_some_and(|test| test.p() <= 0.05)
            });
            if at == 0 {
                let tests = two_groups(&values, &is_first, 1);
                asked += u32::from(tests.iter().flatten().any(|test| test.p_adjusted <= 0.05));
            }
        }
        unasked += u32::from(claimed);
    }
    let of = |count: u32| 100.0 * f64::from(count) / studies as f64;
    println!(
        "\n| 13 animals, three columns that mean nothing, 8 questions | *differ* said |\n|---|---|\n\
         | every column tested, each p by itself | {:.1} |\n| one column asked for, p allowing for 8 | \
         {:.1} |",
        of(unasked),
        of(asked)
    );
}
