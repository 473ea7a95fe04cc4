//! The least true difference that a study of given numbers sees with the power that is wanted.
//!
//! In: a design whose own difference is passed over, and a power. Out: a difference, above 0, in the unit
//! of the metric. Power is taken to rise with the difference: that is doubled until it is seen, halved in
//! [`HALVINGS`] times, and read off between its ends, on the scale on which the power of a normal test is a
//! straight line. Studies differ by their difference alone, so that chance does not turn the order about.

use super::needed::falls_short;
use super::pairs::{self, PairedDesign};
use super::studies::STUDIES;
use super::{Design, Power, power_of};
use crate::maths::statistics::interval::normal_quantile;

/// How often the last doubling is halved in.
const HALVINGS: u32 = 2;
/// How often the difference is doubled, from an eighth of a standard deviation: to 8,192 of them.
const DOUBLINGS: usize = 16;

/// The least difference of two groups that is seen with this power, whose Monte Carlo error makes some 2 in
/// 100 of the difference. `None` where no
/// difference is ever seen, the power is not above 0.05 and below 1, or the design makes no sense.
pub fn detectable(design: &Design, power: f64, seed: u64) -> Option<f64> {
    let sd = design.spread.of_animal(design.nights)?;
    least(power, sd, |difference, studies| {
        power_of(&Design { difference, ..*design }, seed, studies)
    })
}

/// The least mean change of pairs that is seen with this power.
pub fn detectable_of_pairs(design: &PairedDesign, power: f64, seed: u64) -> Option<f64> {
    let sd = design.spread.of_change(design.nights, design.response)?;
    least(power, sd, |difference, studies| {
        pairs::power_of(&PairedDesign { difference, ..*design }, seed, studies)
    })
}

fn least(wanted: f64, sd: f64, power: impl Fn(f64, usize) -> Option<Power>) -> Option<f64> {
    (wanted > super::LEVEL && wanted < 1.0).then_some(())?;
    let falls_short = |difference: f64| falls_short(wanted, |studies| power(difference, studies));
    let (mut below, mut enough) = (0.0, sd / 8.0);
    let mut doublings = 0;
    while falls_short(enough)? {
        if doublings == DOUBLINGS {
            return None;
        }
        (below, enough) = (enough, 2.0 * enough);
        doublings += 1;
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (below + enough);
        *(if falls_short(middle)? { &mut below } else { &mut enough }) = middle;
    }
    // half a study of all is the least and the most that is told from none and from all
    let least = 0.5 / STUDIES as f64;
    let z = |power: f64| normal_quantile(power.clamp(least, 1.0 - least));
    let (low, high) = (z(power(below, STUDIES)?.power), z(power(enough, STUDIES)?.power));
    let share = ((z(wanted) - low) / (high - low)).clamp(0.0, 1.0);
    share.is_finite().then_some(below + share * (enough - below))
}
