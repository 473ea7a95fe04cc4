//! The fewest animals that give the power that is wanted.
//!
//! In: a spread and an aim. Out: how many animals, and their power; `None` where [`MOST_ANIMALS`] are not
//! enough. Power is taken to rise with every animal: numbers are doubled until there are enough, then
//! halved in. Studies of more animals hold those of fewer, so that chance does not turn the order about.

use super::pairs::{self, PairedDesign};
use super::studies::STUDIES;
use super::{Design, Power, Spread, power_of};

/// Most animals of the larger group, and most pairs, that are tried.
pub const MOST_ANIMALS: usize = 100;
/// Fewest animals of a group: of fewer its mean has no interval.
const FEWEST: usize = 3;

/// What a study of two groups is to see.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aim {
    /// The true difference, in the unit of the metric.
    pub difference: f64,
    /// Nights of each animal.
    pub nights: usize,
    /// Animals of the second group for one of the first: 0.5 for ten and five.
    pub ratio: f64,
    /// The power that is wanted, below 1.
    pub power: f64,
}

/// The fewest animals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Needed {
    /// Of each group.
    pub sizes: [usize; 2],
    /// The power that they have.
    pub power: Power,
}

/// The fewest animals of two groups that reach the power of an aim, three of each at least. The answer
/// carries the Monte Carlo error of the power: some 3 in 100 animals at a power of 0.8. `None` where
/// [`MOST_ANIMALS`] of the larger group do not reach it, or the aim makes no sense.
pub fn animals_needed(spread: &Spread, aim: &Aim, seed: u64) -> Option<Needed> {
    let share = aim.ratio.min(aim.ratio.recip());
    if !(aim.ratio > 0.0 && share > 0.0) {
        return None;
    }
    let sizes = |most: usize| {
        let fewer = fraction(most, share).max(FEWEST).min(most);
        if aim.ratio <= 1.0 { [most, fewer] } else { [fewer, most] }
    };
    let (most, power) = fewest(aim.power, |most, studies| {
        let sizes = sizes(most);
        let (nights, difference) = (aim.nights, aim.difference);
        power_of(&Design { sizes, nights, difference, spread: *spread }, seed, studies)
    })?;
    Some(Needed { sizes: sizes(most), power })
}

/// What a study of the same animals at two times is to see.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairedAim {
    /// The true mean change, in the unit of the metric.
    pub difference: f64,
    /// Nights of each animal at each time.
    pub nights: usize,
    /// Standard deviation between animals of the true change.
    pub response: f64,
    /// The power that is wanted, below 1.
    pub power: f64,
}

/// The fewest pairs that reach the power of an aim, and that power.
pub fn pairs_needed(spread: &Spread, aim: &PairedAim, seed: u64) -> Option<(usize, Power)> {
    let PairedAim { difference, nights, response, power } = *aim;
    let spread = *spread;
    fewest(power, |pairs, studies| {
        let design = PairedDesign { pairs, nights, difference, spread, response };
        pairs::power_of(&design, seed, studies)
    })
}

/// The least number whose power is as wanted.
fn fewest(wanted: f64, power: impl Fn(usize, usize) -> Option<Power>) -> Option<(usize, Power)> {
    (wanted > 0.0 && wanted < 1.0).then_some(())?;
    let falls_short = |count: usize| falls_short(wanted, |studies| power(count, studies));
    let (mut below, mut enough) = (FEWEST - 1, FEWEST);
    while falls_short(enough)? {
        if enough == MOST_ANIMALS {
            return None;
        }
        (below, enough) = (enough, (2 * enough).min(MOST_ANIMALS));
    }
    while enough - below > 1 {
        let middle = below.midpoint(enough);
        *(if falls_short(middle)? { &mut below } else { &mut enough }) = middle;
    }
    Some((enough, power(enough, STUDIES)?))
}

/// Whether the power is less than is wanted. Where few studies leave no doubt, that is enough.
pub(super) fn falls_short(wanted: f64, power: impl Fn(usize) -> Option<Power>) -> Option<bool> {
    let few = power(FEW_STUDIES)?;
    let apart = (few.power - wanted).abs() / few.standard_error;
    let tried = if apart > CERTAIN { few } else { power(STUDIES)? };
    Some(tried.power < wanted)
}

/// Studies by which a number of animals that is far from enough, or far more, is told.
const FEW_STUDIES: usize = 400;
/// How many standard errors leave no doubt.
const CERTAIN: f64 = 4.0;

/// The whole number nearest to this share of a number.
fn fraction(of: usize, share: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of at most a hundred"
    )]
    let nearest = (of as f64 * share).round() as usize;
    nearest
}
