//! Points an animal used beside points that it could have used: sets of one used and some available points.
//!
//! In: [`MatchedSet`]s with numeric measurements, and a seed. Out: [`paired()`]: of each variable the mean
//! difference used − available with the animal as the unit, its test and interval; [`conditional()`]: odds
//! ratios of conditional logistic regression, errors robust to what sets of one animal have in common.
//! Assumes that the available points of a set were picked without regard to what was measured, and that
//! animals are independent. Left out: categories (give each but one a variable of 0 and 1), and whether an
//! animal could reach a point.

mod conditional;
mod likelihood;
mod paired;

pub use conditional::{FEWEST_ANIMALS, Fit, Term, Unfitted, conditional};
pub use paired::{Paired, paired};

/// A used point and its available points, of one animal.
#[derive(Clone, Debug, PartialEq)]
pub struct MatchedSet {
    /// Number of the animal; any numbers will do.
    pub animal: usize,
    /// What was measured at the used point, by variable; `NaN` where it was not.
    pub used: Vec<f64>,
    /// The same of each available point.
    pub available: Vec<Vec<f64>>,
}

#[cfg(test)]
mod tests;
