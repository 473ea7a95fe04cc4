//! How often intervals about animals hold, and whether they agree with their tests: made-up studies of
//! known truth.
//!
//! `cargo run --release --example studies -- [STUDIES]` prints the tables of `docs/accuracy.md`. Values are
//! drawn, not measured on trails: what is tried is the interval.

#![expect(clippy::print_stdout, reason = "a measuring program")]

mod families;
mod selection;

use perchline::maths::statistics::chance::Chance;
use perchline::maths::statistics::means::interval_of_mean;
use perchline::maths::statistics::permutation::{
    interval_of_difference, interval_of_pairs, signs, studentised,
};
use rand_distr::{Distribution, Exp1, Gamma, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// Of the first study.
const SEED: u64 = 300_001;

/// How the values of animals are spread about a true mean of 0.
#[derive(Clone, Copy)]
enum Spread {
    Normal,
    /// A gamma number of shape 4: skewness 1.
    Skewed,
    /// An exponential number: skewness 2.
    VerySkewed,
}

const SPREADS: [(&str, Spread); 3] = [
    ("normal", Spread::Normal),
    ("skewed (gamma of shape 4)", Spread::Skewed),
    ("very skewed (exponential)", Spread::VerySkewed),
];

struct Dice(Xoshiro256PlusPlus);

impl Dice {
    /// The numbers below `n` in any order.
    fn shuffled(&mut self, n: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..n).collect();
        Chance::new(self.0.next_u64()).choose(&mut order, n);
        order
    }

    fn values(&mut self, n: usize, spread: Spread) -> Vec<f64> {
        (0..n).map(|_| self.value(spread)).collect()
    }

    fn value(&mut self, spread: Spread) -> f64 {
        let rng = &mut self.0;
        match spread {
            Spread::Normal => StandardNormal.sample(rng),
            Spread::Skewed => {
                Gamma::new(4.0, 1.0).map_or(f64::NAN, |gamma| gamma.sample(rng)) - 4.0
            }
            Spread::VerySkewed => {
                let one: f64 = Exp1.sample(rng);
                one - 1.0
            }
        }
    }
}

fn main() {
    let studies = std::env::args().nth(1).and_then(|text| text.parse().ok()).unwrap_or(10_000);
    let mut dice = Dice(Xoshiro256PlusPlus::seed_from_u64(SEED));
    means(studies, &mut dice);
    differences(studies, &mut dice);
    pairs(studies, &mut dice);
    families::families(studies.div_ceil(5), &mut dice);
    families::factors(studies.div_ceil(5), &mut dice);
    selection::selection(studies, &mut dice);
}

fn means(studies: usize, dice: &mut Dice) {
    println!("| mean of | 3 | 5 | 8 | 12 |\n|---|---|---|---|---|");
    for (name, spread) in SPREADS {
        let held = [3, 5, 8, 12].map(|n| {
            let holds = |_: &usize| {
                let sample = dice.values(n, spread);
                interval_of_mean(&sample).is_some_and(|[low, high]| low <= 0.0 && 0.0 <= high)
            };
            100.0 * (0..studies).filter(holds).count() as f64 / studies as f64
        });
        println!("| {name} | {:.1} | {:.1} | {:.1} | {:.1} |", held[0], held[1], held[2], held[3]);
    }
}

fn differences(studies: usize, dice: &mut Dice) {
    println!(
        "\n| difference of | animals | held | p and interval contradict each other |\n|---|---|---|---|"
    );
    for (name, spread) in SPREADS {
        for [first, second] in [[3, 12], [4, 4], [5, 8], [7, 8]] {
            let (mut held, mut contradict) = (0_u32, 0);
            for _ in 0..studies {
                let a: Vec<f64> = dice.values(first, spread);
                let b: Vec<f64> = dice.values(second, spread);
                let interval = interval_of_difference(&a, &b, 1);
                let leaves_out = interval.is_some_and(|[low, high]| low > 0.0 || high < 0.0);
                let refused = studentised(&a, &b, 1).is_some_and(|found| found.p() <= 0.05);
                held += u32::from(!leaves_out);
                contradict += u32::from(leaves_out != refused);
            }
            let held = 100.0 * f64::from(held) / studies as f64;
            println!("| {name} | {first} and {second} | {held:.1} | {contradict} |");
        }
    }
}

fn pairs(studies: usize, dice: &mut Dice) {
    println!(
        "\n| mean of differences within | pairs | held | p and interval contradict |\n|---|---|---|---|"
    );
    for (name, spread) in [SPREADS[0]] {
        for n in [6, 8, 12] {
            let (mut held, mut contradict) = (0_u32, 0);
            for _ in 0..studies {
                let sample = dice.values(n, spread);
                let interval = interval_of_pairs(&sample, 1);
                let leaves_out = interval.is_some_and(|[low, high]| low > 0.0 || high < 0.0);
                let refused = signs(&sample, 1).is_some_and(|found| found.p() <= 0.05);
                held += u32::from(!leaves_out);
                contradict += u32::from(leaves_out != refused);
            }
            println!(
                "| {name} | {n} | {:.1} | {contradict} |",
                100.0 * f64::from(held) / studies as f64
            );
        }
    }
}
