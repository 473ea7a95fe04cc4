//! How many animals, and how many nights of each, a comparison needs: asked before the field.
//!
//! In: a [`Spread`] (stated, or from a pilot by [`spread_of_pilot`]), animals of each group, nights, the true
//! difference, and a seed. Out: the power, and how wide the 95 % intervals of means and difference turn
//! out ([`expected`]); the fewest animals ([`animals_needed`]); the least difference ([`detectable()`]); the same
//! of pairs ([`expected_of_pairs`]).
//! Made-up studies are judged by the rules that real ones are judged by here:
//! [`interval_of_mean`] of one value an animal,
//! [`studentised`](super::permutation::studentised) and its inverted interval,
//! [`signs`](super::permutation::signs) of pairs. Shortened: [`DRAWS`] arrangements are drawn where there are
//! more than [`MOST_GONE_THROUGH`] (for an interval, more than [`DRAWS`]). Of 5,500 studies (8 + 7, 10 + 10, 13
//! pairs) the whole test judged 102 otherwise, and saw a difference in 12 more of all, 0.002 of power; widths
//! come out 0.1 to 0.4 % too wide.
//! Assumes normal values, the same spread in both groups, animals that do not tell of each other, as many
//! nights of each (of unequal numbers take the harmonic mean). Left out: nights that all animals share.
//!
//! Power here and by noncentral t (Monte Carlo error 0.01; differences in standard deviations of an
//! animal's mean). Equal groups of five and more have nearly the power of t, as
//! [`Source::Cohen1988`](crate::survey::sources::Source::Cohen1988) tables it: 0.80 for 393, 64 and 26 animals of each
//! at 0.2, 0.5 and 0.8, here 0.797, 0.804 and 0.821. A small group beside a large one has not: it is asked
//! for its own spread, which three animals hardly tell.
//!
//! ```text
//! animals    0.5          1            1.5          2            by chance (0)
//!            here   t     here   t     here   t     here   t     here
//! 20 + 8     0.20  0.21   0.61  0.63   0.91  0.93   0.99  1.00   0.050
//! 10 + 10    0.19  0.19   0.57  0.56   0.89  0.89   0.99  0.99   0.051
//! 10 + 5     0.13  0.14   0.36  0.39   0.68  0.72   0.90  0.92   0.048
//!  6 + 6     0.13  0.12   0.35  0.35   0.65  0.65   0.88  0.88   0.051
//!  5 + 5     0.10  0.11   0.28  0.29   0.54  0.55   0.78  0.79   0.047
//!  4 + 4     0.06  0.09   0.15  0.22   0.29  0.43   0.50  0.66   0.028
//!  3 + 12    0.10  0.11   0.21  0.30   0.37  0.58   0.53  0.82   0.046
//!  3 + 4     0.05  0.08   0.10  0.19   0.20  0.36   0.33  0.56   0.028
//!  3 + 3     0            0            0            0            0      p is never below 0.1
//! 10 pairs   0.30  0.29   0.79  0.80   0.99  0.99                0.051
//!  6 pairs   0.11  0.17   0.37  0.51   0.66  0.83                0.030  five: never below 0.06
//! ```
//!
//! Widths, average and nine in ten below, in the same unit: the mean of 3 animals 7.8 and 14.5, of 5 3.5 and
//! 6.0, of 10 1.56 and 2.1, of 20 0.94 and 1.14; the difference of 3 + 12 4.5 and 7.8, of 5 + 5 2.9 and 4.0,
//! of 10 + 5 2.5 and 3.4, of 10 + 10 1.85 and 2.3.
//!
//! Wrong where values are skewed: of exponential ones with a difference of 1 the power is 0.40 rather than
//! 0.27 (5 + 5), but 0.09 rather than 0.21 where the greater mean is that of 3 beside 12. Worst where spread
//! grows with the mean and the smaller group has the greater one: log-normal (coefficient of variation 0.66), 2
//! deviations of the other group apart, 0.34 rather than 0.88 (5 beside 10) and 0.07 rather than 0.53 (3 beside
//! 12); turned about, 0.71 and 0.55. Plan such a metric on its logarithm.
//!
//! A pilot's spread is itself an estimate. Two groups 1.5 apart need 9 animals each for a power of 0.8; planned
//! by the spread that a pilot happens to find, they have that power in 41 to 43 of 100 surveys (pilots of 4
//! to 6 animals), 0.71 to 0.75 on average, and 0.29 to 0.53 in the worst tenth. Planned by [`Pilot::upper`] they
//! have it in 81 of 100, at a median of 18, 17 and 15 animals each rather than 7 or 8.

mod detectable;
mod needed;
mod pairs;
mod shuffled;
mod signed;
mod spread;
mod studies;
mod tally;

pub use detectable::{detectable, detectable_of_pairs};
pub use needed::{Aim, MOST_ANIMALS, Needed, PairedAim, animals_needed, pairs_needed};
pub use pairs::{
    ExpectedOfPairs, PairedDesign, expected_of_pairs, least_p_of_pairs, power_of_pairs,
};
pub use spread::{Pilot, PilotValue, Spread, UPPER, spread_of_pilot, upper_factor};
pub use studies::{STUDIES, STUDIES_OF_WIDTH};
pub use tally::{DRAWS, MOST_GONE_THROUGH};

use super::describe::{mean, quantile};
use super::means::interval_of_mean;
use super::permutation::arrangements;
use shuffled::{refuses, width_of_difference};
use studies::{Of, animals, chance_of};

/// Two groups as they are planned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Design {
    /// Animals of each group.
    pub sizes: [usize; 2],
    /// Nights of each animal.
    pub nights: usize,
    /// The true difference first − second that the survey is to see, in the unit of the metric.
    pub difference: f64,
    /// The spread within either group.
    pub spread: Spread,
}

/// The chance that p comes to 0.05 or less.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Power {
    /// The chance, from 0 to 1.
    pub power: f64,
    /// Its Monte Carlo standard error.
    pub standard_error: f64,
    /// The least p that these numbers of animals can give: above 0.05 no difference is ever seen.
    pub least_p: f64,
}

/// How wide 95 % intervals turn out, from end to end, in the unit of the metric.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Width {
    /// On average.
    pub mean: f64,
    /// The width that nine in ten studies stay below.
    pub ninetieth: f64,
}

/// What a study of two groups can be expected to tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expected {
    /// The interval of the mean of each group; `None` of fewer than three animals.
    pub means: [Option<Width>; 2],
    /// The interval of the difference; `None` where no difference can be refused.
    pub difference: Option<Width>,
    /// The power.
    pub power: Power,
}

/// The widths and the power of a design. `None` where a group has fewer than two animals, there is no
/// night, or the numbers give no spread.
pub fn expected(design: &Design, seed: u64) -> Option<Expected> {
    let power = power(design, seed)?;
    let sd = design.spread.of_animal(design.nights)?;
    let [n1, n2] = design.sizes;
    let of_difference = || {
        let each = (0..STUDIES_OF_WIDTH).map(|study| {
            let [first, second] = groups(design.sizes, 0.0, seed, study);
            width_of_difference(&first, &second, &mut chance_of(seed, study, Of::Arrangements))
        });
        Width::of(each.collect::<Option<Vec<f64>>>()?, sd)
    };
    Some(Expected {
        means: [of_mean(Of::First, n1, sd, seed), of_mean(Of::Second, n2, sd, seed)],
        difference: if power.least_p > LEVEL { None } else { of_difference() },
        power,
    })
}

/// The width of the interval of the mean of one group of animals. `None` of fewer than three animals,
/// without a night, and where the numbers give no spread.
pub fn width_of_mean(count: usize, spread: &Spread, nights: usize, seed: u64) -> Option<Width> {
    let sd = spread.of_animal(nights).filter(|sd| *sd > 0.0)?;
    of_mean(Of::First, count, sd, seed)
}

fn of_mean(of: Of, count: usize, sd: f64, seed: u64) -> Option<Width> {
    let width = |study| {
        let [low, high] = interval_of_mean(&animals(&mut chance_of(seed, study, of), count, 0.0))?;
        Some(high - low)
    };
    Width::of((0..STUDIES).map(width).collect::<Option<Vec<f64>>>()?, sd)
}

/// The power alone, which is quicker.
pub fn power(design: &Design, seed: u64) -> Option<Power> {
    power_of(design, seed, STUDIES)
}

fn power_of(design: &Design, seed: u64, studies: usize) -> Option<Power> {
    let least_p = least_p(design.sizes)?;
    let shift = in_deviations(design.difference, design.spread.of_animal(design.nights)?)?;
    if least_p > LEVEL {
        return Some(Power { power: 0.0, standard_error: 0.0, least_p });
    }
    let refused = (0..studies).filter(|&study| {
        let [first, second] = groups(design.sizes, shift, seed, study);
        refuses(&first, &second, &mut chance_of(seed, study, Of::Arrangements))
    });
    Some(Power::of(refused.count(), studies, least_p))
}

/// The least p that the studentised permutation test can give two groups of these sizes: one arrangement
/// of all, and in groups of one size its mirror as well. `None` of fewer than two animals in a group.
pub fn least_p([n1, n2]: [usize; 2]) -> Option<f64> {
    let always = if n1 == n2 { 2.0 } else { 1.0 };
    (n1 > 1 && n2 > 1).then(|| always / arrangements(n1 + n2, n1) as f64)
}

/// Chance at or below which a difference counts as seen.
const LEVEL: f64 = 0.05;

fn groups([n1, n2]: [usize; 2], shift: f64, seed: u64, study: usize) -> [Vec<f64>; 2] {
    let group = |of: Of, count, mean| animals(&mut chance_of(seed, study, of), count, mean);
    [group(Of::First, n1, shift), group(Of::Second, n2, 0.0)]
}

/// A difference in standard deviations; `None` where these are not positive numbers.
fn in_deviations(difference: f64, sd: f64) -> Option<f64> {
    let shift = difference / sd;
    (sd > 0.0 && sd.is_finite() && shift.is_finite()).then_some(shift)
}

impl Power {
    fn of(refused: usize, studies: usize, least_p: f64) -> Self {
        let n = studies as f64;
        let power = refused as f64 / n;
        // all or none of the studies: as small an error as so many can show
        let standard_error = ((power * (1.0 - power)).max(1.0 / n) / n).sqrt();
        Self { power, standard_error, least_p }
    }
}

impl Width {
    fn of(mut widths: Vec<f64>, sd: f64) -> Option<Self> {
        let (mean, ninetieth) = (mean(&widths)?, quantile(&mut widths, 0.9)?);
        mean.is_finite().then_some(Self { mean: sd * mean, ninetieth: sd * ninetieth })
    }
}

#[cfg(test)]
mod tests;
