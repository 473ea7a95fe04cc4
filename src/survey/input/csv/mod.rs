//! The bytes of one table as text into a [`Grid`].
//!
//! In: bytes, and what the dictionary has for the table. Out: a grid with the rows' own numbers,
//! and the faults of encoding, separator, quotes and width. Commas, semicolons and tabs may stand
//! between cells, UTF-8 and Windows-1252 are read; whatever is not the plain form is told.
//! Left out: what the cells mean (`survey`). Source for quotes: RFC 4180.

mod encoding;
mod rows;
mod separator;
mod sheet;

use super::table::{is_number, prove_comma, shown, tell_empty, unread};
use crate::survey::dictionary::InputTable;
use crate::survey::fault::{Code, Faults, Place};
use crate::survey::grid::Grid;
use encoding::decoded;
use rows::{Comments, Rows};
use separator::Separator;
use sheet::Sheet;
use std::borrow::Cow;

/// Reads the bytes of `file_name` as the table `columns`. A table of which nothing can be read
/// comes back with its needed headings and no rows, so that no later rule complains of it again.
pub fn read_grid(
    file_name: &str,
    bytes: &[u8],
    columns: &InputTable,
    limit_rows: usize,
    faults: &mut Faults,
) -> Grid {
    let Some(text) = decoded(file_name, bytes, faults) else { return unread(file_name, columns) };
    let separator = Separator::of(&text);
    if matches!(text, Cow::Owned(_)) {
        tell_windows_1252(file_name, &text, separator, faults);
    }
    let mut sheet = Sheet { file_name, rows: Rows::new(&text, separator), limit_rows, faults };
    let Some(headings) = sheet.headings(columns) else { return unread(file_name, columns) };
    if sheet.tell_too_many() {
        return unread(file_name, columns);
    }
    let mut grid = Grid::new(file_name, headings, sheet.rows.row);
    sheet.rows.comments = Comments::default(); // those above the headings are remarks
    let complete = sheet.fill(&mut grid);
    sheet.tell_comments();
    if complete && grid.is_empty() {
        tell_empty(Place::file(file_name), true, columns, faults);
    }
    grid.dialect.decimal_comma = separator != Separator::Comma;
    prove_comma(&mut grid, |heading| is_number(columns, heading));
    if separator != Separator::Comma {
        tell_separator(&grid, separator, faults);
    }
    grid
}

/// Notes where the encoding first mattered, which is where a wrong letter would show.
fn tell_windows_1252(file_name: &str, text: &str, separator: Separator, faults: &mut Faults) {
    let at = text.bytes().position(|byte| !byte.is_ascii()).unwrap_or(0);
    let mut rows = Rows::new(text, separator);
    while rows.advance() && rows.end() <= at {}
    let apart = |c: char| c.is_whitespace() || matches!(c, ',' | ';' | '"');
    let (before, after) = text.split_at(at);
    let head = before.rsplit(apart).next().unwrap_or("");
    let tail = after.split(apart).next().unwrap_or("");
    faults
        .note(Code::Windows1252, Place::file(file_name).row(rows.row))
        .found(shown(&format!("{head}{tail}")))
        .expected("UTF-8")
        .hint("read as Windows-1252; if letters look wrong, save the sheet as CSV UTF-8");
}

fn tell_separator(grid: &Grid, separator: Separator, faults: &mut Faults) {
    let commas = if grid.dialect.comma_proven { ", and decimal commas" } else { "" };
    faults
        .note(Code::OtherSeparator, grid.whole())
        .found(format!("{} between the cells{commas}", separator.word()))
        .expected("commas between the cells, and decimal points")
        .hint("read as it stands; in such a file 12,5 is twelve and a half");
}

fn is_blank(cell: &str) -> bool {
    cell.trim().is_empty()
}
