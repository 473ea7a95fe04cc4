//! What stands beside what shuffled: signs of differences, and the order of one of two columns.

use super::inverted::Linear;
use super::labels::Arranged;
use super::{Count, DRAWS, MOST_ORDERED, MOST_SIGNS, Permuted};
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::describe::mean;

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
    let exact = rows.len() <= MOST_SIGNS;
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
    let mut others = Vec::new();
    let found = shuffled(x, y, seed, |linear| others.push(linear.at_none))?;
    let mut count = Count::against(found.observed, found.size);
    for statistic in others {
        count.add(statistic);
    }
    Some(count.done(found.observed, found.exact))
}

/// Gives the sum of products of every order of one column, and what a slope of 1 would add to it as a
/// share of the sum of squares of x.
pub(super) fn shuffled(
    x: &[f64],
    y: &[f64],
    seed: u64,
    mut give: impl FnMut(Linear),
) -> Option<Arranged> {
    let about = |list: &[f64]| -> Option<Vec<f64>> {
        let centre = mean(list)?;
        let about: Vec<f64> = list.iter().map(|v| v - centre).collect();
        about.iter().any(|v| v.abs() > 1e-12 * centre.abs()).then_some(about)
    };
    let (x, y) = (about(x)?, about(y)?);
    let squares = |list: &[f64]| list.iter().map(|v| v * v).sum::<f64>();
    let (of_x, size) = (squares(&x), (squares(&x) * squares(&y)).sqrt());
    let mut both: Vec<(f64, f64)> = y.iter().copied().zip(x.iter().copied()).collect();
    let sum = |both: &[(f64, f64)]| {
        x.iter().zip(both).fold(Linear::NONE, |sum, (a, (y, x))| {
            sum.plus(Linear { at_none: a * y, slope: a * x / of_x })
        })
    };
    let observed = sum(&both).at_none;
    let exact = x.len() <= MOST_ORDERED;
    if exact {
        each_order(&mut both, x.len(), &mut |both| give(sum(both)));
    } else {
        let mut chance = Chance::new(seed);
        for _ in 0..DRAWS {
            let all = both.len();
            chance.choose(&mut both, all);
            give(sum(&both));
        }
    }
    (x.len() > 2).then_some(Arranged { observed, size, exact })
}

/// Every order of the first `count` items, by exchanging two at a time (Heap's way).
fn each_order<T>(items: &mut [T], count: usize, give: &mut impl FnMut(&[T])) {
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
