//! A table as text: headings, rows of cells, and where each row stood.

use crate::survey::fault::Place;
use std::sync::Arc;

/// How a table was written, as far as it changes how its cells are read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Dialect {
    /// Whether a comma may stand for the decimal point (semicolon- or tab-separated files).
    pub decimal_comma: bool,
    /// Whether some cell shows that it does: `12,5` can be read in one way only.
    pub comma_proven: bool,
}

/// A table as text. All cells lie end to end in one string, so that a million rows stay small.
#[derive(Debug, Default)]
pub struct Grid {
    /// The file, as the user names it.
    pub file: Arc<str>,
    /// The sheet, in a workbook.
    pub sheet: Option<Arc<str>>,
    /// The column of the first heading, counted from 0, in a workbook.
    pub first_column: usize,
    /// How it was written.
    pub dialect: Dialect,
    headings: Vec<Arc<str>>,
    heading_row: usize,
    text: String,
    ends: Vec<usize>,
    rows: Vec<usize>,
}

impl Grid {
    /// An empty table of `file` with these headings, which stand at `row`.
    pub fn new(file: &str, headings: Vec<Arc<str>>, row: usize) -> Self {
        Self { file: file.into(), headings, heading_row: row, ..Self::default() }
    }

    /// The same table under other headings and without rows.
    #[must_use]
    pub fn emptied(&self, headings: Vec<Arc<str>>) -> Self {
        let (file, sheet, dialect) = (self.file.clone(), self.sheet.clone(), self.dialect);
        Self { sheet, dialect, ..Self::new(&file, headings, self.heading_row) }
    }

    /// The headings, as mapped to the names of the dictionary where a map was given.
    pub fn headings(&self) -> &[Arc<str>] {
        &self.headings
    }

    /// Gives the column at `at` another heading.
    pub fn rename(&mut self, at: usize, heading: &str) {
        if let Some(old) = self.headings.get_mut(at) {
            *old = heading.into();
        }
    }

    /// The column headed `heading`.
    pub fn column(&self, heading: &str) -> Option<usize> {
        self.headings.iter().position(|known| known.as_ref() == heading)
    }

    /// Adds a row that stood at `row` of its file. Cells beyond the headings are dropped, missing
    /// ones are blank; the reader has reported either.
    pub fn push<'a>(&mut self, row: usize, cells: impl Iterator<Item = &'a str>) {
        let wanted = self.ends.len() + self.headings.len();
        for cell in cells.take(self.headings.len()) {
            self.text.push_str(cell);
            self.ends.push(self.text.len());
        }
        self.ends.resize(wanted, self.text.len());
        self.rows.push(row);
    }

    /// How many rows there are, the heading not counted.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether there is no row.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The text of a cell; blank where there is none.
    pub fn cell(&self, index: usize, column: usize) -> &str {
        let at = index * self.headings.len() + column;
        let start = if at == 0 { 0 } else { self.ends.get(at - 1).copied().unwrap_or(0) };
        self.ends.get(at).and_then(|&end| self.text.get(start..end)).unwrap_or("")
    }

    /// The row of the file in which row `index` stood. Rows count from 1, as in a spreadsheet;
    /// the headings are row 1 unless remarks stand above them.
    pub fn row(&self, index: usize) -> usize {
        self.rows.get(index).copied().unwrap_or(0)
    }

    /// The place of the column headed `heading` in row `index`.
    pub fn place(&self, index: usize, heading: &str) -> Place {
        self.at(self.row(index), heading)
    }

    /// The place of a heading.
    pub fn heading_place(&self, heading: &str) -> Place {
        self.at(self.heading_row.max(1), heading)
    }

    fn at(&self, row: usize, heading: &str) -> Place {
        let column = self.sheet.as_ref().and_then(|_| self.column(heading));
        let cell = column.map(|at| cell_name(row, self.first_column + at).into());
        Place { cell, ..self.whole().row(row).column(heading) }
    }

    /// The place of the whole table.
    pub fn whole(&self) -> Place {
        Place { file: self.file.clone(), sheet: self.sheet.clone(), ..Place::default() }
    }
}

/// The name of a cell in a spreadsheet, as `C13`: rows count from 1, columns from 0.
pub fn cell_name(row: usize, column: usize) -> String {
    format!("{}{row}", column_letters(column))
}

/// The letters of a column: 0 is A, 26 is AA.
pub fn column_letters(column: usize) -> String {
    let mut letters =
        column.checked_sub(26).map_or_else(String::new, |_| column_letters(column / 26 - 1));
    letters.push(u8::try_from(column % 26).map_or('?', |last| char::from(b'A' + last)));
    letters
}

/// Whether a cell shows that a comma is the decimal mark: `12,5`, `0,25`, `1,2345`.
pub fn proves_decimal_comma(cell: &str) -> bool {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    cell.trim().trim_start_matches('-').split_once(',').is_some_and(|(whole, decimals)| {
        digits(whole)
            && digits(decimals)
            && (decimals.len() != 3 || whole.len() > 3 || whole == "0")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ragged_row_keeps_its_neighbours_in_place() {
        let mut grid = Grid::new("anchors.csv", vec!["trail".into(), "anchor".into()], 1);
        grid.push(2, ["A", "1", "stray"].into_iter());
        grid.push(4, ["B"].into_iter());
        grid.push(5, ["C", "3"].into_iter());
        assert_eq!((grid.cell(0, 0), grid.cell(0, 1)), ("A", "1"));
        assert_eq!((grid.cell(1, 0), grid.cell(1, 1)), ("B", ""));
        assert_eq!((grid.cell(2, 0), grid.cell(2, 1)), ("C", "3"));
        assert_eq!(grid.row(1), 4);
    }

    #[test]
    fn only_three_decimals_after_a_short_whole_leave_a_comma_in_doubt() {
        assert!(proves_decimal_comma("12,5") && proves_decimal_comma("-0,125"));
        assert!(!proves_decimal_comma("1,234") && !proves_decimal_comma("1.5"));
    }
}
