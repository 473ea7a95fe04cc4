//! Every way to label the animals of two groups anew, or a draw of them.
//!
//! In: how many animals, how many of them the first group has, a seed. Out: for each arrangement, which
//! places belong to the first group. Places are those of the animals of both groups, shortest first, so
//! that the order of the rows does not matter.

use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::permutation::{DRAWS, MOST_ARRANGEMENTS, Permuted};

/// What is left of the observed size of a statistic so that rounding parts no ties.
const LESS_ROUNDING: f64 = 1.0 - 1e-9;

/// The sizes of a statistic in all arrangements, or in those drawn.
#[derive(Clone, Debug)]
pub(super) struct Sizes {
    sizes: Vec<f64>,
    exact: bool,
}

impl Sizes {
    /// Goes through all arrangements where there are at most [`MOST_ARRANGEMENTS`], else draws [`DRAWS`].
    pub(super) fn of(
        [all, first]: [usize; 2],
        seed: u64,
        mut size: impl FnMut(&[bool]) -> f64,
    ) -> Self {
        let mut sizes = Vec::new();
        let mut is_first = vec![false; all];
        let exact = ways(all, first) <= MOST_ARRANGEMENTS;
        if exact {
            label(&mut is_first, 0, first, &mut |labels| sizes.push(size(labels)));
        } else {
            let mut chance = Chance::new(seed);
            let mut places: Vec<usize> = (0..all).collect();
            for _ in 0..DRAWS {
                chance.choose(&mut places, first);
                is_first.fill(false);
                places.iter().take(first).for_each(|&place| is_first[place] = true);
                sizes.push(size(&is_first));
            }
        }
        sizes.sort_by(|a, b| b.total_cmp(a));
        Self { sizes, exact }
    }

    /// The test of an observed statistic, of which this is the size.
    pub(super) fn test(&self, statistic: f64, size: f64) -> Permuted {
        let bar = size * LESS_ROUNDING;
        let as_large = self.sizes.partition_point(|other| *other >= bar) as u64;
        let arrangements = self.sizes.len() as u64;
        Permuted { statistic, as_large, arrangements, exact: self.exact }
    }

    /// The largest size that has a chance above `level`; `None` where none has less.
    pub(super) fn not_refused(&self, level: f64) -> Option<f64> {
        let chance = |size: f64| self.test(size, size).p();
        let refused = self.sizes.partition_point(|size| chance(*size) <= level);
        let size = self.sizes.get(refused).copied();
        size.filter(|_| refused > 0)
    }
}

/// In how many ways `picked` of `all` can be chosen.
fn ways(all: usize, picked: usize) -> u64 {
    (0..picked.min(all - picked))
        .fold(1_u64, |ways, at| ways.saturating_mul((all - at) as u64) / (at as u64 + 1))
}

/// Gives every way to label `left` more places from `from` on.
fn label(is_first: &mut [bool], from: usize, left: usize, give: &mut impl FnMut(&[bool])) {
    if left == 0 {
        return give(is_first);
    }
    for at in from..=is_first.len() - left {
        is_first[at] = true;
        label(is_first, at + 1, left - 1, give);
        is_first[at] = false;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_arrangements_are_gone_through_once() {
        let place = |labels: &[bool]| labels.iter().fold(0.0, |n, &b| 2.0 * n + f64::from(b));
        let Sizes { mut sizes, exact } = Sizes::of([6, 2], 1, place);
        assert!(exact && sizes.len() == 15);
        sizes.dedup();
        assert_eq!(sizes.len(), 15);
    }

    #[test]
    fn too_many_are_drawn() {
        let mut firsts = 0;
        let found = Sizes::of([40, 20], 1, |labels| {
            assert_eq!(labels.iter().filter(|is| **is).count(), 20);
            firsts += usize::from(labels[0]);
            0.0
        });
        assert!(!found.exact && found.sizes.len() == 19_999);
        assert!((9_600..10_400).contains(&firsts), "half of the draws: {firsts}");
    }

    #[test]
    fn the_largest_size_that_stands_is_where_p_turns() {
        let mut next = 0.0;
        let sizes = Sizes::of([7, 3], 1, |_| {
            next += 1.0;
            next
        });
        // 35 arrangements of sizes 1 to 35: p of 35 is 1/35, of 34 2/35 = 0.057
        assert_eq!(sizes.not_refused(0.05), Some(34.0));
        assert_eq!(sizes.not_refused(0.02), None);
    }
}
