//! Selection: what was used against what was on offer, the animal as the unit.
//!
//! An animal's use is its share of metres over the classes on offer; animals weigh alike, however
//! far they went. Zeros: a class on offer and never used has a ratio of 0; a class of which an
//! animal had nothing on offer and used nothing tells nothing of that animal's choice, and its
//! ratio is blank where nobody had any. Sources: [`Source::Manly2002`] for the ratio,
//! [`Source::Neu1974`] for intervals that hold together, [`Source::Aebischer1993`] for the unit.
//!
//! [`Source::Manly2002`]: crate::survey::sources::Source::Manly2002
//! [`Source::Neu1974`]: crate::survey::sources::Source::Neu1974
//! [`Source::Aebischer1993`]: crate::survey::sources::Source::Aebischer1993

mod together;

use crate::maths::statistics::permutation::{Permuted, flipped};
use crate::survey::names::Name;
use together::Shares;

/// Fewest animals of which an interval or a test is given.
pub const FEWEST: usize = 4;

/// What one animal used of what it was offered.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// The animal.
    pub animal: Name,
    /// Metres on each class.
    pub used_m: Vec<f64>,
    /// Share of each class on offer.
    pub available: Vec<f64>,
    /// At how many points that was sampled; `None` where it is known without error.
    pub points: Option<f64>,
}

impl Choice {
    /// Share of its metres on each class; `None` where it used nothing that was on offer.
    pub fn used(&self) -> Option<Vec<f64>> {
        let total: f64 = self.used_m.iter().sum();
        (total > 0.0).then(|| self.used_m.iter().map(|metres| metres / total).collect())
    }
}

/// One class, of one animal or of several.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Selected {
    /// Metres on it.
    pub used_m: f64,
    /// Share used, the mean over animals.
    pub used: f64,
    /// Share on offer, the mean over animals.
    pub available: f64,
    /// Share used over share on offer.
    pub ratio: Option<f64>,
    /// Its standard error by the spread between animals.
    pub se: Option<f64>,
    /// Its interval; those of all classes together hold with 95 %.
    pub interval: Option<[f64; 2]>,
    /// The chance of a ratio as far from 1 without selection, of this class alone.
    pub p: Option<f64>,
    /// The ratio over the sum of ratios: the chance of each class, were all on offer alike.
    pub standardised_b: Option<f64>,
    /// The index of Jacobs, −1 shunned to 1 preferred.
    pub jacobs_d: Option<f64>,
}

/// The classes as several animals used them, or one. Animals that used nothing are left out.
///
/// ```text
/// wᵢ = Σⱼ oᵢⱼ / Σⱼ πᵢⱼ
/// var wᵢ = n/(n − 1) Σⱼ (oᵢⱼ − wᵢ πᵢⱼ)² / (Σⱼ πᵢⱼ)²
/// ```
/// o used, π available, j over n animals: the ratio estimator of
/// [`Source::Manly2002`](crate::survey::sources::Source::Manly2002) with each animal's shares in place of
/// its counts. Intervals and p, of [`FEWEST`] animals or more, are those of the module `together`.
pub fn selected(choices: &[&Choice]) -> Vec<Selected> {
    let moved: Vec<(&Choice, Vec<f64>)> =
        choices.iter().filter_map(|choice| Some((*choice, choice.used()?))).collect();
    let n = moved.len() as f64;
    let classes = moved.first().map_or(0, |(choice, _)| choice.available.len());
    let shares = Shares::of(&moved);
    let enough = moved.len() >= FEWEST;
    let mut rows: Vec<Selected> = (0..classes)
        .map(|at| {
            let [used, available] = shares.means[at];
            let ratio = (available > 0.0).then(|| used / available);
            let squares = shares.squares[at];
            Selected {
                used_m: moved.iter().map(|(choice, _)| choice.used_m[at]).sum(),
                used,
                available,
                ratio,
                se: ratio.filter(|_| n > 1.0).map(|_| (squares / (n - 1.0) / n).sqrt() / available),
                interval: ratio.filter(|_| enough).and_then(|_| shares.interval(at)),
                p: ratio.filter(|_| enough).and_then(|_| shares.p(at)),
                standardised_b: None,
                jacobs_d: jacobs_d(used, available),
            }
        })
        .collect();
    let sum: f64 = rows.iter().filter_map(|row| row.ratio).sum();
    for row in &mut rows {
        row.standardised_b = row.ratio.filter(|_| sum > 0.0).map(|ratio| ratio / sum);
    }
    rows
}

/// `None` where all or nothing was on offer, or both shares leave it undefined. Source:
/// [`Source::Jacobs1974`](crate::survey::sources::Source::Jacobs1974).
///
/// ```text
/// D = (o − π) / (o + π − 2 o π)
/// ```
pub fn jacobs_d(used: f64, available: f64) -> Option<f64> {
    let spread = used + available - 2.0 * used * available;
    (available > 0.0 && available < 1.0 && spread > 0.0).then(|| (used - available) / spread)
}

/// The test of selection over all classes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// How many animals.
    pub animals: usize,
    /// Goodness of fit over all classes: n Σ (o − π)² / π of the mean shares.
    pub overall: Permuted,
}

/// Whether shares used differ from shares on offer: the signs of whole animals' differences are
/// shuffled, as without selection each animal might as well have erred the other way. After
/// [`Source::Fattorini2014`](crate::survey::sources::Source::Fattorini2014). `None` of fewer than
/// [`FEWEST`] animals.
pub fn fit(choices: &[&Choice], seed: u64) -> Option<Fit> {
    let moved: Vec<(&Choice, Vec<f64>)> =
        choices.iter().filter_map(|choice| Some((*choice, choice.used()?))).collect();
    let n = moved.len();
    if n < FEWEST {
        return None;
    }
    let classes = moved[0].0.available.len();
    let rows: Vec<Vec<f64>> = moved
        .iter()
        .map(|(choice, used)| used.iter().zip(&choice.available).map(|(o, p)| o - p).collect())
        .collect();
    let offered: Vec<f64> = (0..classes)
        .map(|at| moved.iter().map(|(choice, _)| choice.available[at]).sum::<f64>() / n as f64)
        .collect();
    let distance = |sum: &[f64]| {
        let term = |(sum, share): (&f64, &f64)| {
            if *share > 0.0 { (sum / n as f64).powi(2) / share } else { 0.0 }
        };
        n as f64 * sum.iter().zip(&offered).map(term).sum::<f64>()
    };
    Some(Fit { animals: n, overall: flipped(&rows, distance, n as f64, seed) })
}
