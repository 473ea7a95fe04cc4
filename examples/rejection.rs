//! How often each test finds a difference where there is none: the table of `docs/accuracy.md`.
//!
//! `cargo run --release --example rejection -- 10000`

#![expect(clippy::print_stdout, reason = "the table is the result")]

use perchline::maths::statistics::circular::MeanVector;
use perchline::maths::statistics::interval::chi_square_upper;
use perchline::maths::statistics::permutation::{difference_of_means, signs, studentised};
use perchline::maths::statistics::rank::{kruskal_wallis, mann_whitney, spearman};
use perchline::measures::support::selection::{Choice, fit};
use perchline::survey::names::Names;
use rand_distr::{Distribution, Gamma, LogNormal, StandardNormal, StandardUniform};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use std::f64::consts::TAU;

const LEVEL: f64 = 0.05;
/// Mean share of each of four supports, and how alike animals are (the Dirichlet's total).
const SHARES: [f64; 4] = [0.5, 0.25, 0.15, 0.1];
const ALIKE: f64 = 10.0;

/// How the values of animals come about; never with a true difference of means.
#[derive(Clone, Copy)]
enum World {
    /// All animals from one bell.
    Normal,
    /// All from one long-tailed distribution, as metres are.
    LongTailed,
    /// Each animal the mean of one to three trails: means of unequal spread.
    UnequalTrails,
    /// One group twice as spread out, the smaller one.
    SmallGroupSpread,
    /// The same, the larger one.
    LargeGroupSpread,
}

const WORLDS: [(World, &str); 5] = [
    (World::Normal, "normal"),
    (World::LongTailed, "long-tailed"),
    (World::UnequalTrails, "one to three trails an animal"),
    (World::SmallGroupSpread, "smaller group twice as spread out"),
    (World::LargeGroupSpread, "larger group twice as spread out"),
];

struct Invented(Xoshiro256PlusPlus);

impl Invented {
    fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.0)
    }

    fn even(&mut self) -> f64 {
        StandardUniform.sample(&mut self.0)
    }

    fn group(&mut self, world: World, n: usize, first: bool) -> Vec<f64> {
        let tail = LogNormal::new(0.0, 0.8).unwrap_or_else(|_| unreachable!());
        (0..n)
            .map(|_| match world {
                World::Normal => self.normal(),
                World::LongTailed => tail.sample(&mut self.0),
                World::UnequalTrails => {
                    let trails = 1.0 + (3.0 * self.even()).floor();
                    self.normal() * (0.25 + 1.0 / trails).sqrt()
                }
                World::SmallGroupSpread => self.normal() * if first { 2.0 } else { 1.0 },
                World::LargeGroupSpread => self.normal() * if first { 1.0 } else { 2.0 },
            })
            .collect()
    }

    /// One animal's shares of the supports about the common mean.
    fn shares(&mut self) -> Vec<f64> {
        let part = |share: &f64| Gamma::new(ALIKE * share, 1.0);
        let parts: Vec<f64> =
            SHARES.iter().filter_map(|s| part(s).ok()).map(|g| g.sample(&mut self.0)).collect();
        let total: f64 = parts.iter().sum();
        parts.iter().map(|part| part / total).collect()
    }

    /// Metres of one animal on each support, metre by metre.
    fn metres(&mut self) -> Vec<f64> {
        let shares = self.shares();
        let mut metres = vec![0.0; shares.len()];
        let length = 40.0 + 80.0 * self.even();
        let mut walked = 0.0;
        while walked < length {
            let mut at = self.even();
            let class = shares.iter().position(|share| {
                at -= share;
                at < 0.0
            });
            metres[class.unwrap_or(0)] += 1.0;
            walked += 1.0;
        }
        metres
    }
}

/// How often `test` gives p at or below the level, in per cent.
fn rejected(times: usize, mut test: impl FnMut(u64) -> Option<f64>) -> String {
    let hits = (0..times).filter(|at| test(*at as u64).is_some_and(|p| p <= LEVEL + 1e-12)).count();
    format!("{:.1}", 100.0 * hits as f64 / times as f64)
}

/// The chi-squared test of a table of metres, each counted as if it were an animal.
fn metre_counting(groups: &[Vec<f64>; 2]) -> f64 {
    let total: f64 = groups.iter().flatten().sum();
    let mut statistic = 0.0;
    for group in groups {
        let own: f64 = group.iter().sum();
        for (class, metres) in group.iter().enumerate() {
            let expected = own * groups.iter().map(|g| g[class]).sum::<f64>() / total;
            statistic += (metres - expected).powi(2) / expected;
        }
    }
    chi_square_upper(statistic, (SHARES.len() - 1) as f64)
}

fn between_groups(times: usize, invented: &mut Invented) {
    println!("| values | labels shuffled, by | 4+10 | 5+9 | 8+8 |\n|---|---|---|---|---|");
    for (world, name) in WORLDS {
        for test in ["difference of means", "Welch's t", "Mann-Whitney"] {
            let cells = [(4, 10), (5, 9), (8, 8)].map(|(n1, n2)| {
                rejected(times, |seed| {
                    let (a, b) =
                        (invented.group(world, n1, true), invented.group(world, n2, false));
                    let found = match test {
                        "Mann-Whitney" => mann_whitney(&a, &b, seed).map(|found| found.test),
                        "Welch's t" => studentised(&a, &b, seed),
                        _ => difference_of_means(&a, &b, seed),
                    };
                    found.map(|found| found.p())
                })
            });
            println!("| {name} | {test} | {} |", cells.join(" | "));
        }
    }
}

fn others(times: usize, invented: &mut Invented) {
    println!("\n| test | animals | rejected, % |\n|---|---|---|");
    let few = (times / 5).max(1);
    let kruskal = rejected(few, |seed| {
        let groups: Vec<_> = (0..3).map(|_| invented.group(World::LongTailed, 4, true)).collect();
        kruskal_wallis(&groups, seed).map(|found| found.test.p())
    });
    println!("| Kruskal-Wallis | 4+4+4 | {kruskal} |");
    let rank = rejected(few, |seed| {
        let (x, y) =
            (invented.group(World::LongTailed, 13, true), invented.group(World::Normal, 13, true));
        spearman(&x, &y, seed).map(|(_, found)| found.p())
    });
    println!("| Spearman (drawn shuffles) | 13 | {rank} |");
    let paired = rejected(times, |seed| {
        signs(&invented.group(World::Normal, 8, true), seed).map(|found| found.p())
    });
    println!("| pairs, signs shuffled | 8 | {paired} |");
    for n in [8, 13] {
        let mut vector =
            || MeanVector::of((0..n).map(|_| TAU * invented.even()).collect::<Vec<_>>());
        let rayleigh = rejected(times, |_| vector().rayleigh_p());
        let v_test = rejected(times, |_| vector().v_test(1.0).map(|found| found.p));
        println!("| Rayleigh | {n} | {rayleigh} |\n| V-test | {n} | {v_test} |");
    }
    let animal = Names::default().enter("any");
    for n in [8, 13] {
        let selection = rejected(few, |seed| {
            let choices: Vec<Choice> = (0..n)
                .map(|_| Choice {
                    animal,
                    used_m: invented.shares(),
                    available: SHARES.to_vec(),
                    points: None,
                })
                .collect();
            fit(&choices.iter().collect::<Vec<_>>(), seed).map(|found| found.overall.p())
        });
        println!("| selection, signs of animals shuffled | {n} | {selection} |");
    }
}

fn metres(times: usize, invented: &mut Invented) {
    println!("\n| animals | metres counted, chi-squared | trunk share, animals shuffled |");
    println!("|---|---|---|");
    for (n1, n2) in [(4, 10), (5, 9), (8, 8)] {
        let mut drawn = |n: usize| (0..n).map(|_| invented.metres()).collect::<Vec<_>>();
        let pooled = |animals: &[Vec<f64>]| -> Vec<f64> {
            (0..SHARES.len()).map(|class| animals.iter().map(|a| a[class]).sum()).collect()
        };
        let counted =
            rejected(times, |_| Some(metre_counting(&[pooled(&drawn(n1)), pooled(&drawn(n2))])));
        let share = |metres: &Vec<f64>| metres[0] / metres.iter().sum::<f64>();
        let shuffled = rejected(times, |seed| {
            let [a, b] = [n1, n2].map(|n| drawn(n).iter().map(share).collect::<Vec<_>>());
            difference_of_means(&a, &b, seed).map(|found| found.p())
        });
        println!("| {n1}+{n2} | {counted} | {shuffled} |");
    }
}

fn main() {
    let times = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(10_000);
    let mut invented = Invented(Xoshiro256PlusPlus::seed_from_u64(20_251_125));
    between_groups(times, &mut invented);
    others(times, &mut invented);
    metres(times, &mut invented);
}
