//! The five tables of a paper, as they are printed.
//!
//! In: an [`Analysis`]. Out: headings, cells as text, and notes. Every number is one of
//! `metrics.csv`, `groups.csv`, `supports.csv`, `selection.csv`, `perches.csv` or of the survey's
//! own tables, rounded for a reader. n is a number of animals.

mod animals;
mod groups;
mod movement;
mod stays;
mod supports;
mod vertical;
mod welfare;

use super::Analysis;
use crate::quantity::significant;
use crate::statistics::describe::{mean, sd};

/// One printed table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printed {
    /// The stem of its file.
    pub stem: &'static str,
    /// Its title, as it stands above it.
    pub title: String,
    /// The heads of its columns.
    pub heads: Vec<String>,
    /// Its rows.
    pub rows: Vec<Vec<String>>,
    /// What stands below it.
    pub notes: Vec<String>,
}

/// The five tables, in the order of a paper.
pub fn printed(analysis: &Analysis) -> [Printed; 5] {
    [
        animals::table(analysis),
        movement::table(analysis),
        vertical::table(analysis),
        supports::table(analysis),
        welfare::table(analysis),
    ]
}

/// `mean ± SD (least–greatest), n`; a dash for nothing.
fn spread(values: &[f64]) -> String {
    let Some(centre) = mean(values) else { return "–".into() };
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let n = values.len();
    match sd(values) {
        Some(sd) => format!(
            "{} ± {} ({}–{}), {n}",
            significant(centre, 3),
            significant(sd, 2),
            significant(least, 3),
            significant(most, 3)
        ),
        None => format!("{}, 1", significant(centre, 3)),
    }
}

/// A number that may be missing.
fn number(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(|| "–".to_owned(), |value| significant(value, digits))
}
