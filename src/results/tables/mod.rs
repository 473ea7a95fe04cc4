//! The result tables: one description of each, from which CSV, metadata, JSON and report follow.
//!
//! In: an [`Analysis`]. Out: [`Table`]s: a name, what a row is, the columns with unit, decimals and
//! meaning, and rows of [`Cell`]s handed over one at a time.
//! Left out: how a cell is written down (`cli`), and what the tables come to (`answer`).

mod animal_overlap;
mod animal_space;
mod animal_space_growth;
mod animals;
mod bouts;
mod closures;
pub mod groups;
mod heights;
pub mod legs;
mod methods_compared;
mod metrics;
mod perches;
mod positions;
mod precisions;
mod repeated_nights;
mod residuals;
mod sections;
mod selection;
mod supports;
pub mod tests;
mod trails;

use super::Analysis;
use crate::survey::dictionary::InputTable;
use crate::survey::grid::Grid;
use std::borrow::Cow;

pub use closures::closure_name;

/// One cell of a result.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cell<'a> {
    /// Not known, or not defined.
    Blank,
    /// A name or a word.
    Text(&'a str),
    /// A number in the unit of its column; not a number is blank.
    Number(f64),
    /// A count.
    Count(usize),
}

impl<'a> Cell<'a> {
    /// A number that may be missing.
    pub fn number(value: Option<f64>) -> Self {
        value.map_or(Self::Blank, Self::Number)
    }

    /// A text that may be missing.
    pub fn text(value: Option<&'a str>) -> Self {
        value.map_or(Self::Blank, Self::Text)
    }

    /// `yes`, or blank.
    pub fn yes(value: bool) -> Self {
        if value { Self::Text("yes") } else { Self::Blank }
    }
}

/// What the cells of a column hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Names and words.
    Text,
    /// Numbers, with so many decimals.
    Number(u8),
    /// Whole numbers.
    Count,
}

/// One column of a result table.
#[derive(Clone, Debug)]
pub struct Column {
    /// Its name, unit included.
    pub name: Cow<'static, str>,
    /// Its unit, blank where it has none.
    pub unit: &'static str,
    /// What its cells hold.
    pub kind: Kind,
    /// What it means.
    pub meaning: Cow<'static, str>,
}

/// A column of names or words.
const fn text(name: &'static str, meaning: &'static str) -> Column {
    column(name, "", Kind::Text, meaning)
}

/// A column of numbers.
const fn number(
    name: &'static str,
    unit: &'static str,
    decimals: u8,
    meaning: &'static str,
) -> Column {
    column(name, unit, Kind::Number(decimals), meaning)
}

/// A column of metres to a tenth of a millimetre.
const fn metres(name: &'static str, meaning: &'static str) -> Column {
    number(name, "m", 4, meaning)
}

/// A column of whole numbers.
const fn count(name: &'static str, meaning: &'static str) -> Column {
    column(name, "", Kind::Count, meaning)
}

const fn column(
    name: &'static str,
    unit: &'static str,
    kind: Kind,
    meaning: &'static str,
) -> Column {
    Column { name: Cow::Borrowed(name), unit, kind, meaning: Cow::Borrowed(meaning) }
}

/// Takes one row after the other.
pub type Emit<'e> = dyn FnMut(&[Cell<'_>]) + 'e;

/// One result table.
pub struct Table {
    /// The stem of its file.
    pub name: &'static str,
    /// What one row is.
    pub meaning: &'static str,
    /// Its columns.
    pub columns: Vec<Column>,
    rows: fn(&Analysis, &mut Emit<'_>),
}

impl Table {
    /// Hands every row to `emit`, in order.
    pub fn for_each_row(&self, analysis: &Analysis, emit: &mut Emit<'_>) {
        (self.rows)(analysis, emit);
    }

    /// Whether it has a row an anchor or more, and stands in its CSV only.
    pub fn is_long(&self) -> bool {
        ["positions", "legs", "residuals", "heights"].contains(&self.name)
    }
}

/// All result tables of an analysis.
pub fn tables(analysis: &Analysis) -> Vec<Table> {
    let mut tables = vec![
        positions::table(analysis),
        legs::table(analysis),
        closures::table(),
        residuals::table(),
        precisions::table(),
        metrics::table(),
        trails::table(analysis),
        sections::table(),
        bouts::table(),
        heights::table(),
        supports::table(),
        perches::table(),
        selection::table(),
        animals::table(analysis),
        animal_space::table(),
        animal_space_growth::table(),
        animal_overlap::table(),
        groups::table(),
        repeated_nights::table(),
        tests::table(),
    ];
    if !analysis.compared.is_empty() {
        tables.push(methods_compared::table());
    }
    tables
}

/// A standard deviation; one that rounding made negative is nothing, one that is not known blank.
fn sd(variance: f64) -> Cell<'static> {
    Cell::Number(if variance < 0.0 { 0.0 } else { variance.sqrt() })
}

/// A column of the user's own.
fn passed_on(name: &str) -> Column {
    Column {
        name: Cow::Owned(name.to_owned()),
        unit: "",
        kind: Kind::Text,
        meaning: Cow::Borrowed("as written in the survey"),
    }
}

/// The columns of `grid` that the dictionary does not know, by place: the user's own factors.
fn factors(grid: Option<&Grid>, known: &InputTable) -> Vec<usize> {
    let Some(grid) = grid else { return Vec::new() };
    let own = |heading: &str| !heading.is_empty() && known.column(heading).is_none();
    (0..grid.headings().len()).filter(|&at| own(&grid.headings()[at])).collect()
}

impl Analysis {
    /// The name of a trail's animal, blank where nobody wrote it.
    fn animal_name(&self, trail: usize) -> Cell<'_> {
        let listed = self.network.trails[trail].listed.map(|at| &self.survey.trails[at]);
        let animal = listed.and_then(|row| row.animal);
        animal.map_or(Cell::Blank, |animal| Cell::Text(self.survey.text(animal)))
    }
}

/// The part of a path for a leg or point of it.
fn part_name(escape: bool) -> &'static str {
    if escape { "escape" } else { "after_escape" }
}
