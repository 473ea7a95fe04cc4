//! The rows of a text by the numbers they have in a spreadsheet.
//!
//! In: text and its separator. Out: row after row, blank ones and comments stepped over but
//! counted, and whether a row ends within quotes.
//! The reader counts neither blank lines nor comments, takes a line break within quotes for a
//! line, and does not tell of an open quote: all of that stands here.

use super::is_blank;
use super::separator::Separator;
use csv::{Position, Reader, ReaderBuilder, StringRecord};
use std::io::Cursor;

/// The rows of a text one after the other, each with its number in a spreadsheet.
pub(super) struct Rows<'t> {
    pub(super) text: &'t [u8],
    pub(super) separator: Separator,
    reader: Reader<Cursor<&'t [u8]>>,
    /// The cells of the row it is at.
    pub(super) cells: StringRecord,
    /// The number of the row it is at.
    pub(super) row: usize,
    /// Where that row begins.
    start: usize,
    pub(super) comments: Comments,
}

/// Comments that have cells, and so may be meant as rows: a name may begin with #.
#[derive(Clone, Copy, Default)]
pub(super) struct Comments {
    pub(super) count: usize,
    /// The number of the first.
    pub(super) first: usize,
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
    pub(super) fn new(text: &'t str, separator: Separator) -> Self {
        Self::of(text.as_bytes(), separator)
    }

    /// The same rows from the first.
    pub(super) fn again(&self) -> Self {
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
    pub(super) fn end(&self) -> usize {
        usize::try_from(self.reader.position().byte()).unwrap_or(usize::MAX)
    }

    /// Turns to the next row that is neither a comment nor blank.
    pub(super) fn advance(&mut self) -> bool {
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
    pub(super) fn is_saved_comment(&self) -> bool {
        let mut cells = self.cells.iter();
        cells.next().is_some_and(|first| first.starts_with('#')) && cells.all(is_blank)
    }

    /// Whether the row ran to the end of the text in search of a closing quote.
    pub(super) fn quote_is_open(&self) -> bool {
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
