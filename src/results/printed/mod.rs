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
use crate::maths::quantity::{plain, short};
use crate::maths::statistics::describe::{mean, sd};

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

/// `mean ± SD (least–greatest), n = …`, all with the same decimals; a dash for nothing.
fn spread(values: &[f64]) -> String {
    let Some(centre) = mean(values) else { return "–".into() };
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let decimals = match least.abs().max(most.abs()) {
        size if 0.0 < size && size < 0.1 => 3,
        size if size < 10.0 => 2,
        size if size < 1000.0 => 1,
        _ => 0,
    };
    let shown = |value| plain(value, decimals);
    let n = values.len();
    match sd(values) {
        Some(sd) => {
            let range = format!("{}–{}", shown(least), shown(most));
            format!("{} ± {} ({range}), n = {n}", shown(centre), shown(sd))
        }
        None => format!("{}, n = 1", shown(centre)),
    }
}

/// A number that may be missing.
fn number(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(|| "–".to_owned(), |value| short(value, digits))
}
