//! Tests by ranks: two groups, several groups, two columns; and what many tests do to p.

use super::describe::{mean, quantile_of_sorted};
use super::permutation::{Permuted, difference_of_means, products, spread_of_groups};

/// Ranks from 1; equal values share the mean of their ranks.
pub fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let mut ranks = vec![0.0; values.len()];
    let mut before = 0;
    for run in order.chunk_by(|&a, &b| values[a].total_cmp(&values[b]).is_eq()) {
        let shared = before as f64 + (run.len() + 1) as f64 / 2.0;
        for &at in run {
            ranks[at] = shared;
        }
        before += run.len();
    }
    ranks
}

/// Two groups by ranks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MannWhitney {
    /// How many pairs the first group wins, a tie counted half.
    pub u: f64,
    /// The exact chance of a U as far from its mean, given the ties.
    pub test: Permuted,
    /// The median of all differences first − second: the shift of Hodges and Lehmann.
    pub shift: f64,
    /// Its interval of at least 95 %; `None` where the groups are too small for one.
    pub interval: Option<[f64; 2]>,
}

/// The test of Mann and Whitney. U is linear in the sum of ranks, so that shuffling the ranks,
/// shared ones as they are, gives its exact distribution with ties as well. The interval of the
/// shift runs from the k-th smallest to the k-th largest difference, k the smallest with
/// P(U ≤ k) ≥ 0.025 in the distribution without ties.
///
/// Sources: [`Source::MannWhitney1947`](crate::survey::sources::Source::MannWhitney1947) for U,
/// [`Source::Hodges1963`](crate::survey::sources::Source::Hodges1963) for the shift,
/// [`Source::Hollander1973`](crate::survey::sources::Source::Hollander1973) for its interval.
pub fn mann_whitney(first: &[f64], second: &[f64], seed: u64) -> Option<MannWhitney> {
    let both: Vec<f64> = first.iter().chain(second).copied().collect();
    let ranks = ranks(&both);
    let (own, others) = ranks.split_at(first.len());
    let test = difference_of_means(own, others, seed)?;
    let n1 = first.len() as f64;
    let u = own.iter().sum::<f64>() - n1 * (n1 + 1.0) / 2.0;
    let mut differences: Vec<f64> =
        first.iter().flat_map(|a| second.iter().map(move |b| a - b)).collect();
    differences.sort_by(f64::total_cmp);
    let shift = quantile_of_sorted(&differences, 0.5)?;
    let k = shift_order(first.len(), second.len());
    let interval = k.map(|k| [differences[k - 1], differences[differences.len() - k]]);
    Some(MannWhitney { u, test, shift, interval })
}

/// The smallest k with P(U ≤ k) ≥ 0.025, at least 1; `None` where even the whole range of
/// differences holds the shift less often than 95 %.
fn shift_order(n1: usize, n2: usize) -> Option<usize> {
    let ways = ways_of_u(n1, n2);
    let all: f64 = ways.iter().sum();
    if 2.0 * ways[0] / all > 0.05 {
        return None;
    }
    let mut below = 0.0;
    let reached = |ways: &f64| {
        below += ways / all;
        below >= 0.025
    };
    ways.iter().position(reached).map(|k| k.max(1))
}

/// In how many ways each U comes about without ties: the coefficients of a Gaussian binomial.
///
/// ```text
/// Πᵢ (1 − q^(n₂+i)) / (1 − qⁱ)      i = 1 … n₁
/// ```
fn ways_of_u(n1: usize, n2: usize) -> Vec<f64> {
    let most = n1 * n2;
    let mut ways = vec![0.0; most + 1];
    ways[0] = 1.0;
    for i in 1..=n1 {
        for k in (n2 + i..=most).rev() {
            ways[k] -= ways[k - n2 - i];
        }
        for k in i..=most {
            ways[k] += ways[k - i];
        }
    }
    ways
}

/// Several groups by ranks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KruskalWallis {
    /// H, corrected for ties.
    pub h: f64,
    /// How often shuffled labels give an H as large.
    pub test: Permuted,
}

/// The test of Kruskal and Wallis, by shuffled labels: the chi-squared table is not right for a
/// handful of animals. `None` where a group is empty or all values are equal.
/// Source: [`Source::Kruskal1952`](crate::survey::sources::Source::Kruskal1952).
///
/// ```text
/// H = (n − 1) Σ_g n_g (r̄_g − r̄)² / Σ (r − r̄)²
/// ```
pub fn kruskal_wallis(groups: &[Vec<f64>], seed: u64) -> Option<KruskalWallis> {
    let all: Vec<f64> = groups.iter().flatten().copied().collect();
    let ranks = ranks(&all);
    let n = ranks.len() as f64;
    let centre = mean(&ranks)?;
    let total: f64 = ranks.iter().map(|r| (r - centre).powi(2)).sum();
    let mut rest = ranks.as_slice();
    let ranked: Vec<Vec<f64>> = groups
        .iter()
        .map(|group| {
            let (own, others) = rest.split_at(group.len());
            rest = others;
            own.to_vec()
        })
        .collect();
    let test = spread_of_groups(&ranked, seed).filter(|_| total > 0.0)?;
    Some(KruskalWallis { h: (n - 1.0) * test.statistic / total, test })
}

/// Spearman's coefficient, with ties, and its permutation test.
/// Source: [`Source::Spearman1904`](crate::survey::sources::Source::Spearman1904).
pub fn spearman(x: &[f64], y: &[f64], seed: u64) -> Option<(f64, Permuted)> {
    let (x, y) = (ranks(x), ranks(y));
    let test = products(&x, &y, seed)?;
    Some((correlation(&x, &y)?, test))
}

/// The product-moment correlation; `None` where a column does not vary.
pub fn correlation(x: &[f64], y: &[f64]) -> Option<f64> {
    let [xx, xy, yy] = sums_of_products(x, y)?;
    (xx > 0.0 && yy > 0.0).then(|| xy / (xx * yy).sqrt())
}

/// The slope of the least-squares line of y on x; `None` where x does not vary.
pub fn slope(x: &[f64], y: &[f64]) -> Option<f64> {
    let [xx, xy, _] = sums_of_products(x, y)?;
    (xx > 0.0).then(|| xy / xx)
}

fn sums_of_products(x: &[f64], y: &[f64]) -> Option<[f64; 3]> {
    let (mx, my) = (mean(x)?, mean(y)?);
    Some(x.iter().zip(y).fold([0.0; 3], |[xx, xy, yy], (x, y)| {
        let (x, y) = (x - mx, y - my);
        [xx + x * x, xy + x * y, yy + y * y]
    }))
}

/// The p values of several tests of one question, adjusted step by step so that the chance of any
/// false alarm among them stays below the level. Source:
/// [`Source::Holm1979`](crate::survey::sources::Source::Holm1979).
pub fn holm(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    let mut adjusted = vec![0.0; p.len()];
    let mut highest = 0.0_f64;
    for (at, &test) in order.iter().enumerate() {
        highest = highest.max(p[test] * (p.len() - at) as f64).min(1.0);
        adjusted[test] = highest;
    }
    adjusted
}
