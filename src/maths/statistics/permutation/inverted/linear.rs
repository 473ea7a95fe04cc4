//! Where the statistic is a mean, an end of the interval is one of the values at which an arrangement
//! begins to be as far out: no search is needed.

use super::fewest_that_stand;
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::describe::mean;
use crate::maths::statistics::permutation::labels::{Stratum, arranged};
use crate::maths::statistics::permutation::pairs::shuffled;
use crate::maths::statistics::permutation::{DRAWS, MOST_SIGNS};

/// The statistic of one arrangement once δ is taken off the first group: `at_none` − δ · `slope`. That of the
/// observed arrangement has slope 1.
#[derive(Clone, Copy, Debug)]
pub(in crate::maths::statistics::permutation) struct Linear {
    pub(in crate::maths::statistics::permutation) at_none: f64,
    pub(in crate::maths::statistics::permutation) slope: f64,
}

impl Linear {
    pub(in crate::maths::statistics::permutation) const NONE: Self =
        Self { at_none: 0.0, slope: 0.0 };

    pub(in crate::maths::statistics::permutation) fn plus(self, other: Self) -> Self {
        Self { at_none: self.at_none + other.at_none, slope: self.slope + other.slope }
    }
}

/// The 95 % interval of the mean of paired differences, by their signs. Its ends are means of subsets of the
/// differences. Source: [`Source::Hartigan1969`](crate::survey::sources::Source::Hartigan1969).
pub fn interval_of_pairs(differences: &[f64], seed: u64) -> Option<[f64; 2]> {
    let n = differences.len() as f64;
    let observed = mean(differences)?;
    let size = differences.iter().map(|d| d.abs()).sum::<f64>() / n;
    let exact = differences.len() <= MOST_SIGNS;
    let mut all = Vec::new();
    if exact {
        signed(differences, Linear::NONE, n, &mut all);
    } else {
        let mut chance = Chance::new(seed);
        let mut sign = || if chance.coin() { 1.0 } else { -1.0 };
        for _ in 0..DRAWS {
            let signed = differences.iter().map(|d| one(*d, sign(), n));
            all.push(signed.fold(Linear::NONE, Linear::plus));
        }
    }
    ends(&all, observed, size, exact)
}

/// What one of `n` differences adds to their mean.
fn one(difference: f64, sign: f64, n: f64) -> Linear {
    Linear { at_none: sign * difference / n, slope: sign / n }
}

/// Every choice of signs.
fn signed(differences: &[f64], sum: Linear, n: f64, to: &mut Vec<Linear>) {
    let [difference, rest @ ..] = differences else { return to.push(sum) };
    for sign in [1.0, -1.0] {
        signed(rest, sum.plus(one(*difference, sign, n)), n, to);
    }
}

/// The 95 % interval of the weighted difference of means by
/// [`within_strata`](super::super::within_strata).
pub fn interval_within_strata(strata: &[Stratum<'_>], seed: u64) -> Option<[f64; 2]> {
    let mut all = Vec::new();
    let found = arranged(strata, seed, |linear| all.push(linear))?;
    ends(&all, found.observed, found.size, found.exact)
}

/// The 95 % interval of the slope of y on x by [`products`](super::super::products): a slope belongs to it
/// where what it leaves of y goes no closer with x than shuffles do.
pub fn interval_of_slope(x: &[f64], y: &[f64], seed: u64) -> Option<[f64; 2]> {
    let mut all = Vec::new();
    let found = shuffled(x, y, seed, |linear| all.push(linear))?;
    let centre = mean(x)?;
    let squares: f64 = x.iter().map(|x| (x - centre).powi(2)).sum();
    let [low, high] = ends(&all, found.observed, found.size, found.exact)?;
    Some([low / squares, high / squares])
}

/// Both ends. What rounding may hide, by the size of the sums, counts as equal, as in the test.
///
/// ```text
/// | D − δ C | ≥ A − δ      where  δ ≥ (A − D)/(1 − C)  or  δ ≥ (A + D)/(1 + C)
/// ```
fn ends(all: &[Linear], observed: f64, size: f64, exact: bool) -> Option<[f64; 2]> {
    let nth = fewest_that_stand(all.len(), exact);
    let slack = 1e-9 * size;
    // below the estimate, and by turning everything about, above it
    let end = |side: f64| {
        let begins = |linear: &Linear| {
            let (a, d) = (side * observed - slack, side * linear.at_none);
            let from = |far: f64, slope: f64| {
                if slope > 1e-9 { far / slope } else { f64::NEG_INFINITY }
            };
            from(a - d, 1.0 - linear.slope).min(from(a + d, 1.0 + linear.slope))
        };
        let mut begins: Vec<f64> = all.iter().map(begins).collect();
        let at = nth.checked_sub(1).filter(|at| *at < begins.len())?;
        let (_, end, _) = begins.select_nth_unstable_by(at, f64::total_cmp);
        Some(*end).filter(|end| end.is_finite())
    };
    Some([end(1.0)?, -end(-1.0)?])
}
