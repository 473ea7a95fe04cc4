//! What stands beside what shuffled: signs of differences, and the order of one of two columns.

use super::{Count, DRAWS, MOST_SIGNS, Permuted};
use crate::statistics::chance::Chance;
use crate::statistics::describe::mean;

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
