//! Intervals of selection ratios that hold together, and p values that agree with them.
//!
//! Shares of a class that is seldom on offer are skewed: most animals have none of it, one has much. Student's
//! t then misses in one study of four. A mean share is taken here as a number of the beta distribution, which
//! lies between 0 and 1, with the variance that shares have between animals,
//!
//! ```text
//! var oᵢⱼ = φ wπᵢⱼ (1 − wπᵢⱼ)        φ = (n + 1)/(n − 1) Σᵢⱼ (oᵢⱼ − wᵢπᵢⱼ)² / Σᵢⱼ wᵢπᵢⱼ (1 − wᵢπᵢⱼ)
//! ```
//!
//! one φ for all classes, or that of the class where it is greater. Where what was on offer was sampled at
//! points, w²π(1 − π)/points is added once for all animals that share the sample. A ratio w belongs to the
//! interval where neither tail beyond the observed mean share is below 0.025 over the number of classes
//! (Bonferroni, [`Source::Neu1974`](crate::survey::sources::Source::Neu1974)); p doubles the smaller tail at w = 1.
//! A class that nobody used is taken as if one animal had used it as briefly as animals use anything.
//! How often they hold is in the book, chapter accuracy.

use super::Choice;
use crate::maths::statistics::interval::beta_lower;

/// How often an end is halved in.
const HALVINGS: usize = 60;

/// Used and available shares of several animals.
pub(super) struct Shares {
    /// For each class the mean share used and that on offer.
    pub(super) means: Vec<[f64; 2]>,
    /// For each class Σⱼ (oᵢⱼ − wᵢπᵢⱼ)².
    pub(super) squares: Vec<f64>,
    /// For each class what was on offer, animal by animal.
    available: Vec<Vec<f64>>,
    /// For each class the variance of the mean share on offer, by sampling.
    sampling: Vec<f64>,
    /// φ of each class.
    spread: Vec<f64>,
    /// What the mean share of a class that nobody used might have been: as if one animal had used it as
    /// briefly as animals use what they use least.
    least: f64,
}

impl Shares {
    pub(super) fn of(moved: &[(&Choice, Vec<f64>)]) -> Self {
        let n = moved.len() as f64;
        let classes = moved.first().map_or(0, |(choice, _)| choice.available.len());
        let pairs =
            |at: usize| moved.iter().map(move |(choice, used)| (used[at], choice.available[at]));
        let (mut means, mut squares, mut bounds) = (Vec::new(), Vec::new(), Vec::new());
        for at in 0..classes {
            // summed by size, so that the order of the animals moves no digit
            let used = sum(pairs(at).map(|(o, _)| o));
            let available = sum(pairs(at).map(|(_, p)| p));
            let w = if available > 0.0 { used / available } else { 0.0 };
            means.push([used / n, available / n]);
            squares.push(sum(pairs(at).map(|(o, p)| (o - w * p).powi(2))));
            bounds.push(sum(pairs(at).map(|(_, p)| of_one(w * p))));
        }
        // n − 1 for n, and what an uncertain φ costs, by coverage
        let freed = (n + 1.0) / (n - 1.0);
        let all = freed * sum(squares.iter().copied()) / sum(bounds.iter().copied());
        let own = |(squares, bound): (&f64, &f64)| {
            let own = freed * squares / bound;
            // no class can be more spread out than animals that each use one class alone
            if own > all { own.min(1.0) } else { all }
        };
        let spread = squares.iter().zip(&bounds).map(own).collect();
        let available = (0..classes).map(|at| pairs(at).map(|(_, p)| p).collect()).collect();
        let sampling = (0..classes).map(|at| sampling(moved, at)).collect();
        let least = moved.iter().map(|(_, used)| least_used(used));
        let least = sum(least) / (n * n);
        Self { means, squares, available, sampling, spread, least }
    }

    /// The chances of a mean share as low as the observed one, and as high, were the ratio `w`.
    fn tails(&self, at: usize, w: f64) -> Option<[f64; 2]> {
        let [used, on_offer] = self.means[at];
        let n = self.available[at].len() as f64;
        let mean = w * on_offer;
        if mean <= 0.0 || mean >= 1.0 {
            return Some(if mean <= 0.0 { [1.0, 0.0] } else { [0.0, 1.0] });
        }
        let between =
            self.spread[at] * sum(self.available[at].iter().map(|p| of_one(w * p))) / (n * n);
        let variance = between + w * w * self.sampling[at];
        // no share is more spread out than one that is either all or nothing
        let both = (of_one(mean) / variance - 1.0).max(1e-3);
        let shape = [mean * both, (1.0 - mean) * both];
        let high = 1.0 - beta_lower(used, shape)?;
        Some([beta_lower(used.max(self.least), shape)?, high])
    }

    /// p of one class alone, of no selection.
    pub(super) fn p(&self, at: usize) -> Option<f64> {
        let [low, high] = self.tails(at, 1.0)?;
        Some((2.0 * low.min(high)).min(1.0))
    }

    /// The interval of one class, wide enough for all of them.
    pub(super) fn interval(&self, at: usize) -> Option<[f64; 2]> {
        let [used, on_offer] = self.means[at];
        let chance = 0.025 / self.means.len() as f64;
        let ratio = used / on_offer;
        let most = 1.0 / self.available[at].iter().copied().fold(0.0, f64::max);
        let end = |outside: f64, tail: usize| {
            let (mut inside, mut outside) = (ratio, outside);
            for _ in 0..HALVINGS {
                let middle = 0.5 * (inside + outside);
                *(if self.tails(at, middle)?[tail] > chance {
                    &mut inside
                } else {
                    &mut outside
                }) = middle;
            }
            Some(inside)
        };
        // a class that nobody used, or that everybody kept to, has one end
        let low = if used > 0.0 { end(0.0, 1)? } else { 0.0 };
        let high = if ratio < most { end(most, 0)? } else { ratio };
        Some([low, high])
    }
}

/// The smallest share of what an animal used at all.
fn least_used(used: &[f64]) -> f64 {
    used.iter().copied().filter(|share| *share > 0.0).fold(1.0, f64::min)
}

/// The variance of a share of one, p (1 − p).
fn of_one(share: f64) -> f64 {
    let share = share.clamp(0.0, 1.0);
    share * (1.0 - share)
}

/// A sum that does not depend on the order.
fn sum(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values.iter().sum()
}

/// The variance of the mean share on offer: animals of one sample share its error.
fn sampling(moved: &[(&Choice, Vec<f64>)], at: usize) -> f64 {
    let n = moved.len() as f64;
    let mut samples: Vec<(&Choice, f64)> = Vec::new();
    for (choice, _) in moved {
        let same = |(other, _): &&mut (&Choice, f64)| {
            other.points == choice.points && other.available == choice.available
        };
        match samples.iter_mut().find(same) {
            Some((_, animals)) => *animals += 1.0,
            None => samples.push((choice, 1.0)),
        }
    }
    let of = |(choice, animals): &(&Choice, f64)| {
        let points = choice.points.filter(|points| *points > 0.0);
        points.map_or(0.0, |points| (animals / n).powi(2) * of_one(choice.available[at]) / points)
    };
    sum(samples.iter().map(of))
}
