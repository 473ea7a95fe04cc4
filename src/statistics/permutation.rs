//! Permutation tests: how often a shuffle of the labels gives a difference as large.
//!
//! All arrangements are gone through where there are no more than [`MOST_ARRANGEMENTS`]; else
//! [`DRAWS`] of them are drawn with a seed, and the Monte Carlo error goes with the p value.
//! Two-sided p is by absolute value. Numbers are taken from their mean first, so that ties in the
//! statistic stay ties; what differs by less than a billionth of the sum of sizes counts as equal.

use super::chance::Chance;
use super::describe::mean;

/// Most arrangements that are gone through one by one.
pub const MOST_ARRANGEMENTS: u64 = 1_000_000;

/// How many are drawn where there are more: the error of p at 0.05 is then 0.0015.
pub const DRAWS: u64 = 19_999;

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

/// Two groups within one stratum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stratum<'a> {
    /// Values of the first group.
    pub first: &'a [f64],
    /// Values of the second.
    pub second: &'a [f64],
}

/// The difference of two means, labels shuffled: all animals of one stratum.
pub fn difference_of_means(first: &[f64], second: &[f64], seed: u64) -> Option<Permuted> {
    within_strata(&[Stratum { first, second }], seed)
}

/// Welch's t of two groups, labels shuffled. Dividing by the spread of each group keeps the test
/// near its level where one group is more spread out than the other, which the difference of means
/// alone does not. `None` of fewer than two values in a group, or where all are equal. Source:
/// [`Source::Janssen1997`](crate::sources::Source::Janssen1997).
///
/// ```text
/// t = (mean first − mean second) / √( s₁²/n₁ + s₂²/n₂ )
/// ```
pub fn studentised(first: &[f64], second: &[f64], seed: u64) -> Option<Permuted> {
    let all: Vec<f64> = first.iter().chain(second).copied().collect();
    let centre = mean(&all)?;
    let mut values: Vec<f64> = all.iter().map(|x| x - centre).collect();
    let squares: f64 = values.iter().map(|x| x * x).sum();
    if first.len() < 2 || second.len() < 2 || squares <= 1e-24 * centre * centre {
        return None;
    }
    let (n1, n2) = (first.len() as f64, second.len() as f64);
    // The values add up to nothing, so that the sums of one group tell those of the other.
    let t = |[sum, square]: [f64; 2]| {
        let first = (square - sum * sum / n1) / (n1 * (n1 - 1.0));
        let second = (squares - square - sum * sum / n2) / (n2 * (n2 - 1.0));
        // Groups without any spread: as far out as rounding lets a spread be told from none.
        let variance = (first + second).max(1e-18 * squares);
        sum * (1.0 / n1 + 1.0 / n2) / variance.sqrt()
    };
    let sums = |own: &[f64]| own.iter().fold([0.0; 2], |[s, q], x| [s + x, q + x * x]);
    let observed = t(sums(&values[..first.len()]));
    let mut count = Count::against(observed, observed.abs());
    let exact = arrangements(values.len(), first.len()) <= MOST_ARRANGEMENTS;
    if exact {
        pick(&values, first.len(), [0.0; 2], &mut |sums| count.add(t(sums)));
    } else {
        let mut chance = Chance::new(seed);
        for _ in 0..DRAWS {
            chance.choose(&mut values, first.len());
            count.add(t(sums(&values[..first.len()])));
        }
    }
    Some(count.done(observed, exact))
}

/// The mean over strata of the difference of means, weighted by the animals of each stratum;
/// labels are shuffled within strata only. A stratum that lacks one of the groups tells nothing of
/// the difference and is passed over; `None` where none is left.
///
/// ```text
/// Σₛ nₛ (mean first − mean second)ₛ / Σₛ nₛ
/// ```
pub fn within_strata(strata: &[Stratum<'_>], seed: u64) -> Option<Permuted> {
    let full: Vec<_> =
        strata.iter().filter(|s| !s.first.is_empty() && !s.second.is_empty()).collect();
    let animals: usize = full.iter().map(|s| s.first.len() + s.second.len()).sum();
    let parts: Vec<Labels> = full.iter().map(|s| Labels::of(s, animals as f64)).collect();
    let observed: f64 = parts.iter().map(|part| part.observed).sum();
    let size: f64 = parts.iter().map(|part| part.size()).sum();
    let mut count = Count::against(observed, size);
    let each = parts.iter().map(|part| arrangements(part.values.len(), part.picked));
    let all = each.fold(1_u64, u64::saturating_mul);
    let exact = all <= MOST_ARRANGEMENTS;
    if exact {
        let lists: Vec<Vec<f64>> = parts.iter().map(Labels::all).collect();
        combine(&lists, 0.0, &mut count);
    } else {
        let mut chance = Chance::new(seed);
        let mut parts = parts;
        for _ in 0..DRAWS {
            count.add(parts.iter_mut().map(|part| part.shuffled(&mut chance)).sum());
        }
    }
    (animals > 0).then(|| count.done(observed, exact))
}

/// One stratum: its values about their mean, and what a sum of the picked ones is multiplied by.
struct Labels {
    values: Vec<f64>,
    /// How many are picked: the smaller group.
    picked: usize,
    factor: f64,
    observed: f64,
}

impl Labels {
    /// With the values about their mean, the difference of means is S₁ (1/n₁ + 1/n₂).
    fn of(stratum: &Stratum<'_>, animals: f64) -> Self {
        let all: Vec<f64> = stratum.first.iter().chain(stratum.second).copied().collect();
        let centre = mean(&all).unwrap_or(0.0);
        let values: Vec<f64> = all.iter().map(|x| x - centre).collect();
        let (n1, n2) = (stratum.first.len(), stratum.second.len());
        let weight = values.len() as f64 / animals;
        let factor = weight * (1.0 / n1 as f64 + 1.0 / n2 as f64);
        let observed = factor * values[..n1].iter().sum::<f64>();
        // S₂ = −S₁: picking the smaller group gives the same differences.
        let (picked, factor) = if n1 <= n2 { (n1, factor) } else { (n2, -factor) };
        Self { values, picked, factor, observed }
    }

    fn size(&self) -> f64 {
        self.factor.abs() * self.values.iter().map(|x| x.abs()).sum::<f64>()
    }

    fn all(&self) -> Vec<f64> {
        let mut list = Vec::new();
        pick(&self.values, self.picked, [0.0; 2], &mut |[sum, _]| list.push(self.factor * sum));
        list
    }

    fn shuffled(&mut self, chance: &mut Chance) -> f64 {
        chance.choose(&mut self.values, self.picked);
        self.factor * self.values[..self.picked].iter().sum::<f64>()
    }
}

/// Every sum of `count` of the values, and that of their squares.
fn pick(values: &[f64], count: usize, sums: [f64; 2], give: &mut impl FnMut([f64; 2])) {
    if count == 0 {
        return give(sums);
    }
    for at in 0..=values.len() - count {
        let x = values[at];
        pick(&values[at + 1..], count - 1, [sums[0] + x, sums[1] + x * x], give);
    }
}

/// Every sum of one number of each list.
fn combine(lists: &[Vec<f64>], sum: f64, count: &mut Count) {
    match lists {
        [] => count.add(sum),
        [list, rest @ ..] => list.iter().for_each(|x| combine(rest, sum + x, count)),
    }
}

/// In how many ways `picked` of `all` can be chosen.
fn arrangements(all: usize, picked: usize) -> u64 {
    (0..picked.min(all - picked))
        .fold(1_u64, |ways, at| ways.saturating_mul((all - at) as u64) / (at as u64 + 1))
}

/// The mean of paired differences, signs shuffled: `None` without any pair.
pub fn signs(differences: &[f64], seed: u64) -> Option<Permuted> {
    let rows: Vec<Vec<f64>> = differences.iter().map(|d| vec![*d]).collect();
    let observed = mean(differences)?;
    let size = differences.iter().map(|d| d.abs()).sum::<f64>();
    let count = flipped(&rows, |sum| sum[0], size, seed);
    Some(Permuted { statistic: observed, ..count })
}

/// Signs of whole rows shuffled: how often `statistic` of the sums of rows is as large. All rows
/// are of one length; `size` is what the statistic could be at most.
pub fn flipped(
    rows: &[Vec<f64>],
    statistic: impl Fn(&[f64]) -> f64,
    size: f64,
    seed: u64,
) -> Permuted {
    let add = |sum: &mut [f64], row: &[f64], sign: f64| {
        for (sum, x) in sum.iter_mut().zip(row) {
            *sum += sign * x;
        }
    };
    let mut sum = vec![0.0; rows.first().map_or(0, Vec::len)];
    for row in rows {
        add(&mut sum, row, 1.0);
    }
    let observed = statistic(&sum);
    let mut count = Count::against(observed, size);
    let exact = rows.len() < 20;
    if exact {
        // One sign changes from one arrangement to the next (Gray code); the sum is built anew now
        // and then, so that rounding does not gather.
        let mut signs = vec![1.0; rows.len()];
        for step in 0..1_u64 << rows.len() {
            if step > 0 {
                let at = step.trailing_zeros() as usize;
                signs[at] = -signs[at];
                add(&mut sum, &rows[at], 2.0 * signs[at]);
            }
            if step.is_multiple_of(256) {
                sum.fill(0.0);
                for (row, sign) in rows.iter().zip(&signs) {
                    add(&mut sum, row, *sign);
                }
            }
            count.add(statistic(&sum));
        }
    } else {
        let mut chance = Chance::new(seed);
        for _ in 0..DRAWS {
            sum.fill(0.0);
            for row in rows {
                add(&mut sum, row, if chance.coin() { 1.0 } else { -1.0 });
            }
            count.add(statistic(&sum));
        }
    }
    count.done(observed, exact)
}

/// The sum of products of two columns about their means, one of them shuffled: the test of a slope,
/// and of ranks, that of Spearman's coefficient. `None` of fewer than three pairs, or where one
/// column does not vary.
pub fn products(x: &[f64], y: &[f64], seed: u64) -> Option<Permuted> {
    let about = |list: &[f64]| -> Option<Vec<f64>> {
        let centre = mean(list)?;
        let about: Vec<f64> = list.iter().map(|v| v - centre).collect();
        about.iter().any(|v| v.abs() > 1e-12 * centre.abs()).then_some(about)
    };
    let (x, mut y) = (about(x)?, about(y)?);
    let sum = |y: &[f64]| x.iter().zip(y).map(|(a, b)| a * b).sum::<f64>();
    let observed = sum(&y);
    let root = |list: &[f64]| list.iter().map(|v| v * v).sum::<f64>().sqrt();
    let mut count = Count::against(observed, root(&x) * root(&y));
    let exact = x.len() <= 9;
    if exact {
        each_order(&mut y, x.len(), &mut |y| count.add(sum(y)));
    } else {
        let mut chance = Chance::new(seed);
        for _ in 0..DRAWS {
            let all = y.len();
            chance.choose(&mut y, all);
            count.add(sum(&y));
        }
    }
    (x.len() > 2).then(|| count.done(observed, exact))
}

/// Every order of the first `count` items, by exchanging two at a time (Heap's way).
fn each_order(items: &mut [f64], count: usize, give: &mut impl FnMut(&[f64])) {
    if count <= 1 {
        return give(items);
    }
    for at in 0..count {
        each_order(items, count - 1, give);
        if at + 1 < count {
            items.swap(if count.is_multiple_of(2) { at } else { 0 }, count - 1);
        }
    }
}

/// The spread of several group means, labels shuffled: `statistic` of ranks this is the test of
/// Kruskal and Wallis.
///
/// ```text
/// Σ_g ( Σ values of g )² / n_g
/// ```
pub fn spread_of_groups(groups: &[Vec<f64>], seed: u64) -> Option<Permuted> {
    let all: Vec<f64> = groups.iter().flatten().copied().collect();
    let centre = mean(&all)?;
    let values: Vec<f64> = all.iter().map(|x| x - centre).collect();
    let sizes: Vec<usize> = groups.iter().map(Vec::len).collect();
    if sizes.contains(&0) || sizes.len() < 2 {
        return None;
    }
    let of_order = |values: &[f64]| {
        let mut rest = values;
        sizes.iter().fold(0.0, |spread, &n| {
            let (own, others) = rest.split_at(n);
            rest = others;
            spread + own.iter().sum::<f64>().powi(2) / n as f64
        })
    };
    let observed = of_order(&values);
    let mut count = Count::against(observed, values.iter().map(|x| x * x).sum());
    let mut left = values.len();
    let ways = sizes.iter().fold(1_u64, |ways, &n| {
        let own = arrangements(left, n);
        left -= n;
        ways.saturating_mul(own)
    });
    let exact = ways <= MOST_ARRANGEMENTS;
    if exact {
        let mut filled: Vec<(usize, f64)> = sizes.iter().map(|&n| (n, 0.0)).collect();
        fill(&values, &sizes, &mut filled, &mut count);
    } else {
        let (mut chance, mut values) = (Chance::new(seed), values);
        for _ in 0..DRAWS {
            let all = values.len();
            chance.choose(&mut values, all);
            count.add(of_order(&values));
        }
    }
    Some(count.done(observed, exact))
}

/// Gives each value to each group that still has room, and counts every full arrangement.
fn fill(values: &[f64], sizes: &[usize], filled: &mut [(usize, f64)], count: &mut Count) {
    let [value, rest @ ..] = values else {
        let spread = filled.iter().zip(sizes).map(|((_, sum), &n)| sum * sum / n as f64).sum();
        return count.add(spread);
    };
    for group in 0..filled.len() {
        let before = filled[group];
        if before.0 > 0 {
            filled[group] = (before.0 - 1, before.1 + value);
            fill(rest, sizes, filled, count);
            filled[group] = before;
        }
    }
}
