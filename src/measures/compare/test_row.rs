//! One test, as it stands in `tests.csv`.

use crate::maths::statistics::permutation::Permuted;

/// What one test found, or why there is none.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TestRow {
    /// Which test.
    pub test: &'static str,
    /// The groups it is of, in the order of the difference.
    pub groups: String,
    /// How many animals each group has, in the same order.
    pub animals: Vec<usize>,
    /// Its statistic.
    pub statistic: Option<f64>,
    /// The size of what was found.
    pub effect: Option<f64>,
    /// What the size is.
    pub effect_name: &'static str,
    /// Its 95 % interval.
    pub interval: Option<[f64; 2]>,
    /// The chance of as much without any true difference.
    pub p: Option<f64>,
    /// The same, allowing for the other questions of the same factor (step-down max-T), for the other
    /// classes (Bonferroni) or pairs of groups (Holm).
    pub p_adjusted: Option<f64>,
    /// Arrangements gone through or drawn.
    pub arrangements: Option<u64>,
    /// The Monte Carlo error of p, where arrangements were drawn.
    pub p_standard_error: Option<f64>,
    /// Why there is no test, or what else must be known of it.
    pub reason: String,
}

impl TestRow {
    /// A test that cannot be made, and why.
    pub(super) fn refused(
        test: &'static str,
        groups: String,
        animals: Vec<usize>,
        reason: impl Into<String>,
    ) -> Self {
        Self { test, groups, animals, reason: reason.into(), ..Self::default() }
    }

    /// Takes over p and how it was found.
    #[must_use]
    pub fn with(mut self, permuted: &Permuted) -> Self {
        self.p = Some(permuted.p());
        self.arrangements = Some(permuted.arrangements);
        self.p_standard_error = permuted.standard_error();
        self
    }
}
