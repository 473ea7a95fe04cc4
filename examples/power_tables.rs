//! Tables of power and width: how the rules of the comparison serve studies of a few animals.
//!
//! `cargo run --release --example power_tables -- power` prints the first table of "How many animals" in
//! `docs/accuracy.md`, `… -- pairs`, `… -- width` and `… -- misjudged` those after it; `full`, `level`, `needed`,
//! `pilot` and `skewed` what stands in the docs of `statistics::power` besides. Values are invented and normal
//! but for those of `skewed`.

#![expect(
    clippy::print_stdout,
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::too_many_lines,
    reason = "a measuring program"
)]

use perchline::maths::statistics::chance::Chance;
use perchline::maths::statistics::describe::sd;
use perchline::maths::statistics::interval::{normal_cdf, normal_quantile};
use perchline::maths::statistics::permutation::{
    interval_of_difference, interval_of_pairs, signs, studentised,
};
use perchline::maths::statistics::power::{
    Aim, Design, PairedDesign, PilotValue, Spread, animals_needed, expected, expected_of_pairs,
    power, power_of_pairs, spread_of_pilot, upper_factor,
};
use std::env::args;
use std::time::Instant;

const UNIT: Spread = Spread { animal: 1.0, night: Some(0.0), measurement: 0.0 };

fn main() {
    let which = args().nth(1).unwrap_or_default();
    match which.as_str() {
        "power" => power_table(),
        "pairs" => pairs_table(),
        "width" => width_table(),
        "needed" => needed_table(),
        "full" => full(),
        "pilot" => pilots(),
        "misjudged" => misjudged(),
        "skewed" => skewed(),
        "level" => levels(),
        _ => println!("power | pairs | width | needed | full | pilot | misjudged | skewed | level"),
    }
}

fn power_table() {
    for sizes in [
        [393, 393],
        [64, 64],
        [26, 26],
        [20, 8],
        [10, 10],
        [10, 5],
        [6, 6],
        [5, 5],
        [4, 4],
        [3, 12],
        [3, 8],
        [3, 4],
        [3, 3],
        [2, 5],
    ] {
        let start = Instant::now();
        let found: Vec<String> = [0.0, 0.2, 0.5, 0.8, 1.0, 1.5, 2.0, 3.0]
            .iter()
            .map(|&difference| {
                let p = power(&Design { sizes, nights: 1, difference, spread: UNIT }, 1).unwrap();
                format!("{difference}: {:.3}", p.power)
            })
            .collect();
        println!("{sizes:?} {found:?} {:.2} s", start.elapsed().as_secs_f64() / 8.0);
    }
}

fn pairs_table() {
    for pairs in [5, 6, 7, 8, 10, 12, 15, 20, 34] {
        let start = Instant::now();
        let of = |difference: f64| PairedDesign {
            pairs,
            nights: 1,
            difference,
            spread: Spread { animal: 1.0, night: Some(0.0), measurement: 0.0 },
            response: 1.0,
        };
        let found: Vec<String> = [0.0, 0.5, 1.0, 1.5, 2.0]
            .iter()
            .map(|&d| format!("{d}: {:.3}", power_of_pairs(&of(d), 1).unwrap().power))
            .collect();
        let wide = expected_of_pairs(&of(1.0), 1).unwrap();
        println!("{pairs} {found:?} {:?} {:.2} s", wide.difference, start.elapsed().as_secs_f64());
    }
}

fn width_table() {
    for sizes in [
        [50, 50],
        [20, 8],
        [10, 10],
        [10, 5],
        [6, 6],
        [5, 5],
        [4, 4],
        [3, 12],
        [3, 8],
        [3, 4],
        [3, 3],
        [2, 5],
    ] {
        let start = Instant::now();
        let found =
            expected(&Design { sizes, nights: 1, difference: 1.0, spread: UNIT }, 1).unwrap();
        println!(
            "{sizes:?} means {:?} difference {:?} {:.2} s",
            found.means,
            found.difference,
            start.elapsed().as_secs_f64()
        );
    }
}

fn needed_table() {
    for ratio in [1.0, 0.5] {
        for difference in [0.5, 0.8, 1.0, 1.5, 2.0] {
            let start = Instant::now();
            let found: Vec<_> = (1..=3)
                .map(|seed| {
                    animals_needed(&UNIT, &Aim { difference, nights: 1, ratio, power: 0.8 }, seed)
                        .map(|n| (n.sizes, n.power.power))
                })
                .collect();
            println!(
                "ratio {ratio} d {difference}: {found:?} {:.2} s each",
                start.elapsed().as_secs_f64() / 3.0
            );
        }
    }
}

/// The short test against the tests themselves, the same studies given to both.
fn full() {
    let mut chance = Chance::new(99);
    let mut group = |n: usize, mean: f64| -> Vec<f64> {
        (0..n)
            .map(|_| {
                mean + normal_quantile((chance.below(1 << 30) as f64 + 0.5) / f64::from(1 << 30))
            })
            .collect()
    };
    for (sizes, difference) in [([5, 5], 1.5), ([10, 5], 1.5), ([3, 12], 1.5), ([10, 10], 1.0)] {
        let studies = if sizes == [10, 10] { 1_500 } else { 10_000 };
        let pairs: Vec<_> =
            (0..studies).map(|_| (group(sizes[0], difference), group(sizes[1], 0.0))).collect();
        let start = Instant::now();
        let refused =
            pairs.iter().filter(|(a, b)| studentised(a, b, 1).unwrap().p() <= 0.05).count();
        println!(
            "{sizes:?} {difference}: whole test {:.4}, {:.1} s",
            refused as f64 / f64::from(studies),
            start.elapsed().as_secs_f64()
        );
        let mut widths: Vec<f64> = pairs
            .iter()
            .take(300)
            .filter_map(|(a, b)| interval_of_difference(a, b, 1))
            .map(|[l, h]| h - l)
            .collect();
        widths.sort_by(f64::total_cmp);
        println!(
            "   width {:.3} ninetieth {:.3} of {}",
            widths.iter().sum::<f64>() / widths.len() as f64,
            widths[widths.len() * 9 / 10],
            widths.len()
        );
    }
    for (n, difference) in [(8, 1.0), (15, 0.8)] {
        let all: Vec<_> = (0..1_500).map(|_| group(n, difference)).collect();
        let refused = all.iter().filter(|d| signs(d, 1).unwrap().p() <= 0.05).count();
        let mut widths: Vec<f64> = all
            .iter()
            .take(100)
            .filter_map(|d| interval_of_pairs(d, 1))
            .map(|[l, h]| h - l)
            .collect();
        widths.sort_by(f64::total_cmp);
        println!(
            "pairs {n} {difference}: whole test {:.4}; width {:.3}",
            refused as f64 / 1_500.0,
            widths.iter().sum::<f64>() / widths.len() as f64
        );
    }
}

fn normal(chance: &mut Chance) -> f64 {
    normal_quantile((chance.below(1 << 30) as f64 + 0.5) / f64::from(1 << 30))
}

/// Level over several seeds.
fn levels() {
    for sizes in [[6, 6], [5, 5], [10, 5], [10, 10], [3, 12]] {
        let found: f64 = (1..=8)
            .map(|seed| {
                power(&Design { sizes, nights: 1, difference: 0.0, spread: UNIT }, seed)
                    .unwrap()
                    .power
            })
            .sum();
        println!("{sizes:?} {:.4}", found / 8.0);
    }
}

/// How often each part of the spread is set to zero or lies within a third of the truth, and how often the
/// upper limit holds: equal nights, and nights of 1, 2, 3 and 4 in turn.
fn pilots() {
    const PILOTS: usize = 10_000;
    let mut chance = Chance::new(3);
    for animals in [4, 5, 6, 12] {
        for nights in [1, 2, 3, 0] {
            for night_sd in [0.5, 1.0, 2.0] {
                let mut counts = [0; 9];
                let plans = [1, 2, 3, 5, 10];
                for _ in 0..PILOTS {
                    let mut values = Vec::new();
                    for animal in 0..animals {
                        let own = normal(&mut chance);
                        let count = if nights == 0 { 1 + animal % 4 } else { nights };
                        for night in 0..count {
                            let se = 0.3 + 0.1 * (night as f64);
                            let value =
                                own + night_sd * normal(&mut chance) + se * normal(&mut chance);
                            values.push(PilotValue {
                                group: 0,
                                animal,
                                night,
                                value,
                                se: Some(se),
                            });
                        }
                    }
                    let pilot = spread_of_pilot(&values).unwrap();
                    let found = pilot.spread;
                    counts[0] += usize::from(found.animal == 0.0);
                    counts[1] += usize::from(found.night == Some(0.0));
                    counts[2] += usize::from((found.animal - 1.0).abs() < 1.0 / 3.0);
                    for (at, plan) in plans.into_iter().enumerate() {
                        let truth = Spread {
                            animal: 1.0,
                            night: Some(night_sd),
                            measurement: found.measurement,
                        }
                        .of_animal(plan);
                        counts[3 + at] +=
                            usize::from(pilot.upper(plan).unwrap().of_animal(plan) >= truth);
                    }
                    counts[8] += usize::from(
                        pilot.upper_of_nights().is_some_and(|s| s.night >= Some(night_sd)),
                    );
                }
                let shares: Vec<String> =
                    counts.iter().map(|c| format!("{:.3}", *c as f64 / PILOTS as f64)).collect();
                println!(
                    "animals {animals} nights {nights} night sd {night_sd}: animal zero, night zero, within third, upper for {plans:?}, of nights: {shares:?}"
                );
            }
        }
    }
}

/// What a design planned by a pilot's standard deviation really has for power: one group size.
fn misjudged() {
    let truth = 1.5;
    let grid: Vec<f64> = (0..=36).map(|at| 0.45 * 1.07_f64.powi(at)).collect();
    let needed: Vec<Option<usize>> = grid
        .iter()
        .map(|&difference| {
            animals_needed(&UNIT, &Aim { difference, nights: 1, ratio: 1.0, power: 0.8 }, 1)
                .map(|n| n.sizes[0])
        })
        .collect();
    println!("{:?}", grid.iter().zip(&needed).collect::<Vec<_>>());
    let real: Vec<f64> = (0..=100)
        .map(|n| {
            if n < 3 {
                0.0
            } else {
                power(&Design { sizes: [n, n], nights: 1, difference: truth, spread: UNIT }, 2)
                    .unwrap()
                    .power
            }
        })
        .collect();
    let plan = |sd: f64| {
        let at = ((truth / sd / 0.45).ln() / 1.07_f64.ln()).floor();
        if at < 0.0 { 101 } else { needed[(at as usize).min(36)].unwrap_or(101) }
    };
    let mut chance = Chance::new(8);
    for animals in [4, 5, 6, 10, 20] {
        for factor in [1.0, upper_factor(animals - 1).unwrap().sqrt()] {
            let (mut powers, mut sizes) = (Vec::new(), Vec::new());
            for _ in 0..20_000 {
                let values: Vec<f64> = (0..animals).map(|_| normal(&mut chance)).collect();
                let n = plan(factor * sd(&values).unwrap());
                powers.push(real[n.min(100)]);
                sizes.push(n as f64);
            }
            powers.sort_by(f64::total_cmp);
            sizes.sort_by(f64::total_cmp);
            let enough = powers.iter().filter(|p| **p >= 0.79).count() as f64 / 20_000.0;
            println!(
                "pilot {animals} factor {factor:.2}: power mean {:.2}, tenth {:.2}, enough {enough:.2}; animals of each: median {}, ninetieth {}, over 100 {:.3}",
                powers.iter().sum::<f64>() / 20_000.0,
                powers[2_000],
                sizes[10_000],
                sizes[18_000],
                sizes.iter().filter(|n| **n > 100.0).count() as f64 / 20_000.0
            );
        }
    }
    println!("true n {:?}", real.iter().position(|p| *p >= 0.8));
}

/// The tests themselves over skewed values of the same standard deviation: exponential, shifted by the
/// difference, and log-normal in proportion (the group of the greater mean is more spread out).
fn skewed() {
    let mut chance = Chance::new(12);
    for sizes in [[5, 5], [10, 5], [5, 10], [3, 12], [12, 3]] {
        for difference in [0.0, 1.0, 2.0] {
            let mut counts = [0; 3];
            for _ in 0..2_000 {
                let mut draw =
                    |n: usize| -> Vec<f64> { (0..n).map(|_| normal(&mut chance)).collect() };
                let (a, b) = (draw(sizes[0]), draw(sizes[1]));
                let exponential = |z: f64| -normal_cdf(-z).ln() - 1.0;
                let log = |z: f64| (0.6 * z).exp(); // mean 1.197, sd 0.787
                let shifted: Vec<f64> = a.iter().map(|z| z + difference).collect();
                let expo: Vec<f64> = a.iter().map(|z| exponential(*z) + difference).collect();
                let expo_b: Vec<f64> = b.iter().map(|z| exponential(*z)).collect();
                let grown = 1.0 + difference * 0.787 / 1.197;
                let prop: Vec<f64> = a.iter().map(|z| grown * log(*z)).collect();
                let prop_b: Vec<f64> = b.iter().map(|z| log(*z)).collect();
                for (count, (a, b)) in
                    counts.iter_mut().zip([(&shifted, &b), (&expo, &expo_b), (&prop, &prop_b)])
                {
                    *count += usize::from(studentised(a, b, 1).unwrap().p() <= 0.05);
                }
            }
            let shares = counts.map(|c| c as f64 / 2_000.0);
            println!(
                "{sizes:?} {difference}: normal {:.3} exponential {:.3} log-normal in proportion {:.3}",
                shares[0], shares[1], shares[2]
            );
        }
    }
}
