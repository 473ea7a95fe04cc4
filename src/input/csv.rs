//! The bytes of one table into a [`Grid`]: encoding, separator, quotes, and the rows' own numbers.

use crate::fault::{Code, Fault, Faults, Place, Severity};
use crate::quantity::count_of;
use crate::survey::dictionary::{ANCHORS, InputTable, Kind};
use crate::survey::grid::{Grid, proves_decimal_comma};
use csv::{Position, Reader, ReaderBuilder, StringRecord};
use encoding_rs::WINDOWS_1252;
use std::borrow::Cow;
use std::io::Cursor;
use std::sync::Arc;

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
/// The bytes to which Windows-1252 gives no character.
const NOT_IN_1252: [u8; 5] = [0x81, 0x8d, 0x8f, 0x90, 0x9d];

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

/// The text of a file: UTF-8 with or without its mark, else Windows-1252 (then owned).
fn decoded<'b>(file_name: &str, bytes: &'b [u8], faults: &mut Faults) -> Option<Cow<'b, str>> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let found = if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        "text in UTF-16"
    } else if bytes.starts_with(b"PK\x03\x04") {
        "a workbook or another packed file"
    } else if bytes.contains(&0) {
        "bytes that are no text"
    } else if let Ok(text) = std::str::from_utf8(bytes) {
        return Some(Cow::Borrowed(text));
    } else if bytes.iter().any(|byte| NOT_IN_1252.contains(byte)) {
        "text in an encoding that cannot be told"
    } else {
        let (text, _) = WINDOWS_1252.decode_without_bom_handling(bytes);
        return Some(Cow::Owned(text.into_owned()));
    };
    faults
        .error(Code::NotText, Place::file(file_name))
        .found(found)
        .expected("a table as text, in UTF-8")
        .hint("save the sheet as CSV UTF-8");
    None
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
        .expected(format!("headings, then one row for each of the {}", table.name))
        .hint("was the right sheet saved?");
}

fn tell_separator(grid: &Grid, separator: Separator, faults: &mut Faults) {
    let commas = if grid.dialect.comma_proven { ", and decimal commas" } else { "" };
    faults
        .note(Code::OtherSeparator, grid.whole())
        .found(format!("{} between the cells{commas}", separator.word()))
        .expected("commas between the cells, and decimal points")
        .hint("read as it stands; in such a file 12,5 is twelve and a half");
}

/// What stands between the cells of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Separator {
    Comma,
    Semicolon,
    Tab,
}

impl Separator {
    /// The separator that stands most often in the headings, outside quotes.
    fn of(text: &str) -> Self {
        let comment = |line: &str| line.trim_start_matches('"').starts_with('#');
        let mut lines = text.split(['\r', '\n']);
        let headings = lines.find(|line| !is_blank(line) && !comment(line)).unwrap_or("");
        let mut counts = [0, 0, 0];
        let mut quoted = false;
        for byte in headings.bytes() {
            match byte {
                b'"' => quoted = !quoted,
                _ if quoted => {}
                b',' => counts[0] += 1,
                b';' => counts[1] += 1,
                b'\t' => counts[2] += 1,
                _ => {}
            }
        }
        match counts {
            [commas, semicolons, tabs] if semicolons > commas && semicolons >= tabs => {
                Self::Semicolon
            }
            [commas, _, tabs] if tabs > commas => Self::Tab,
            _ => Self::Comma,
        }
    }

    const fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
        }
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Comma => "commas",
            Self::Semicolon => "semicolons",
            Self::Tab => "tabs",
        }
    }
}

/// The rows of a text one after the other, each with its number in a spreadsheet.
struct Rows<'t> {
    text: &'t [u8],
    separator: Separator,
    reader: Reader<Cursor<&'t [u8]>>,
    /// The cells of the row it is at.
    cells: StringRecord,
    /// The number of the row it is at.
    row: usize,
    /// Where that row begins.
    start: usize,
    comments: Comments,
}

/// Comments that have cells, and so may be meant as rows: a name may begin with #.
#[derive(Clone, Copy, Default)]
struct Comments {
    count: usize,
    /// The number of the first.
    first: usize,
}

impl Comments {
    fn add(&mut self, row: usize) {
        if self.count == 0 {
            self.first = row;
        }
        self.count += 1;
    }
}

impl<'t> Rows<'t> {
    fn new(text: &'t str, separator: Separator) -> Self {
        Self::of(text.as_bytes(), separator)
    }

    /// The same rows from the first.
    fn again(&self) -> Self {
        Self::of(self.text, self.separator)
    }

    fn of(text: &'t [u8], separator: Separator) -> Self {
        let reader = ReaderBuilder::new()
            .delimiter(separator.byte())
            .flexible(true)
            .has_headers(false)
            .from_reader(Cursor::new(text));
        let cells = StringRecord::new();
        let comments = Comments::default();
        Self { text, separator, reader, cells, row: 0, start: 0, comments }
    }

    /// Where the row it is at ends.
    fn end(&self) -> usize {
        usize::try_from(self.reader.position().byte()).unwrap_or(usize::MAX)
    }

    /// Turns to the next row that is neither a comment nor blank.
    fn advance(&mut self) -> bool {
        while self.step() {
            if !self.cells.iter().all(is_blank) || self.quote_is_open() {
                return true;
            }
        }
        false
    }

    /// Turns to the next row with any cell. The reader would not count blank lines and comments,
    /// and takes a line break within quotes for a line, so rows are counted here.
    fn step(&mut self) -> bool {
        let before = self.end();
        let (start, lines) = self.step_over(before);
        self.row += lines + 1;
        self.start = start;
        if lines > 0 {
            let mut position = Position::new();
            position.set_byte(start as u64);
            if self.reader.seek(position).is_err() {
                return false;
            }
        }
        // text in memory, of any number of cells: reading it cannot fail
        self.reader.read_record(&mut self.cells).unwrap_or(false)
    }

    /// Where the next row begins at or after `at`, and how many blank lines and comments lie
    /// between.
    fn step_over(&mut self, mut at: usize) -> (usize, usize) {
        let behind = at.checked_sub(1).and_then(|last| self.text.get(last));
        if behind == Some(&b'\r') && self.text.get(at) == Some(&b'\n') {
            at += 1; // the second half of the break that ended the row before
        }
        let mut lines = 0;
        while let Some(b'\r' | b'\n' | b'#') = self.text.get(at) {
            let rest = self.text.get(at..).unwrap_or_default();
            let length = rest.iter().position(|byte| matches!(byte, b'\r' | b'\n'));
            let (line, broken) = rest.split_at(length.unwrap_or(rest.len()));
            at += line.len() + if broken.starts_with(b"\r\n") { 2 } else { broken.len().min(1) };
            lines += 1;
            if line.contains(&self.separator.byte()) {
                self.comments.add(self.row + lines);
            }
        }
        (at, lines)
    }

    /// A spreadsheet that saves a comment quotes it and adds blank cells.
    fn is_saved_comment(&self) -> bool {
        let mut cells = self.cells.iter();
        cells.next().is_some_and(|first| first.starts_with('#')) && cells.all(is_blank)
    }

    /// Whether the row ran to the end of the text in search of a closing quote.
    fn quote_is_open(&self) -> bool {
        let row = self.text.get(self.start..).unwrap_or_default();
        self.end() >= self.text.len() && leaves_quote_open(row, self.separator)
    }
}

/// Whether a row ends within quotes, by the rules of the reader, which does not tell: only a
/// quote that begins a cell opens one, and only a single quote closes it.
fn leaves_quote_open(row: &[u8], separator: Separator) -> bool {
    #[derive(PartialEq)]
    enum Within {
        Start,
        Plain,
        Quotes,
        /// After a quote within quotes: the end of the quotes, or the first half of a double one.
        Closing,
    }
    let after = row.iter().fold(Within::Start, |before, &byte| match (before, byte) {
        (Within::Quotes, b'"') => Within::Closing,
        (Within::Start | Within::Closing, b'"') | (Within::Quotes, _) => Within::Quotes,
        (_, byte) if byte == separator.byte() => Within::Start,
        _ => Within::Plain,
    });
    after == Within::Quotes
}

fn is_blank(cell: &str) -> bool {
    cell.trim().is_empty()
}

/// A table while it is read.
struct Sheet<'t> {
    file_name: &'t str,
    rows: Rows<'t>,
    limit_rows: usize,
    faults: &'t mut Faults,
}

impl Sheet<'_> {
    /// The headings; `None` where there are none, or none that can be used.
    fn headings(&mut self, columns: &InputTable) -> Option<Vec<Arc<str>>> {
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
    fn fill(&mut self, grid: &mut Grid) -> bool {
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
    fn tell_comments(&mut self) {
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
    fn tell_too_many(&mut self) -> bool {
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

/// The beginning of a text, where the whole would flood a message.
pub(super) fn shown(text: &str) -> String {
    match text.char_indices().nth(SHOWN) {
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or("")),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_quote_is_open_where_the_reader_would_take_in_one_line_more(
            row in "[\"a,;]{0,12}[\"\n]?",
        ) {
            let longer = format!("x,x\n{row}\nx,x");
            let mut rows = Rows::new(&longer, Separator::Comma);
            let mut last = 0;
            while rows.advance() {
                last = rows.start;
            }
            let taken_in = last < longer.len() - "x,x".len();
            prop_assert_eq!(leaves_quote_open(row.as_bytes(), Separator::Comma), taken_in);
        }
    }
}
