//! Repeated nights: means and slopes of animals that were followed for one night or for several.
//!
//! In: [`Night`]s: animal, value, the standard error that measuring left in it, and predictors. Out:
//! [`Repeated`]: coefficients with intervals, and the standard deviations between animals and between
//! nights of one animal; [`Slope`]s within and between animals with permutation tests; `None` where
//! nothing can be told. Assumes that animals are independent, and nights but for their animal; spreads
//! that are alike among animals; standard errors that are known. Left out: slopes that differ from animal
//! to animal, and nights that resemble the night before.
//!
//! ```text
//! y_ij = x_ij'β + a_i + e_ij + m_ij        animal i, night j
//! a_i ~ N(0, σ_a²)      e_ij ~ N(0, σ_e²)      m_ij ~ N(0, se_ij²), known
//! ```
//!
//! Variances by restricted maximum likelihood, none below zero; β by generalised least squares, so that
//! each night weighs by what it tells. Sources: [`Source::Patterson1971`](crate::survey::sources::Source::Patterson1971),
//! [`Source::Gilmour1995`](crate::survey::sources::Source::Gilmour1995) for the search.

mod animals;
mod intervals;
mod likelihood;
mod matrix;
mod search;
mod slopes;

pub use slopes::{Slope, between_animals, within_animals};

use std::collections::BTreeMap;

/// Fewest animals of which anything is told.
pub const FEWEST_ANIMALS: usize = 3;

/// One night of one animal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Night<'a> {
    /// Which animal: the same number for all of its nights.
    pub animal: usize,
    /// The value of the night.
    pub value: f64,
    /// The standard error that measuring left in the value, in its unit; `None` counts as zero, so that
    /// it becomes a part of the spread between nights.
    pub standard_error: Option<f64>,
    /// What the value may depend on, as many numbers for every night. The intercept is added by the fit.
    pub predictors: &'a [f64],
}

/// One coefficient.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coefficient {
    /// The estimate, in the unit of the value by that of the predictor.
    pub value: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Degrees of freedom of Student's t.
    pub degrees_of_freedom: f64,
    /// The 95 % interval.
    pub interval: [f64; 2],
}

/// How far values lie apart once the predictors and the errors of measurement are taken off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spread {
    /// Some animal has two nights or more: both standard deviations, in the unit of the value.
    Separate {
        /// Between animals.
        animals: f64,
        /// Between nights of one animal.
        nights: f64,
    },
    /// No animal has two nights: what animals and nights add up to.
    Together(f64),
}

impl Spread {
    /// The share of the variance that lies between animals, from 0 to 1; errors of measurement do not count.
    /// `None` where no animal has two nights, or where nothing is left to share.
    /// Source: [`Source::Nakagawa2010`](crate::survey::sources::Source::Nakagawa2010).
    ///
    /// ```text
    /// R = σ_a² / (σ_a² + σ_e²)
    /// ```
    pub fn repeatability(&self) -> Option<f64> {
        let Self::Separate { animals, nights } = *self else { return None };
        let all = animals * animals + nights * nights;
        (all > 0.0).then(|| animals * animals / all)
    }
}

/// What the nights tell together.
#[derive(Clone, Debug, PartialEq)]
pub struct Repeated {
    /// The intercept, then one coefficient a predictor in the order given. Without predictors the
    /// intercept is the mean over all animals.
    pub coefficients: Vec<Coefficient>,
    /// Between animals and between nights.
    pub spread: Spread,
    /// The root mean square of the standard errors of measurement, in the unit of the value.
    pub measurement_sd: f64,
    /// The logarithm of the restricted likelihood, with its constant −½ (N − p) ln 2π and without ½ ln |X'X|.
    pub log_likelihood: f64,
    /// How many animals.
    pub animals: usize,
    /// How many nights.
    pub nights: usize,
}

/// Fits the model. `None` of fewer than [`FEWEST_ANIMALS`] animals or than two nights more than there are
/// coefficients, of numbers that are not finite or standard errors below zero, of a predictor that does not
/// vary or follows from the others, of too few animals for what differs between them, and of values without
/// spread. The order of the rows and the numbers that name animals change nothing.
///
/// How often intervals held the truth, of 100, over settings of 2, 4 or 1 to 4 nights, repeatabilities of
/// 0, 0.5 and 0.9, with and without errors of measurement; 500 made-up samples a setting (chance: 1.0):
///
/// | lowest, mean, highest | 3 animals | 5 | 8 | 12 |
/// |---|---|---|---|---|
/// | mean, normal | 93 96 99 | 93 95 98 | 92 95 97 | 94 95 98 |
/// | mean, exponential | 90 94 97 | 90 94 98 | 91 94 96 | 92 94 96 |
/// | two groups, normal | 93 96 97 | 94 96 97 | 94 95 96 | 93 95 96 |
/// | two groups, exponential | 93 95 98 | 93 96 97 | 95 96 98 | 94 95 96 |
/// | slope by night, normal | 92 95 97 | 94 95 97 | 93 95 98 | 94 96 97 |
/// | slope by night, exponential | 94 96 98 | 95 96 97 | 93 96 98 | 93 95 97 |
/// | slope between animals, normal | 92 95 98 | 94 96 99 | 93 95 98 | 93 95 98 |
///
/// Lowest are means of three and five exponential animals that differ much (repeatability 0.9): 90. Where one of two
/// groups lies three times as far apart as the other, their difference was held in 91 of 100 at 8 and 12 animals,
/// for one spread is taken for all.
pub fn fit(nights: &[Night<'_>]) -> Option<Repeated> {
    let animals = animals::Animals::of(nights)?;
    let found = search::greatest(&animals)?;
    let coefficients = intervals::coefficients(&animals, &found)?;
    let [between, within] = found.variances.map(|v| v.sqrt() * animals.unit);
    let spread = if animals.separable() {
        Spread::Separate { animals: between, nights: within }
    } else {
        Spread::Together(within)
    };
    let rest = (animals.nights - animals.width) as f64;
    Some(Repeated {
        coefficients,
        spread,
        measurement_sd: animals.measurement_variance().sqrt() * animals.unit,
        log_likelihood: found.log_likelihood - rest * animals.unit.ln() - animals.log_scale,
        animals: animals.each.len(),
        nights: animals.nights,
    })
}

/// A covariate parted in two, row by row.
#[derive(Clone, Debug, PartialEq)]
pub struct Parted {
    /// The mean of the animal: what differs between animals.
    pub between: Vec<f64>,
    /// What the night differs from it by: what differs within animals.
    pub within: Vec<f64>,
}

/// Parts a covariate into the mean of each animal and the deviation from it, so that its slope within
/// animals is not mixed with that between them. The mean of few nights is itself uncertain, which draws
/// the slope between animals towards that within. `None` where the columns are not of one length.
/// Source: [`Source::VanDePol2009`](crate::survey::sources::Source::VanDePol2009).
pub fn within_and_between(xs: &[f64], animals: &[usize]) -> Option<Parted> {
    if xs.len() != animals.len() {
        return None;
    }
    let mut lists: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for (x, animal) in xs.iter().zip(animals) {
        lists.entry(*animal).or_default().push(*x);
    }
    let means: BTreeMap<usize, f64> = lists
        .into_iter()
        .map(|(animal, mut list)| {
            list.sort_by(f64::total_cmp);
            (animal, list.iter().sum::<f64>() / list.len() as f64)
        })
        .collect();
    let between: Vec<f64> = animals.iter().filter_map(|a| means.get(a).copied()).collect();
    let within = xs.iter().zip(&between).map(|(x, mean)| x - mean).collect();
    Some(Parted { between, within })
}

#[cfg(test)]
mod tests;
