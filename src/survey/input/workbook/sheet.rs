//! The cells of one sheet into a [`Grid`], with a fault for each that is no plain reading.

use super::Trouble;
use super::cell::{Content, Found};
use super::reading::{Misread, is_number, is_word, kind_of, misread, plain, reads_as_number};
use crate::maths::quantity::count_of;
use crate::survey::dictionary::{InputTable, Kind};
use crate::survey::fault::{Code, Faults, Place};
use crate::survey::grid::{Grid, cell_name};
use crate::survey::input::table::{
    MOST_COLUMNS, MOST_RAGGED, prove_comma, shown, tell_empty, unread,
};
use crate::survey::settings::Settings;
use std::sync::Arc;

/// The most cells of a table, blank ones within it counted: a short row takes the place of a
/// whole one, so that a small file with a wide heading could fill the memory.
const MOST_CELLS: usize = 20_000_000;
/// No sheet has a row or a column beyond this; a damaged one may state any number.
const FARTHEST: usize = 1 << 31;
/// The most ranges of merged cells that are told.
const MOST_MERGED: usize = 100;

/// A sheet while it is read.
pub(super) struct Sheet<'s> {
    whole: Place,
    table: &'static InputTable,
    settings: &'s Settings,
    faults: Faults,
    grid: Option<Grid>,
    /// What the dictionary has under each heading.
    kinds: Vec<Option<Kind>>,
    /// The column of the first heading.
    first: usize,
    row: usize,
    cells: Vec<(usize, Content)>,
    /// Numbers kept as text, by column: the row of the first, and how many.
    as_text: Vec<Option<(usize, usize)>>,
    merged: Vec<[usize; 4]>,
    ragged: usize,
    /// Whether the sheet was not read to its end.
    given_up: bool,
}

impl<'s> Sheet<'s> {
    /// An empty sheet of the workbook `file` that is to be read as `table`.
    pub(super) fn new(file: &str, table: &'static InputTable, settings: &'s Settings) -> Self {
        Self {
            whole: Place { sheet: Some(table.name.into()), ..Place::file(file) },
            table,
            settings,
            faults: Faults::default(),
            grid: None,
            kinds: Vec::new(),
            first: 0,
            row: 0,
            cells: Vec::new(),
            as_text: Vec::new(),
            merged: Vec::new(),
            ragged: 0,
            given_up: false,
        }
    }

    /// Takes in what stands next in the sheet, which goes row by row.
    pub(super) fn take(&mut self, found: Found) -> Result<(), Trouble> {
        let outcome = self.taken(found);
        self.given_up = outcome.is_err();
        outcome
    }

    fn taken(&mut self, found: Found) -> Result<(), Trouble> {
        match found {
            Found::Merged { row, column, rows, columns } => {
                if self.merged.len() < MOST_MERGED && row.max(column) <= FARTHEST {
                    self.merged.push([row, column, rows, columns]);
                }
            }
            Found::Repeated { row, rows } => {
                self.end_row()?;
                self.row = row;
                if rows > self.settings.limit_rows {
                    self.tell_too_many(self.settings.limit_rows);
                    return Err(Trouble::Told);
                }
            }
            Found::Cell { row, column, .. } if row.max(column) > FARTHEST => {
                return Err(Trouble::Damaged);
            }
            Found::Cell { row, column, content } => {
                if row != self.row {
                    self.end_row()?;
                    if row < self.row {
                        return Err(Trouble::Damaged);
                    }
                    self.row = row;
                }
                // a row may have remarks beside the table, but no more of them than a table is wide
                if self.cells.len() > 2 * MOST_COLUMNS {
                    self.tell_width(self.cells.len());
                    return Err(Trouble::Told);
                }
                self.cells.push((column, content));
            }
        }
        Ok(())
    }

    /// The table, once the sheet is at its end, and the faults of its cells.
    pub(super) fn finish(mut self) -> (Result<Grid, Trouble>, Faults) {
        let ended = if self.given_up { Err(Trouble::Told) } else { self.end_row() };
        if let Err(trouble) = ended {
            return (Err(trouble), self.faults);
        }
        let headed = self.grid.is_some();
        let mut grid = self.grid.take().unwrap_or_else(|| self.unread());
        if grid.is_empty() {
            tell_empty(self.whole.clone(), headed, self.table, &mut self.faults);
        }
        grid.dialect.decimal_comma = true;
        let (table, settings) = (self.table, self.settings);
        prove_comma(&mut grid, |heading| is_number(kind_of(table, settings, heading)));
        self.tell_as_text(&grid);
        self.tell_merged(&grid);
        (Ok(grid), self.faults)
    }

    fn unread(&self) -> Grid {
        let mut grid = unread(&self.whole.file, self.table);
        grid.sheet.clone_from(&self.whole.sheet);
        grid
    }

    fn end_row(&mut self) -> Result<(), Trouble> {
        if self.cells.is_empty() {
            return Ok(());
        }
        let mut cells = std::mem::take(&mut self.cells);
        cells.sort_by_key(|(column, _)| *column);
        let outcome = match self.grid.take() {
            None => self.headings(&cells),
            Some(mut grid) => {
                let outcome = self.fill(&mut grid, &mut cells);
                self.grid = Some(grid);
                outcome
            }
        };
        cells.clear();
        self.cells = cells;
        outcome
    }

    /// Takes a row as the headings, unless it is a remark above them.
    fn headings(&mut self, cells: &[(usize, Content)]) -> Result<(), Trouble> {
        let remark = |content: &Content| matches!(content, Content::Text(t) if t.starts_with('#'));
        if cells.iter().all(|(_, content)| remark(content)) {
            return Ok(());
        }
        let first = cells.first().map_or(0, |(column, _)| *column);
        let last = cells.last().map_or(0, |(column, _)| *column);
        let width = last - first + 1;
        if width > MOST_COLUMNS {
            self.tell_width(width);
            return Err(Trouble::Told);
        }
        let mut headings: Vec<Arc<str>> = vec!["".into(); width];
        for (column, content) in cells {
            headings[column - first] = plain(content).trim().into();
        }
        self.first = first;
        self.kinds = headings.iter().map(|h| kind_of(self.table, self.settings, h)).collect();
        self.as_text = vec![None; width];
        let mut grid = Grid::new(&self.whole.file, headings, self.row + 1);
        grid.sheet.clone_from(&self.whole.sheet);
        grid.first_column = first;
        self.grid = Some(grid);
        Ok(())
    }

    /// Takes a row as one of the table.
    fn fill(&mut self, grid: &mut Grid, cells: &mut Vec<(usize, Content)>) -> Result<(), Trouble> {
        let width = grid.headings().len();
        let beside = |column: usize| column.checked_sub(self.first).is_none_or(|at| at >= width);
        if let Some((column, content)) = cells.iter().find(|(column, _)| beside(*column)).cloned() {
            self.tell_beside(column, &content);
            self.ragged += 1;
            if self.ragged == MOST_RAGGED {
                self.tell_given_up();
                return Err(Trouble::Told);
            }
            let first = self.first;
            cells.retain(|(column, _)| column.checked_sub(first).is_some_and(|at| at < width));
        }
        if cells.is_empty() {
            return Ok(());
        }
        if grid.len() == self.settings.limit_rows || (grid.len() + 1) * width > MOST_CELLS {
            self.tell_too_many(grid.len());
            return Err(Trouble::Told);
        }
        let mut row = vec![String::new(); width];
        for (column, content) in cells.drain(..) {
            let at = column - self.first;
            row[at] = self.reading(grid, at, &content);
        }
        grid.push(self.row + 1, row.iter().map(String::as_str));
        Ok(())
    }

    /// The text of a cell under the heading at `at`; blank, and told, where it is no reading.
    fn reading(&mut self, grid: &Grid, at: usize, content: &Content) -> String {
        let kind = self.kinds.get(at).copied().flatten();
        if let Some(Misread { code, found, expected, hint }) = misread(content, kind) {
            let place = self.place(grid, at);
            self.faults.error(code, place).found(found).expected(expected).hint(hint);
            return String::new();
        }
        match content {
            Content::Moment(text) if is_word(kind) => {
                let place = self.place(grid, at);
                self.faults
                    .warn(Code::TurnedIntoDate, place)
                    .found(format!("the date or time {text}"))
                    .expected("text")
                    .hint("a name like 1-2 becomes a date unless the cell has the format of text");
            }
            Content::Text(text) if is_number(kind) && reads_as_number(text) => {
                let (_, count) = self.as_text[at].get_or_insert((grid.len(), 0));
                *count += 1;
            }
            _ => {}
        }
        plain(content)
    }

    fn place(&self, grid: &Grid, at: usize) -> Place {
        let heading = grid.headings().get(at).filter(|heading| !heading.is_empty());
        Place { column: heading.cloned(), ..self.cell(at + self.first) }
    }

    fn cell(&self, column: usize) -> Place {
        let cell = cell_name(self.row + 1, column);
        Place { row: Some(self.row + 1), cell: Some(cell.into()), ..self.whole.clone() }
    }

    fn tell_width(&mut self, width: usize) {
        let place = self.whole.clone().row(self.row + 1);
        self.faults
            .error(Code::NotASurvey, place)
            .found(count_of(width, "column"))
            .expected(format!("a table of at most {}", count_of(MOST_COLUMNS, "column")))
            .hint("is there a stray cell far to the right of the headings?");
    }

    fn tell_beside(&mut self, column: usize, content: &Content) {
        let place = self.cell(column);
        self.faults
            .error(Code::RaggedRow, place)
            .found(shown(&plain(content)))
            .expected("cells below a heading only")
            .hint("give its column a heading, or keep remarks and sums on another sheet");
    }

    fn tell_given_up(&mut self) {
        let place = self.whole.clone().row(self.row + 1);
        self.faults
            .error(Code::NotASurvey, place)
            .found(format!("{} with cells outside the table", count_of(MOST_RAGGED, "row")))
            .expected("cells below a heading only")
            .hint("the sheet was not read beyond this row");
    }

    fn tell_too_many(&mut self, rows: usize) {
        let place = self.whole.clone().row(self.row + 1);
        let by_limit = rows == self.settings.limit_rows;
        self.faults
            .error(Code::TooManyRows, place)
            .found(format!("more than {}", count_of(rows, "row")))
            .expected(format!("at most {}", count_of(rows, "row")))
            .hint(if by_limit {
                "limits.rows in survey.toml, or --set limits.rows=NUMBER, raises the limit"
            } else {
                "so many rows of so many columns do not fit; save the sheet as CSV"
            });
    }

    fn tell_as_text(&mut self, grid: &Grid) {
        for (heading, first) in grid.headings().iter().zip(&self.as_text) {
            let Some((index, count)) = first else { continue };
            let cells = count_of(*count, "cell");
            self.faults
                .note(Code::NumberAsText, grid.place(*index, heading))
                .found(format!("numbers kept as text, in {cells} of the column"))
                .expected("numbers")
                .hint("read as numbers; a spreadsheet leaves such cells out of its sums");
        }
    }

    fn tell_merged(&mut self, grid: &Grid) {
        let width = grid.headings().len();
        for &[row, column, rows, columns] in &self.merged {
            let beside =
                column >= self.first + width || column.saturating_add(columns) <= self.first;
            if beside || row.saturating_add(rows) < grid.row(0).max(1) {
                continue;
            }
            let (first, last) = (
                cell_name(row + 1, column),
                cell_name(row.saturating_add(rows), column.saturating_add(columns) - 1),
            );
            let cell = Some(first.as_str().into());
            let place = Place { row: Some(row + 1), cell, ..self.whole.clone() };
            self.faults
                .warn(Code::MergedCells, place)
                .found(format!("{first} to {last} made into one cell"))
                .expected("one cell for each reading")
                .hint(
                    "the value stands in the first cell only and the others are blank: split \
                       them, and fill each",
                );
        }
    }
}
