//! Labels of groups shuffled.

use super::inverted::Linear;
use super::{Count, DRAWS, MOST_ARRANGEMENTS, Permuted};
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::describe::mean;

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
/// alone does not. Arrangements are compared by t on the scale of the normal, which allows for the
/// few degrees of freedom of a small group that is spread out: t of three strays farther than t of
/// twelve. `None` of fewer than two values in a group, or where all are equal. Sources:
/// [`Source::Janssen1997`](crate::survey::sources::Source::Janssen1997);
/// [`Source::Chung2016`](crate::survey::sources::Source::Chung2016) for the common scale;
/// [`Source::Welch1947`](crate::survey::sources::Source::Welch1947) for ν;
/// [`Source::Wallace1959`](crate::survey::sources::Source::Wallace1959) for z.
///
/// ```text
/// t = (mean first − mean second) / √( V₁ + V₂ )        V = s²/n
/// ν = ( V₁ + V₂ )² / ( V₁²/(n₁ − 1) + V₂²/(n₂ − 1) )
/// z = (8ν + 1)/(8ν + 3) √( ν ln( 1 + t²/ν ) )
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
    let welch = Welch { sizes: [n1, n2], sum: 0.0, squares };
    let sums = |own: &[f64]| own.iter().fold([0.0; 2], |[s, q], x| [s + x, q + x * x]);
    let [t, z] = welch.of(sums(&values[..first.len()]));
    let mut count = Count::against(z, z);
    let exact = arrangements(values.len(), first.len()) <= MOST_ARRANGEMENTS;
    if exact {
        let squared: Vec<[f64; 2]> = values.iter().map(|x| [*x, x * x]).collect();
        pick(&squared, first.len(), [0.0; 2], &mut |sums| count.add(welch.of(sums)[1]));
    } else {
        let mut chance = Chance::new(seed);
        for _ in 0..DRAWS {
            chance.choose(&mut values, first.len());
            count.add(welch.of(sums(&values[..first.len()]))[1]);
        }
    }
    Some(count.done(t, exact))
}

/// Welch's t of two groups of these sizes, whose values add up to `sum`, and their squares to `squares`:
/// the sums of the first tell those of the second.
#[derive(Clone, Copy, Debug)]
pub(in crate::maths::statistics) struct Welch {
    pub(in crate::maths::statistics) sizes: [f64; 2],
    pub(in crate::maths::statistics) sum: f64,
    pub(in crate::maths::statistics) squares: f64,
}

impl Welch {
    /// t, and its size on the scale of the normal, by the sums of the first group.
    pub(super) fn of(&self, sums: [f64; 2]) -> [f64; 2] {
        let parts = self.parts(sums);
        let [difference, _, variance] = parts;
        [difference / variance.sqrt(), self.z(parts)]
    }

    /// Whether z is at least `bar`. It is never above |t|, which most arrangements fall short with.
    pub(super) fn reaches(&self, sums: [f64; 2], bar: f64) -> bool {
        let [difference, _, variance] = self.parts(sums);
        difference * difference >= bar * bar * variance * (1.0 - 1e-12) && self.of(sums)[1] >= bar
    }

    /// The difference of means, the variance of the first, and that of the difference.
    pub(in crate::maths::statistics) fn parts(&self, [sum, square]: [f64; 2]) -> [f64; 3] {
        let [n1, n2] = self.sizes;
        let other = self.sum - sum;
        let first = (square - sum * sum / n1) / (n1 * (n1 - 1.0));
        let second = (self.squares - square - other * other / n2) / (n2 * (n2 - 1.0));
        // Groups without any spread: as far out as rounding lets a spread be told from none.
        let variance = (first + second).max(1e-18 * self.squares);
        [sum / n1 - other / n2, first, variance]
    }

    /// The size of t on the scale of the normal, by these parts.
    pub(in crate::maths::statistics) fn z(&self, [difference, first, variance]: [f64; 3]) -> f64 {
        let [n1, n2] = self.sizes;
        let t = difference / variance.sqrt();
        let share = (first / variance).clamp(0.0, 1.0);
        let nu = (share.powi(2) / (n1 - 1.0) + (1.0 - share).powi(2) / (n2 - 1.0)).recip();
        to_normal(nu) * (nu * (t * t / nu).ln_1p()).sqrt()
    }
}

/// (8ν + 1)/(8ν + 3), by which t of ν degrees of freedom comes to the scale of the normal.
pub(in crate::maths::statistics) fn to_normal(nu: f64) -> f64 {
    (8.0 * nu + 1.0) / (8.0 * nu + 3.0)
}

/// The mean over strata of the difference of means, weighted by the animals of each stratum;
/// labels are shuffled within strata only. A stratum that lacks one of the groups tells nothing of
/// the difference and is passed over; `None` where none is left.
///
/// ```text
/// Σₛ nₛ (mean first − mean second)ₛ / Σₛ nₛ
/// ```
pub fn within_strata(strata: &[Stratum<'_>], seed: u64) -> Option<Permuted> {
    let mut others = Vec::new();
    let found = arranged(strata, seed, |linear| others.push(linear.at_none))?;
    let mut count = Count::against(found.observed, found.size);
    for statistic in others {
        count.add(statistic);
    }
    Some(count.done(found.observed, found.exact))
}

/// What arrangements are measured by.
pub(super) struct Arranged {
    pub(super) observed: f64,
    /// What the statistic could be at most.
    pub(super) size: f64,
    /// Whether all arrangements were given.
    pub(super) exact: bool,
}

/// Gives every arrangement of the labels within strata, or as many as are drawn; `None` where no stratum
/// has both groups.
pub(super) fn arranged(
    strata: &[Stratum<'_>],
    seed: u64,
    mut give: impl FnMut(Linear),
) -> Option<Arranged> {
    let full: Vec<_> =
        strata.iter().filter(|s| !s.first.is_empty() && !s.second.is_empty()).collect();
    let animals: usize = full.iter().map(|s| s.first.len() + s.second.len()).sum();
    let mut parts: Vec<Labels> = full.iter().map(|s| Labels::of(s, animals as f64)).collect();
    let observed = parts.iter().map(|part| part.observed).sum();
    let size = parts.iter().map(|part| part.size()).sum();
    let each = parts.iter().map(|part| arrangements(part.values.len(), part.picked));
    let exact = each.fold(1_u64, u64::saturating_mul) <= MOST_ARRANGEMENTS;
    if exact {
        let lists: Vec<Vec<Linear>> = parts.iter().map(Labels::all).collect();
        combine(&lists, Linear::NONE, &mut give);
    } else {
        let mut chance = Chance::new(seed);
        for _ in 0..DRAWS {
            give(
                parts
                    .iter_mut()
                    .fold(Linear::NONE, |sum, part| sum.plus(part.shuffled(&mut chance))),
            );
        }
    }
    (animals > 0).then_some(Arranged { observed, size, exact })
}

/// One stratum: its values about their mean and whether each is of the first group, and what a sum of the
/// picked ones is multiplied by.
struct Labels {
    values: Vec<(f64, bool)>,
    /// How many are picked: the smaller group.
    picked: usize,
    factor: f64,
    firsts: f64,
    observed: f64,
}

impl Labels {
    /// With the values about their mean, the difference of means is S₁ (1/n₁ + 1/n₂).
    fn of(stratum: &Stratum<'_>, animals: f64) -> Self {
        let all: Vec<f64> = stratum.first.iter().chain(stratum.second).copied().collect();
        let centre = mean(&all).unwrap_or(0.0);
        let (n1, n2) = (stratum.first.len(), stratum.second.len());
        let values: Vec<(f64, bool)> =
            all.iter().enumerate().map(|(at, x)| (x - centre, at < n1)).collect();
        let weight = values.len() as f64 / animals;
        let factor = weight * (1.0 / n1 as f64 + 1.0 / n2 as f64);
        let observed = factor * values[..n1].iter().map(|(x, _)| x).sum::<f64>();
        // S₂ = −S₁: picking the smaller group gives the same differences.
        let (picked, factor) = if n1 <= n2 { (n1, factor) } else { (n2, -factor) };
        Self { values, picked, factor, firsts: n1 as f64, observed }
    }

    fn size(&self) -> f64 {
        self.factor.abs() * self.values.iter().map(|(x, _)| x.abs()).sum::<f64>()
    }

    /// By the sum of the picked, and how many of these are of the first group. Taking δ off the first group
    /// takes off the difference δ · factor · (picked of the first − what the picked have of them on average).
    fn linear(&self, [sum, of_first]: [f64; 2]) -> Linear {
        let usual = self.picked as f64 * self.firsts / self.values.len() as f64;
        Linear { at_none: self.factor * sum, slope: self.factor * (of_first - usual) }
    }

    fn all(&self) -> Vec<Linear> {
        let counted: Vec<[f64; 2]> =
            self.values.iter().map(|(x, is_first)| [*x, f64::from(u8::from(*is_first))]).collect();
        let mut list = Vec::new();
        pick(&counted, self.picked, [0.0; 2], &mut |sums| list.push(self.linear(sums)));
        list
    }

    fn shuffled(&mut self, chance: &mut Chance) -> Linear {
        chance.choose(&mut self.values, self.picked);
        let own = self.values[..self.picked].iter();
        self.linear(own.fold([0.0; 2], |[sum, of_first], (x, is_first)| {
            [sum + x, of_first + f64::from(u8::from(*is_first))]
        }))
    }
}

/// Every sum of `count` of the pairs.
fn pick(pairs: &[[f64; 2]], count: usize, sums: [f64; 2], give: &mut impl FnMut([f64; 2])) {
    if count == 0 {
        return give(sums);
    }
    for at in 0..=pairs.len() - count {
        let [x, y] = pairs[at];
        pick(&pairs[at + 1..], count - 1, [sums[0] + x, sums[1] + y], give);
    }
}

/// Every sum of one of each list.
fn combine(lists: &[Vec<Linear>], sum: Linear, give: &mut impl FnMut(Linear)) {
    match lists {
        [] => give(sum),
        [list, rest @ ..] => list.iter().for_each(|one| combine(rest, sum.plus(*one), give)),
    }
}

/// In how many ways `picked` of `all` can be chosen.
pub(in crate::maths::statistics) fn arrangements(all: usize, picked: usize) -> u64 {
    (0..picked.min(all - picked))
        .fold(1_u64, |ways, at| ways.saturating_mul((all - at) as u64) / (at as u64 + 1))
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
