//! The test of [`signs`](crate::maths::statistics::permutation::signs), short enough for thousands of studies.
//!
//! In: the changes of one study, and chance. Out: whether p is 0.05 or less; the width of the interval.

use super::tally::{DRAWS, MOST_GONE_THROUGH, Tally, width};
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::describe::mean;

/// Whether the mean of paired differences has p ≤ 0.05 by their signs.
pub(super) fn refuses_signs(differences: &[f64], chance: &mut Chance) -> bool {
    let all: f64 = differences.iter().sum();
    let size: f64 = differences.iter().map(|d| d.abs()).sum();
    let bar = all.abs() - 1e-9 * size;
    let mut tally = Tally::of(signings(differences.len()), MOST_GONE_THROUGH);
    each_signing(differences, tally.exact, chance, |[sum, _]| tally.add(sum.abs() >= bar));
    tally.refuses()
}

/// How wide the interval of the mean of paired differences is; `None` where no mean can be refused.
pub(super) fn width_of_pairs(differences: &[f64], chance: &mut Chance) -> Option<f64> {
    let n = differences.len() as f64;
    let centre = mean(differences)?;
    let tally = Tally::of(signings(differences.len()), DRAWS);
    let mut others = Vec::new();
    each_signing(differences, tally.exact, chance, |sums| {
        others.push(sums);
        true
    });
    let size: f64 = differences.iter().map(|d| d.abs()).sum();
    let refuses = |by: f64| {
        let bar = (n * (centre - by)).abs() - 1e-9 * (size + n * by.abs());
        let mut tally = tally;
        let _all = others.iter().all(|[sum, signs]| tally.add((sum - by * signs).abs() >= bar));
        tally.refuses()
    };
    let squares: f64 = differences.iter().map(|d| (d - centre).powi(2)).sum();
    width(centre, (squares / (n * (n - 1.0))).sqrt(), refuses)
}

/// The sums of differences, and of signs, of every arrangement of signs or of those that are drawn, for as
/// long as `give` wants more.
fn each_signing(
    differences: &[f64],
    exact: bool,
    chance: &mut Chance,
    mut give: impl FnMut([f64; 2]) -> bool,
) {
    let rounds = if exact { signings(differences.len()) } else { DRAWS };
    for round in 0..rounds {
        let mut sums = [0.0; 2];
        for part in differences.chunks(WORD) {
            let mut turned = if exact { round } else { chance.below(1 << WORD) as u64 };
            for d in part {
                let sign = SIGNS[usize::from(turned & 1 == 1)];
                sums = [sums[0] + sign * d, sums[1] + sign];
                turned >>= 1;
            }
        }
        if !give(sums) {
            break;
        }
    }
}

/// How many signs are drawn at once; all that are gone through fit into one draw.
const WORD: usize = 30;
const SIGNS: [f64; 2] = [1.0, -1.0];

/// In how many ways signs can be given.
pub(super) fn signings(pairs: usize) -> u64 {
    u32::try_from(pairs).ok().and_then(|pairs| 1_u64.checked_shl(pairs)).unwrap_or(u64::MAX)
}
