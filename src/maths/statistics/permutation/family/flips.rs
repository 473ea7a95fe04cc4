//! Several paired differences, signs of whole animals shuffled.

use super::super::DRAWS;
use super::{Adjusted, Tally, by_values};
use crate::maths::statistics::chance::Chance;

/// Whether means of several differences are zero: `rows` are animals × hypotheses. An animal without a
/// value stays out of that hypothesis. All 2ⁿ sign flips are gone through below 20 animals, else some are
/// drawn. `None` of a hypothesis of fewer than two animals, or whose differences are all zero.
/// Source: [`Source::Westfall1993`](crate::survey::sources::Source::Westfall1993).
///
/// ```text
/// T = Σ d / √( Σ d² )
/// ```
/// T has a standard deviation of 1 over the flips for any number of animals, and orders them as the
/// mean does: p is that of [`signs`](super::super::signs). Level:
/// [`paired()`](crate::maths::statistics::matched::paired()).
pub fn sign_flips(rows: &[Vec<Option<f64>>], seed: u64) -> Vec<Option<Adjusted>> {
    let mut rows: Vec<&Vec<Option<f64>>> = rows.iter().collect();
    rows.sort_by(|a, b| by_values(a, b));
    let hypotheses = rows.iter().map(|row| row.len()).max().unwrap_or(0);
    let columns: Vec<Option<Vec<f64>>> = (0..hypotheses).map(|at| scaled(&rows, at)).collect();
    let tested: Vec<&Vec<f64>> = columns.iter().flatten().collect();
    let table: Vec<Vec<f64>> =
        (0..rows.len()).map(|at| tested.iter().map(|column| column[at]).collect()).collect();
    let observed: Vec<f64> = tested.iter().map(|column| column.iter().sum()).collect();
    let mut tally = Tally::against(&observed);
    let exact = rows.len() < 20;
    if exact {
        all_signs(&table, &mut vec![0.0; tested.len()], &mut tally);
    } else {
        let mut chance = Chance::new(seed);
        let mut sums = vec![0.0; tested.len()];
        for _ in 0..DRAWS {
            sums.fill(0.0);
            for row in &table {
                let sign = if chance.coin() { 1.0 } else { -1.0 };
                sums.iter_mut().zip(row).for_each(|(sum, x)| *sum += sign * x);
            }
            tally.add(&sums);
        }
    }
    let mut tests = tally.done(&observed, exact).into_iter();
    columns.iter().map(|column| column.as_ref().and_then(|_| tests.next())).collect()
}

/// Differences over the root of their sum of squares; 0 where there is none.
fn scaled(rows: &[&Vec<Option<f64>>], at: usize) -> Option<Vec<f64>> {
    let list: Vec<Option<f64>> = rows.iter().map(|row| row.get(at).copied().flatten()).collect();
    let largest = list.iter().flatten().fold(0.0_f64, |most, x| most.max(x.abs()));
    let known = list.iter().flatten().count();
    let over: Vec<f64> = list.iter().map(|x| x.map_or(0.0, |x| x / largest)).collect();
    let root = over.iter().map(|x| x * x).sum::<f64>().sqrt();
    (known > 1 && largest > 0.0 && root.is_finite())
        .then(|| over.iter().map(|x| x / root).collect())
}

/// Adds each row and takes each row off, and so on with the rest.
fn all_signs(rows: &[Vec<f64>], sums: &mut Vec<f64>, tally: &mut Tally) {
    let [row, rest @ ..] = rows else {
        return tally.add(sums);
    };
    let before = sums.clone();
    for sign in [1.0, -1.0] {
        for ((sum, before), x) in sums.iter_mut().zip(&before).zip(row) {
            *sum = before + sign * x;
        }
        all_signs(rest, sums, tally);
    }
}
