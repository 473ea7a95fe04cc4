//! One cell into one value, or one fault that says what stands there and what was expected.

use super::dictionary::{Column, Kind};
use super::grid::Grid;
use super::names::{Name, Names};
use super::nearest::nearest;
use super::number::{number, range_hint};
use super::rows::Moment;
use super::sides::{Sided, beyond_half, in_words, sided};
use crate::maths::quantity::{Bearing, Turn};
use crate::survey::fault::{Code, Faults};
use jiff::civil::{Date, DateTime, Time};
use std::collections::BTreeMap;

/// Words for yes and no, in any case; a blank cell is no.
const YES: [&str; 5] = ["yes", "y", "true", "1", "x"];
const NO: [&str; 5] = ["no", "n", "false", "0", "-"];

/// Reads the cells of one table, and keeps the faults.
pub(super) struct Reader<'a> {
    grid: &'a Grid,
    columns: Vec<(&'static Column, usize)>,
    index: usize,
    words: &'a BTreeMap<String, String>,
    /// Columns with names between outer blanks: how many, and the row of the first.
    padded: BTreeMap<&'static str, (usize, usize)>,
    pub(super) names: &'a mut Names,
    pub(super) faults: &'a mut Faults,
}

impl<'a> Reader<'a> {
    /// A reader of `grid` for those of `columns` that it has.
    pub(super) fn new(
        grid: &'a Grid,
        columns: &'static [Column],
        words: &'a BTreeMap<String, String>,
        names: &'a mut Names,
        faults: &'a mut Faults,
    ) -> Self {
        let present = columns
            .iter()
            .filter_map(|column| grid.column(column.heading).map(|at| (column, at)))
            .collect();
        Self { grid, columns: present, index: 0, words, padded: BTreeMap::new(), names, faults }
    }

    /// Turns to row `index`.
    pub(super) fn turn_to(&mut self, index: usize) {
        self.index = index;
    }

    /// The row it is at, counted within the grid.
    pub(super) fn index(&self) -> usize {
        self.index
    }

    /// Reports that a reading stands in two columns of the row.
    pub(super) fn given_twice(&mut self, heading: &str, expected: &str) {
        let hint = "keep the one that was read in the field; the first is taken for now";
        self.complain(Code::GivenTwice, heading, "two readings", expected, hint);
    }

    /// Reports that a cell is blank that should not be.
    pub(super) fn blank(&mut self, heading: &str, expected: &str, hint: &str) {
        self.complain(Code::BlankCell, heading, "nothing", expected, hint);
    }

    /// Says of each column whose names stand between blanks how many do, at the first.
    pub(super) fn tell_outer_blanks(&mut self) {
        for (heading, &(count, first)) in &self.padded {
            let names = if count == 1 { "1 name".to_owned() } else { format!("{count} names") };
            self.faults
                .note(Code::OuterBlanks, self.grid.place(first, heading))
                .found(format!("{names} with blanks before or behind"))
                .expected("the name alone")
                .hint("the blanks are dropped; the cells stay as written");
        }
    }

    /// The text under `heading` without outer blanks, which are counted.
    pub(super) fn plain_text(&mut self, heading: &str) -> Option<&'a str> {
        let &(column, at) = self.columns.iter().find(|(column, _)| column.heading == heading)?;
        let cell = self.grid.cell(self.index, at);
        let text = cell.trim();
        if text.is_empty() {
            return None;
        }
        if text.len() < cell.len() {
            self.padded.entry(column.heading).or_insert((0, self.index)).0 += 1;
        }
        Some(text)
    }

    /// The trimmed text under `heading`; blank where there is no such column.
    fn text(&self, heading: &str) -> Option<(&'static Column, &'a str)> {
        let &(column, at) = self.columns.iter().find(|(column, _)| column.heading == heading)?;
        let text = self.grid.cell(self.index, at).trim();
        (!text.is_empty()).then_some((column, text))
    }

    #[expect(clippy::too_many_arguments, reason = "a fault has that many sides")]
    fn complain(&mut self, code: Code, heading: &str, found: &str, expected: &str, hint: &str) {
        let place = self.grid.place(self.index, heading);
        self.faults.error(code, place).found(shortened(found)).expected(expected).hint(hint);
    }

    /// The number under `heading`, in the unit of the heading.
    pub(super) fn number(&mut self, heading: &str) -> Option<f64> {
        let (column, text) = self.text(heading)?;
        let Kind::Number(low, high) = column.kind else { return None };
        match number(text, self.grid) {
            Ok(value) if (low..=high).contains(&value) => Some(value),
            Ok(_) => {
                let (expected, hint) = (column.kind.accepts(), range_hint(heading));
                self.complain(Code::OutOfRange, heading, text, &expected, hint);
                None
            }
            Err(misread) => {
                self.complain(misread.code, heading, text, "a number", misread.hint);
                None
            }
        }
    }

    /// The name under `heading`.
    pub(super) fn name(&mut self, heading: &str) -> Option<Name> {
        let text = self.plain_text(heading)?;
        if text.chars().any(char::is_control) {
            let hint = "remove tabs, line breaks and other invisible characters from the name";
            self.complain(Code::ControlCharacter, heading, text, "a name in one line", hint);
            return None;
        }
        Some(self.names.enter(text))
    }

    /// The name under `heading`, where a word for no is as good as a blank cell.
    pub(super) fn name_unless_no(&mut self, heading: &str) -> Option<Name> {
        let (_, text) = self.text(heading)?;
        if NO.iter().any(|word| word.eq_ignore_ascii_case(text)) {
            None
        } else {
            self.name(heading)
        }
    }

    /// The name under `heading`, which must not be blank.
    pub(super) fn needed_name(&mut self, heading: &str) -> Option<Name> {
        if self.text(heading).is_none() {
            let hint = "every row names it; copy it down from the row above";
            self.complain(Code::BlankCell, heading, "nothing", "a name", hint);
            return None;
        }
        self.name(heading)
    }

    /// Whether `yes` stands under `heading`.
    pub(super) fn yes(&mut self, heading: &str) -> bool {
        let Some((_, text)) = self.text(heading) else { return false };
        let is = |words: [&str; 5]| words.iter().any(|word| word.eq_ignore_ascii_case(text));
        if !is(YES) && !is(NO) {
            let hint = "write yes or leave the cell blank; anything else belongs under note";
            self.complain(Code::UnknownWord, heading, text, &Kind::YesNo.accepts(), hint);
        }
        is(YES)
    }

    /// The place of the word under `heading` in the list of its column.
    pub(super) fn word(&mut self, heading: &str) -> Option<usize> {
        let (column, text) = self.text(heading)?;
        let Kind::Word(words) = column.kind else { return None };
        let known = words.iter().position(|word| word.eq_ignore_ascii_case(text));
        if known.is_none() {
            let nearest = nearest(text, words.iter().copied());
            let hint = nearest.map_or_else(
                || "leave the cell blank where none fits, and write it under note".to_owned(),
                |word| format!("did you mean {word}?"),
            );
            self.complain(Code::UnknownWord, heading, text, &column.kind.accepts(), &hint);
        }
        known
    }

    /// The point of the compass under `heading`.
    pub(super) fn point(&mut self, heading: &str) -> Option<Bearing> {
        let (_, text) = self.text(heading)?;
        let bearing = point(text, self.words);
        if bearing.is_none() {
            let hint = if text.contains(['O', 'o']) {
                "O is east in German, west in Spanish, Portuguese, French and Italian: write E or W, \
                 or say in survey.toml, under [words], O = \"E\" or O = \"W\""
            } else {
                "in English letters, east is E; degrees go under bearing_deg; other letters can be \
                 told in survey.toml under [words]"
            };
            self.complain(Code::UnknownWord, heading, text, &Kind::Point.accepts(), hint);
        }
        bearing
    }

    /// The turn under `heading`: a number, right positive, or a number with L or R beside it.
    pub(super) fn turn(&mut self, heading: &str) -> Option<Turn> {
        let (_, text) = self.text(heading)?;
        let sided = sided(text, self.grid);
        if let Some(Sided { degrees, by_letter: true }) = sided
            && degrees.abs() <= 180.0
        {
            return Some(Turn::from_degrees(degrees));
        }
        let degrees = sided.as_ref().map(|sided| sided.degrees);
        let degrees = degrees.or_else(|| number(text, self.grid).ok());
        if let Some(hint) = degrees.and_then(|degrees| beyond_half(text, degrees)) {
            let accepts = "a turn from -180 to 180, right positive";
            self.complain(Code::OutOfRange, heading, text, accepts, &hint);
        } else if text.contains(char::is_alphabetic) && number(text, self.grid).is_err() {
            let hint = in_words(text, sided.as_ref());
            self.complain(Code::UnreadableNumber, heading, text, "a number of degrees", &hint);
        } else {
            return self.number(heading).map(Turn::from_degrees);
        }
        None
    }

    /// The date under `heading`.
    pub(super) fn date(&mut self, heading: &str) -> Option<Date> {
        match self.moment_text(heading)? {
            (_, Some(Moment::DateTime(moment))) => Some(moment.date()),
            (text, _) => {
                let date = text.parse::<Date>().ok();
                if date.is_none() {
                    let hint = "year first, so that day and month cannot be confused";
                    let expected = Kind::Date.accepts();
                    self.complain(Code::UnreadableDate, heading, text, &expected, hint);
                }
                date
            }
        }
    }

    /// The time, or date and time, under `heading`.
    pub(super) fn moment(&mut self, heading: &str) -> Option<Moment> {
        let (text, moment) = self.moment_text(heading)?;
        if moment.is_none() {
            let hint = "hours from 0 to 23; a date before the time, year first";
            self.complain(Code::UnreadableDate, heading, text, &Kind::Moment.accepts(), hint);
        }
        moment
    }

    fn moment_text(&self, heading: &str) -> Option<(&'a str, Option<Moment>)> {
        let (_, text) = self.text(heading)?;
        let date_time = || text.contains([' ', 'T']).then(|| text.parse::<DateTime>().ok())?;
        let time = || text.contains(':').then(|| padded(text).parse::<Time>().ok())?;
        Some((text, date_time().map(Moment::DateTime).or_else(|| time().map(Moment::Time))))
    }
}

/// A point of the compass by its English name, once letters and words that the settings explain are
/// put into English.
fn point(text: &str, words: &BTreeMap<String, String>) -> Option<Bearing> {
    let text = text.to_uppercase();
    if let Some(meant) = words.get(&text) {
        return Bearing::from_point(meant);
    }
    let english = |letter: char| words.get(letter.encode_utf8(&mut [0; 4])).cloned();
    let letters = text.chars().map(|letter| english(letter).unwrap_or_else(|| letter.into()));
    Bearing::from_point(&letters.collect::<String>())
}

/// `5:40` as `05:40`.
fn padded(time: &str) -> String {
    if time.find(':') == Some(1) { format!("0{time}") } else { time.to_owned() }
}

/// A cell's text, cut where it would flood a message.
fn shortened(text: &str) -> String {
    let mut short: String = text.chars().take(60).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    short
}
