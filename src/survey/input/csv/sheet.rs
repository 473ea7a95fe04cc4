//! One table while it is read: its headings and rows, and what is wrong with each.

use super::is_blank;
use super::rows::{Comments, Rows};
use super::separator::Separator;
use crate::maths::quantity::count_of;
use crate::survey::dictionary::InputTable;
use crate::survey::fault::{Code, Fault, Faults, Place};
use crate::survey::grid::Grid;
use crate::survey::input::table::{LONGEST_CELL, MOST_COLUMNS, MOST_RAGGED, shown, tell_empty};
use std::sync::Arc;

/// A table while it is read.
pub(super) struct Sheet<'t> {
    pub(super) file_name: &'t str,
    pub(super) rows: Rows<'t>,
    pub(super) limit_rows: usize,
    pub(super) faults: &'t mut Faults,
}

impl Sheet<'_> {
    /// The headings; `None` where there are none, or none that can be used.
    pub(super) fn headings(&mut self, columns: &InputTable) -> Option<Vec<Arc<str>>> {
        let mut any = self.rows.advance();
        while any && self.rows.is_saved_comment() {
            any = self.rows.advance(); // above the headings only: below, it may be a name like #1
        }
        if !any {
            tell_empty(Place::file(self.file_name), false, columns, self.faults);
            return None;
        }
        let unusable = self.tell_open_quote(&[]) | self.tell_long_cells(&[]) | self.tell_width();
        let trimmed = || self.rows.cells.iter().map(|heading| heading.trim().into());
        (!unusable).then(|| trimmed().collect())
    }

    /// Reads the rows into `grid`, and returns whether all of them could be read.
    pub(super) fn fill(&mut self, grid: &mut Grid) -> bool {
        let mut ragged = 0;
        while self.rows.advance() {
            if self.tell_open_quote(grid.headings()) {
                return false;
            }
            let long = self.tell_long_cells(grid.headings());
            if !long && self.tell_ragged(grid.headings().len()) {
                ragged += 1;
            }
            let fits = |cell: &&str| cell.len() <= LONGEST_CELL;
            let cells = self.rows.cells.iter();
            grid.push(self.rows.row, cells.map(|cell| Some(cell).filter(fits).unwrap_or("")));
            if ragged == MOST_RAGGED {
                self.tell_given_up();
                return false;
            }
        }
        true
    }

    fn error(&mut self, code: Code) -> &mut Fault {
        self.faults.error(code, Place::file(self.file_name).row(self.rows.row))
    }

    /// The place of the cell at `at`; without its column where it has no heading.
    fn place(&self, headings: &[Arc<str>], at: usize) -> Place {
        let place = Place::file(self.file_name).row(self.rows.row);
        match headings.get(at) {
            Some(heading) if !heading.is_empty() => place.column(heading),
            _ => place,
        }
    }

    fn tell_open_quote(&mut self, headings: &[Arc<str>]) -> bool {
        let open = self.rows.quote_is_open();
        if open {
            let last = self.rows.cells.len().saturating_sub(1);
            let place = self.place(headings, last);
            self.faults
                .error(Code::OpenQuote, place)
                .found(shown(self.rows.cells.get(last).unwrap_or("")))
                .expected("a quote that is closed again")
                .hint("close the quote, or write it twice if it belongs to the text");
        }
        open
    }

    fn tell_long_cells(&mut self, headings: &[Arc<str>]) -> bool {
        if self.rows.cells.as_slice().len() <= LONGEST_CELL {
            return false;
        }
        let long = |at: &usize| self.rows.cells.get(*at).is_some_and(|c| c.len() > LONGEST_CELL);
        let Some(at) = (0..self.rows.cells.len()).find(long) else { return false };
        let size = self.rows.cells.get(at).map_or(0, str::len);
        let place = self.place(headings, at);
        self.faults
            .error(Code::CellTooLong, place)
            .found(format!("a cell of {}", count_of(size, "byte")))
            .expected(format!("at most {}", count_of(LONGEST_CELL, "byte")))
            .hint("a quote that is not closed takes in everything up to the next one");
        true
    }

    fn tell_width(&mut self) -> bool {
        let width = self.rows.cells.len();
        if width > MOST_COLUMNS {
            self.error(Code::NotASurvey)
                .found(count_of(width, "column"))
                .expected(format!("a table of at most {}", count_of(MOST_COLUMNS, "column")))
                .hint("one row an anchor, one column a reading: was the sheet turned on its side?");
        }
        width > MOST_COLUMNS
    }

    /// Cells beyond the headings are harmless while they are blank; missing ones never are.
    fn tell_ragged(&mut self, width: usize) -> bool {
        let cells = &self.rows.cells;
        let surplus = cells.iter().skip(width).any(|cell| !is_blank(cell));
        if cells.len() >= width && !surplus {
            return false;
        }
        let hint = if cells.iter().any(|cell| cell.contains(['\n', '\r'])) {
            "a quote that is not closed joined this row to the next"
        } else if surplus && self.rows.separator == Separator::Comma {
            "a decimal comma, or a comma within a text? put such a cell between quotes"
        } else if surplus {
            "a separator within a text? put such a cell between quotes"
        } else {
            "cells lost at the end of the row; write a separator for each blank cell"
        };
        let found = count_of(cells.len(), "cell");
        self.error(Code::RaggedRow).found(found).expected(count_of(width, "cell")).hint(hint);
        true
    }

    /// Nothing is left out in silence.
    pub(super) fn tell_comments(&mut self) {
        let Comments { count, first } = self.rows.comments;
        if count > 0 {
            let place = Place::file(self.file_name).row(first);
            self.faults
                .note(Code::CommentRow, place)
                .found(match count {
                    1 => "1 row that begins with #".to_owned(),
                    rows => format!("{rows} rows that begin with #"),
                })
                .expected("rows without # in front")
                .hint("taken as a comment and left out; a name like #7 is read between quotes");
        }
    }

    fn tell_given_up(&mut self) {
        self.error(Code::NotASurvey)
            .found(count_of(MOST_RAGGED, "ragged row"))
            .expected("a table with as many cells in each row as in its heading")
            .hint("the table was not read beyond this row");
    }

    /// Too many rows are refused before any of them is kept. They are only counted where the lines
    /// are too many: a row has at least one.
    pub(super) fn tell_too_many(&mut self) -> bool {
        let (text, start) = (self.rows.text, self.rows.end());
        let below = text.get(start..).unwrap_or_default();
        let lines = below.split(|byte| matches!(byte, b'\r' | b'\n'));
        if lines.take(self.limit_rows.saturating_add(1)).count() <= self.limit_rows {
            return false;
        }
        let mut rows = self.rows.again();
        while rows.end() < start && rows.advance() {}
        let within = (0..self.limit_rows).all(|_| rows.advance());
        if !(within && rows.advance()) {
            return false;
        }
        let limit = count_of(self.limit_rows, "row");
        self.faults
            .error(Code::TooManyRows, Place::file(self.file_name).row(rows.row))
            .found(format!("more than {limit}"))
            .expected(format!("at most {limit}"))
            .hint("limits.rows in survey.toml, or --set limits.rows=NUMBER, raises the limit");
        true
    }
}
