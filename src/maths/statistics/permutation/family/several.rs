//! Several groups in several metrics, by ranks, labels of whole animals shuffled.

use super::super::labels::arrangements;
use super::super::{DRAWS, MOST_ARRANGEMENTS};
use super::{Adjusted, Tally, sorted};
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::rank::ranks;

/// The spread of several groups in several metrics: H of Kruskal and Wallis of each, with ties, which is
/// on one scale for all metrics, as they have the same groups. `values` are metrics × animals, `groups`
/// tells the group of each animal. p is that of
/// [`kruskal_wallis`](crate::maths::statistics::rank::kruskal_wallis) where no value is missing and all
/// arrangements are gone through. `None` of a metric without a value in one of the groups, or whose values
/// are all equal; and of fewer than two groups. Ranks do not make up for unequal spread: see the level.
/// Sources: [`Source::Westfall1993`](crate::survey::sources::Source::Westfall1993);
/// [`Source::Kruskal1952`](crate::survey::sources::Source::Kruskal1952).
///
/// ```text
/// H = (n − 1) Σ_g n_g (r̄_g − r̄)² / Σ (r − r̄)²
/// ```
///
/// Share of 2,000 null studies with any adjusted p ≤ 0.05 (chance: 0.5 of 100), eight metrics correlated by
/// 0.5, groups of 3, 3 and 4 animals; `×3` has the first or the last group three times as spread out:
///
/// ```text
/// of 100         alike   ×3 first   ×3 last   a tenth missing
/// normal          5.3       9.3      11.1          5.2
/// exponential     5.3      14.3      21.5          5.2
/// ```
pub fn several_groups(
    values: &[Vec<Option<f64>>],
    groups: &[usize],
    seed: u64,
) -> Vec<Option<Adjusted>> {
    let mut names = groups.to_vec();
    names.sort_unstable();
    names.dedup();
    let animals = sorted(values, groups.iter().map(|g| names.partition_point(|name| name < g)));
    let mut labels: Vec<usize> = animals.iter().map(|animal| animal.0).collect();
    let columns: Vec<Option<Ranked>> = (0..values.len())
        .map(|at| Ranked::of(&animals.iter().map(|(_, row)| row[at]).collect::<Vec<_>>()))
        .map(|ranked| ranked.filter(|ranked| ranked.h_of(&labels, names.len()).is_finite()))
        .collect();
    let ranked: Vec<&Ranked> = columns.iter().flatten().filter(|_| names.len() > 1).collect();
    let observed: Vec<f64> = ranked.iter().map(|one| one.h_of(&labels, names.len())).collect();
    let mut study = Study {
        rows: (0..animals.len())
            .map(|at| ranked.iter().map(|one| one.values[at]).collect())
            .collect(),
        sums: vec![vec![[0.0; 2]; ranked.len()]; names.len()],
        found: vec![0.0; ranked.len()],
        tally: Tally::against(&observed),
        ranked,
    };
    let exact = study.arrange(&mut labels, seed);
    let mut tests = study.tally.done(&observed, exact).into_iter();
    columns.iter().map(|column| column.as_ref().and_then(|_| tests.next())).collect()
}

/// Ranks of one metric about their mean.
struct Ranked {
    /// Whether there is a value, and its rank, by animal.
    values: Vec<[f64; 2]>,
    /// Σ (r − r̄)² / (n − 1)
    spread: f64,
}

impl Ranked {
    fn of(list: &[Option<f64>]) -> Option<Self> {
        let known: Vec<f64> = list.iter().copied().flatten().collect();
        let centre = f64::midpoint(known.len() as f64, 1.0);
        let mut ranked = ranks(&known).into_iter();
        let values: Vec<[f64; 2]> = list
            .iter()
            .map(|x| x.and_then(|_| ranked.next()).map_or([0.0; 2], |rank| [1.0, rank - centre]))
            .collect();
        let squares: f64 = values.iter().map(|[_, rank]| rank * rank).sum();
        (squares > 0.0).then(|| Self { values, spread: squares / (known.len() as f64 - 1.0) })
    }

    /// NaN where a group has no value.
    fn h(&self, sums: impl Iterator<Item = [f64; 2]>) -> f64 {
        let parts = sums.map(|[n, sum]| if n > 0.5 { sum * sum / n } else { f64::NAN });
        parts.sum::<f64>() / self.spread
    }

    fn h_of(&self, labels: &[usize], groups: usize) -> f64 {
        let mut sums = vec![[0.0; 2]; groups];
        for (&label, [n, rank]) in labels.iter().zip(&self.values) {
            sums[label] = [sums[label][0] + n, sums[label][1] + rank];
        }
        self.h(sums.into_iter())
    }
}

/// What arrangements are counted with.
struct Study<'a> {
    ranked: Vec<&'a Ranked>,
    /// Animals × metrics.
    rows: Vec<Vec<[f64; 2]>>,
    /// Groups × metrics.
    sums: Vec<Vec<[f64; 2]>>,
    found: Vec<f64>,
    tally: Tally,
}

impl Study<'_> {
    /// Goes through all arrangements, or draws some; whether it was all.
    fn arrange(&mut self, labels: &mut [usize], seed: u64) -> bool {
        let mut rooms = vec![0_usize; self.sums.len()];
        for &label in labels.iter() {
            rooms[label] += 1;
        }
        let mut left = labels.len();
        let ways = rooms.iter().fold(1_u64, |ways, &n| {
            let own = arrangements(left, n);
            left -= n;
            ways.saturating_mul(own)
        });
        let exact = ways <= MOST_ARRANGEMENTS;
        if exact {
            self.fill(0, &mut rooms);
        } else {
            let mut chance = Chance::new(seed);
            for _ in 0..DRAWS {
                chance.choose(labels, labels.len());
                self.sums.iter_mut().for_each(|sums| sums.fill([0.0; 2]));
                for (&label, row) in labels.iter().zip(&self.rows) {
                    add_row(&mut self.sums[label], row);
                }
                self.count();
            }
        }
        exact
    }

    /// Gives the animal `at` to each group that still has room.
    fn fill(&mut self, at: usize, rooms: &mut [usize]) {
        if at == self.rows.len() {
            return self.count();
        }
        for group in 0..rooms.len() {
            if rooms[group] > 0 {
                let before = self.sums[group].clone();
                rooms[group] -= 1;
                add_row(&mut self.sums[group], &self.rows[at]);
                self.fill(at + 1, rooms);
                rooms[group] += 1;
                self.sums[group] = before;
            }
        }
    }

    fn count(&mut self) {
        for (at, (found, ranked)) in self.found.iter_mut().zip(&self.ranked).enumerate() {
            *found = ranked.h(self.sums.iter().map(|sums| sums[at]));
        }
        self.tally.add(&self.found);
    }
}

fn add_row(to: &mut [[f64; 2]], row: &[[f64; 2]]) {
    for (to, x) in to.iter_mut().zip(row) {
        *to = [to[0] + x[0], to[1] + x[1]];
    }
}
