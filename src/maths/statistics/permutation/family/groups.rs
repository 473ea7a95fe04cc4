//! Two groups in several metrics, labels of whole animals shuffled.

use super::super::labels::{Welch, arrangements};
use super::super::{DRAWS, MOST_ARRANGEMENTS};
use super::{Adjusted, Tally, sorted};
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::describe::mean;

/// How many values, their sum and that of their squares, of one metric.
type Sums = [f64; 3];

/// The difference of two groups in several metrics: Welch's t of each, compared on the scale of the
/// normal, as in [`studentised`](super::super::studentised), whose p it gives where no value is missing
/// and all arrangements are gone through. `values` are metrics × animals, `first` tells which animals are
/// of the first group. The statistic is t. An animal without a value stays out of that metric. `None` of a
/// metric with fewer than two values in a group, or whose values are all equal.
/// Sources: [`Source::Westfall1993`](crate::survey::sources::Source::Westfall1993);
/// [`Source::Chung2016`](crate::survey::sources::Source::Chung2016).
pub fn two_groups(values: &[Vec<Option<f64>>], first: &[bool], seed: u64) -> Vec<Option<Adjusted>> {
    let count_of_first = first.iter().filter(|is| **is).count();
    let animals = sorted(values, first.iter().map(|is| !is));
    let columns: Vec<Option<Metric>> =
        (0..values.len()).map(|at| Metric::of(&animals, at, count_of_first)).collect();
    let metrics: Vec<&Metric> = columns.iter().flatten().collect();
    let mut rows: Vec<Vec<Sums>> = (0..animals.len())
        .map(|at| metrics.iter().map(|metric| metric.values[at]).collect())
        .collect();
    let z: Vec<f64> = metrics.iter().map(|metric| metric.observed[1]).collect();
    let mut tally = Tally::against(&z);
    let picked = count_of_first.min(animals.len() - count_of_first);
    let mut found = vec![0.0; metrics.len()];
    let mut count = |sums: &[Sums]| {
        for ((z, metric), sums) in found.iter_mut().zip(&metrics).zip(sums) {
            *z = metric.z(*sums);
        }
        tally.add(&found);
    };
    let exact = arrangements(animals.len(), picked) <= MOST_ARRANGEMENTS;
    if exact {
        let mut levels = vec![vec![[0.0; 3]; metrics.len()]; picked + 1];
        pick(&rows, picked, &mut levels, &mut count);
    } else {
        draw(&mut rows, picked, seed, &mut count);
    }
    let mut tests = tally.done(&z, exact).into_iter();
    let done = columns.iter().map(|column| {
        let t = column.as_ref()?.observed[0];
        tests.next().map(|test| Adjusted { statistic: t, ..test })
    });
    done.collect()
}

/// One metric, its values taken from their mean.
struct Metric {
    /// By animal; all zero where it has none.
    values: Vec<Sums>,
    whole: Sums,
    /// t and z.
    observed: [f64; 2],
}

impl Metric {
    fn of(animals: &[(bool, Vec<Option<f64>>)], at: usize, of_first: usize) -> Option<Self> {
        let list: Vec<Option<f64>> = animals.iter().map(|(_, row)| row[at]).collect();
        let centre = mean(&list.iter().copied().flatten().collect::<Vec<f64>>())?;
        let sums = |x: Option<f64>| x.map_or([0.0; 3], |x| [1.0, x - centre, (x - centre).powi(2)]);
        let values: Vec<Sums> = list.into_iter().map(sums).collect();
        let add = |to: Sums, x: &Sums| [to[0] + x[0], to[1] + x[1], to[2] + x[2]];
        let whole = values.iter().fold([0.0; 3], add);
        let own = values[..of_first].iter().fold([0.0; 3], add);
        let welch = welch(own, whole)?;
        let differ = whole[2] > 1e-24 * centre * centre;
        differ.then(|| Self { values, whole, observed: welch.of([own[1], own[2]]) })
    }

    /// On the scale of the normal; NaN of too few in a group.
    fn z(&self, [n, sum, squares]: Sums) -> f64 {
        welch([n, sum, squares], self.whole).map_or(f64::NAN, |welch| welch.of([sum, squares])[1])
    }
}

fn welch(own: Sums, whole: Sums) -> Option<Welch> {
    let sizes = [own[0], whole[0] - own[0]];
    let enough = sizes.iter().all(|n| *n > 1.5);
    enough.then_some(Welch { sizes, sum: 0.0, squares: whole[2] })
}

fn add_row(to: &mut [Sums], row: &[Sums]) {
    for (to, x) in to.iter_mut().zip(row) {
        for (to, x) in to.iter_mut().zip(x) {
            *to += x;
        }
    }
}

/// Every sum of `count` of the rows; `levels` begin with what was picked before.
fn pick(
    rows: &[Vec<Sums>],
    count: usize,
    levels: &mut [Vec<Sums>],
    give: &mut impl FnMut(&[Sums]),
) {
    let [before, rest @ ..] = levels else { return };
    if count == 0 {
        return give(before);
    }
    for at in 0..=rows.len() - count {
        let Some(sums) = rest.first_mut() else { return };
        sums.copy_from_slice(before);
        add_row(sums, &rows[at]);
        pick(&rows[at + 1..], count - 1, rest, give);
    }
}

fn draw(rows: &mut [Vec<Sums>], count: usize, seed: u64, give: &mut impl FnMut(&[Sums])) {
    let mut chance = Chance::new(seed);
    let mut sums = vec![[0.0; 3]; rows.first().map_or(0, Vec::len)];
    for _ in 0..DRAWS {
        chance.choose(rows, count);
        sums.fill([0.0; 3]);
        rows[..count].iter().for_each(|row| add_row(&mut sums, row));
        give(&sums);
    }
}
