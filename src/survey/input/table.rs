//! What every table is held to, whether it stands in a file of text or in a workbook.
//!
//! In: what was read of it. Out: its limits, the faults that both kinds can have, and the proof
//! that its commas are decimal.
//! Left out: what only one of the two can get wrong (`csv`, `workbook`).

use crate::survey::dictionary::{ANCHORS, InputTable, Kind};
use crate::survey::fault::{Code, Faults, Place, Severity};
use crate::survey::grid::{Grid, proves_decimal_comma};

/// The longest cell, in bytes: a note of thirty pages. Longer ones come from a lost quote.
pub(super) const LONGEST_CELL: usize = 64 * 1024;
/// The widest table. A field sheet has some thirty columns, and the headings are compared in
/// pairs.
pub(super) const MOST_COLUMNS: usize = 1000;
/// After so many ragged rows a table is given up: a short row takes the place of a whole one, so
/// that a small file with a wide heading could fill the memory.
pub(super) const MOST_RAGGED: usize = 1000;
/// How much of a cell is shown in a fault, in characters.
const SHOWN: usize = 60;

/// A table of which nothing could be read, for reasons already told.
pub(super) fn unread(file_name: &str, columns: &InputTable) -> Grid {
    let needed = columns.columns.iter().filter(|column| column.needed);
    Grid::new(file_name, needed.map(|column| column.heading.into()).collect(), 1)
}

/// Whether the dictionary has numbers under `heading`.
pub(super) fn is_number(columns: &InputTable, heading: &str) -> bool {
    columns.column(heading).is_some_and(|column| matches!(column.kind, Kind::Number(..)))
}

/// Looks for a cell that can only be a number with a decimal comma, in the columns of numbers.
pub(super) fn prove_comma(grid: &mut Grid, is_number: impl Fn(&str) -> bool) {
    if !grid.dialect.decimal_comma || grid.dialect.comma_proven {
        return;
    }
    let headings = grid.headings().iter().enumerate();
    let numbers: Vec<usize> =
        headings.filter(|(_, heading)| is_number(heading)).map(|(at, _)| at).collect();
    let proven = |index| numbers.iter().any(|&at| proves_decimal_comma(grid.cell(index, at)));
    grid.dialect.comma_proven = (0..grid.len()).any(proven);
}

/// Says that a table has no rows. One that has its headings may well be meant to be so.
pub(super) fn tell_empty(place: Place, headed: bool, table: &InputTable, faults: &mut Faults) {
    let severity = match (table.name == ANCHORS.name, headed) {
        (true, _) => Severity::Error,
        (false, false) => Severity::Warning,
        (false, true) => Severity::Note,
    };
    faults
        .report(Code::EmptyTable, severity, place)
        .found("no row")
        .expected(format!("headings, then one row per {}", table.row))
        .hint("was the right sheet saved?");
}

/// The beginning of a text, where the whole would flood a message.
pub(super) fn shown(text: &str) -> String {
    match text.char_indices().nth(SHOWN) {
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or("")),
        None => text.to_owned(),
    }
}
