//! Permutation tests: how often a shuffle of the labels gives a difference as large.
//!
//! In: plain numbers, by group, in pairs or in strata, and a seed. Out: [`Permuted`]: the statistic
//! and how many arrangements are as far out; `None` where nothing can be told.
//! All arrangements are gone through where there are no more than [`MOST_ARRANGEMENTS`]; else
//! [`DRAWS`] of them are drawn with a seed, and the Monte Carlo error goes with the p value.
//! Two-sided p is by absolute value. Numbers are taken from their mean first, so that ties in the
//! statistic stay ties; what differs by less than a billionth of the sum of sizes counts as equal.
//! Source: [`Source::Fisher1935`](crate::survey::sources::Source::Fisher1935).

mod family;
mod inverted;
mod labels;
mod pairs;

pub use family::{Adjusted, several_groups, sign_flips, step_down, two_groups};
pub use inverted::{
    interval_of_difference, interval_of_pairs, interval_of_slope, interval_within_strata,
};
pub use labels::{Stratum, difference_of_means, spread_of_groups, studentised, within_strata};
pub(in crate::maths::statistics) use labels::{Welch, arrangements, to_normal};
pub use pairs::{flipped, products, signs};

/// Most arrangements that are gone through one by one.
pub const MOST_ARRANGEMENTS: u64 = 1_000_000;

/// How many are drawn where there are more: the error of p at 0.05 is then 0.0015.
pub const DRAWS: u64 = 19_999;

/// Most pairs of which all signs are gone through.
const MOST_SIGNS: usize = 19;
/// Most pairs of which all orders are gone through.
const MOST_ORDERED: usize = 9;

/// What a permutation test found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Permuted {
    /// The observed statistic.
    pub statistic: f64,
    /// How many of the arrangements are at least as far out.
    pub as_large: u64,
    /// How many arrangements there are, or were drawn.
    pub arrangements: u64,
    /// Whether all were gone through.
    pub exact: bool,
}

impl Permuted {
    /// The two-sided p value. Of draws, the observed arrangement counts as one more.
    pub fn p(&self) -> f64 {
        if self.exact {
            self.as_large as f64 / self.arrangements as f64
        } else {
            (self.as_large + 1) as f64 / (self.arrangements + 1) as f64
        }
    }

    /// The Monte Carlo standard error of p; `None` where all arrangements were gone through.
    pub fn standard_error(&self) -> Option<f64> {
        let p = self.p();
        (!self.exact).then(|| (p * (1.0 - p) / (self.arrangements + 1) as f64).sqrt())
    }
}

/// Counts arrangements whose statistic is as far from zero as the observed one.
#[derive(Clone, Copy)]
struct Count {
    bar: f64,
    as_large: u64,
    all: u64,
}

impl Count {
    /// `size` is what the statistic could be at most: what rounding is measured by.
    fn against(observed: f64, size: f64) -> Self {
        Self { bar: observed.abs() - 1e-9 * size, as_large: 0, all: 0 }
    }

    fn add(&mut self, statistic: f64) {
        self.all += 1;
        self.as_large += u64::from(statistic.abs() >= self.bar);
    }

    fn done(self, statistic: f64, exact: bool) -> Permuted {
        Permuted { statistic, as_large: self.as_large, arrangements: self.all, exact }
    }
}
