//! Selection without preference: how often the intervals of all classes hold together.

use super::Dice;
use perchline::measures::support::selection::{Choice, fit, selected};
use perchline::survey::names::Names;
use rand_distr::{Distribution, Gamma, Poisson, StandardNormal, StandardUniform};

/// Shares of seven classes on offer in two stands, as uneven as the demo's.
const OFFERS: [[f64; 7]; 2] =
    [[0.46, 0.09, 0.14, 0.15, 0.02, 0.09, 0.05], [0.39, 0.06, 0.17, 0.19, 0.04, 0.05, 0.10]];

/// How animals without preference come by their shares.
#[derive(Clone, Copy)]
enum Use {
    /// Dirichlet shares of this total: 3 is animals that differ much, 30 little.
    Shares(f64),
    /// So many visits on average, each of exponential length.
    Visits(f64),
    /// The offer times a number of this spread on the logarithm, brought back to the offer on average.
    Tastes(f64),
}

const USES: [(&str, Use); 6] = [
    ("shares that differ much", Use::Shares(3.0)),
    ("shares that differ", Use::Shares(10.0)),
    ("shares that differ little", Use::Shares(30.0)),
    ("10 visits an animal", Use::Visits(10.0)),
    ("30 visits an animal", Use::Visits(30.0)),
    ("tastes of their own", Use::Tastes(0.7)),
];

pub(super) fn selection(studies: usize, dice: &mut Dice) {
    println!(
        "\n| no preference, 7 classes, 2 to 46 % on offer | animals | all intervals hold | a class stands \
         out | all classes, p ≤ 0.05 |\n|---|---|---|---|---|"
    );
    let names = Names::default().enter("any");
    for (name, how) in USES {
        let means = OFFERS.map(|offer| balanced(how, &offer, dice));
        for animals in [5, 8, 13, 25] {
            let (mut held, mut stands_out, mut differs) = (0_u32, 0_u32, 0_u32);
            for study in 0..studies {
                let choices: Vec<Choice> = (0..animals)
                    .map(|at: usize| Choice {
                        animal: names,
                        used_m: dice.used(how, &means[at.rem_euclid(2)]),
                        available: OFFERS[at.rem_euclid(2)].to_vec(),
                        points: None,
                    })
                    .collect();
                let choices: Vec<&Choice> = choices.iter().collect();
                let found = selected(&choices);
                let within = |[low, high]: [f64; 2]| low <= 1.0 && 1.0 <= high;
                held += u32::from(found.iter().all(|class| class.interval.is_none_or(within)));
                let clear = |p: f64| p * found.len() as f64 <= 0.05;
                stands_out += u32::from(found.iter().any(|class| class.p.is_some_and(clear)));
                // all arrangements of 13 animals take a while: every tenth study
                if study.is_multiple_of(10) {
                    let test = fit(&choices, 1);
                    differs += u32::from(test.is_some_and(|test| test.overall.p() <= 0.05));
                }
            }
            let of = |count: u32, all: usize| 100.0 * f64::from(count) / all as f64;
            println!(
                "| {name} | {animals} | {:.1} | {:.1} | {:.1} |",
                of(held, studies),
                of(stands_out, studies),
                of(differs, studies.div_ceil(10))
            );
        }
    }
}

/// What tastes must be taken about so that shares are those on offer on average.
fn balanced(how: Use, offer: &[f64], dice: &mut Dice) -> Vec<f64> {
    let mut about = offer.to_vec();
    let Use::Tastes(_) = how else { return about };
    for _ in 0..40 {
        let mut means = vec![0.0; offer.len()];
        for _ in 0..4_000 {
            let used = dice.used(how, &about);
            let total: f64 = used.iter().sum();
            means.iter_mut().zip(&used).for_each(|(mean, x)| *mean += x / total / 4_000.0);
        }
        about.iter_mut().zip(offer).zip(&means).for_each(|((x, share), mean)| *x *= share / mean);
    }
    about
}

impl Dice {
    /// Metres of one animal on each class.
    fn used(&mut self, how: Use, offer: &[f64]) -> Vec<f64> {
        match how {
            Use::Shares(total) => {
                let one = |share: &f64| Gamma::new(total * share, 1.0);
                let parts = offer.iter().filter_map(|share| one(share).ok());
                parts.map(|part| part.sample(&mut self.0)).collect()
            }
            Use::Visits(mean) => {
                let drawn = Poisson::new(mean).map_or(1.0, |visits| visits.sample(&mut self.0));
                let mut left = drawn.max(1.0);
                let mut metres = vec![0.0; offer.len()];
                while left > 0.5 {
                    left -= 1.0;
                    let length: f64 = StandardUniform.sample(&mut self.0);
                    metres[self.class(offer)] -= length.ln();
                }
                metres
            }
            Use::Tastes(spread) => {
                let taste = |share: &f64| {
                    let z: f64 = StandardNormal.sample(&mut self.0);
                    share * (spread * z).exp()
                };
                offer.iter().map(taste).collect()
            }
        }
    }

    fn class(&mut self, offer: &[f64]) -> usize {
        let mut at: f64 = StandardUniform.sample(&mut self.0);
        let below = |share: &f64| {
            at -= share;
            at < 0.0
        };
        offer.iter().position(below).unwrap_or(0)
    }
}
