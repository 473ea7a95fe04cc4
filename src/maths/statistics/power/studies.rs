//! Made-up studies: normal values of one animal each, in units of their standard deviation.
//!
//! In: a seed, which study, which group. Out: as many values as there are animals. A study of more animals
//! begins with the same ones, so that what more of them bring is not drowned by chance.

use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::interval::normal_quantile;

/// How many studies tell a power: its Monte Carlo error is at most 0.01.
pub const STUDIES: usize = 2_500;
/// How many of them tell the width of an interval that a test is inverted for.
pub const STUDIES_OF_WIDTH: usize = 400;

/// What of a study is drawn.
#[derive(Clone, Copy)]
pub(super) enum Of {
    First,
    Second,
    Arrangements,
}

/// The chance of one part of one study.
pub(super) fn chance_of(seed: u64, study: usize, of: Of) -> Chance {
    let place = study as u64 * 4 + of as u64;
    Chance::new(seed ^ place.rotate_left(32))
}

/// The animals of one group, their mean at `mean`.
pub(super) fn animals(chance: &mut Chance, count: usize, mean: f64) -> Vec<f64> {
    (0..count).map(|_| mean + normal_quantile(unit(chance))).collect()
}

/// Between 0 and 1, neither of them.
fn unit(chance: &mut Chance) -> f64 {
    (chance.below(1 << 30) as f64 + 0.5) / f64::from(1 << 30)
}
