//! The same animals at two times: what the mean change can be expected to tell.
//!
//! In: [`PairedDesign`]. Out: width and power by the signs of the changes. Assumes that an animal's own
//! level cancels, and that the two times do not differ in spread.

use super::signed::{refuses_signs, signings, width_of_pairs};
use super::studies::{Of, STUDIES, STUDIES_OF_WIDTH, animals, chance_of};
use super::{LEVEL, Power, Spread, Width, in_deviations};

/// Animals that are followed twice, as they are planned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairedDesign {
    /// How many animals.
    pub pairs: usize,
    /// Nights of each animal at each of the two times.
    pub nights: usize,
    /// The true mean change that the survey is to see, in the unit of the metric.
    pub difference: f64,
    /// The spread at either time.
    pub spread: Spread,
    /// Standard deviation between animals of the true change. A pilot at one time cannot tell it; 0, that
    /// all animals change alike, is the best case.
    pub response: f64,
}

/// What a study of pairs can be expected to tell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExpectedOfPairs {
    /// The interval of the mean change; `None` where none can be refused.
    pub difference: Option<Width>,
    /// The power.
    pub power: Power,
}

/// The width and the power of a design of pairs. `None` without two animals, a night, or spread.
pub fn expected_of_pairs(design: &PairedDesign, seed: u64) -> Option<ExpectedOfPairs> {
    let power = power_of_pairs(design, seed)?;
    let sd = design.spread.of_change(design.nights, design.response)?;
    let width = || {
        let each = (0..STUDIES_OF_WIDTH).map(|study| {
            let changes = animals(&mut chance_of(seed, study, Of::First), design.pairs, 0.0);
            width_of_pairs(&changes, &mut chance_of(seed, study, Of::Arrangements))
        });
        Width::of(each.collect::<Option<Vec<f64>>>()?, sd)
    };
    Some(ExpectedOfPairs { difference: if power.least_p > LEVEL { None } else { width() }, power })
}

/// The power alone.
pub fn power_of_pairs(design: &PairedDesign, seed: u64) -> Option<Power> {
    power_of(design, seed, STUDIES)
}

pub(super) fn power_of(design: &PairedDesign, seed: u64, studies: usize) -> Option<Power> {
    let least_p = least_p_of_pairs(design.pairs)?;
    let sd = design.spread.of_change(design.nights, design.response)?;
    let shift = in_deviations(design.difference, sd)?;
    if least_p > LEVEL {
        return Some(Power { power: 0.0, standard_error: 0.0, least_p });
    }
    let refused = (0..studies).filter(|&study| {
        let changes = animals(&mut chance_of(seed, study, Of::First), design.pairs, shift);
        refuses_signs(&changes, &mut chance_of(seed, study, Of::Arrangements))
    });
    Some(Power::of(refused.count(), studies, least_p))
}

/// The least p that signs of so many pairs can give: all alike, or all turned. Six pairs are the fewest
/// that can come to 0.05. `None` of fewer than two pairs.
pub fn least_p_of_pairs(pairs: usize) -> Option<f64> {
    (pairs > 1).then(|| 2.0 / signings(pairs) as f64)
}
