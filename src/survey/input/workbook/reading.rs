//! One cell under a heading: the text it stands for, or why it is no reading.

use super::cell::Content;
use crate::maths::quantity::count_of;
use crate::survey::dictionary::{InputTable, Kind};
use crate::survey::fault::Code;
use crate::survey::grid::proves_decimal_comma;
use crate::survey::input::table::{LONGEST_CELL, shown};
use crate::survey::settings::Settings;

/// Why a cell is no reading.
pub(super) struct Misread {
    pub(super) code: Code,
    pub(super) found: String,
    pub(super) expected: String,
    pub(super) hint: &'static str,
}

/// Why a cell is no reading of its kind; `None` where its text can be taken.
pub(super) fn misread(content: &Content, kind: Option<Kind>) -> Option<Misread> {
    Some(match content {
        Content::Wrong(value) => Misread {
            code: Code::ErrorValue,
            found: if value.is_empty() { "an error".into() } else { shown(value) },
            expected: "a reading, or a blank cell".into(),
            hint: "the formula in this cell fails; mend it, or write the reading itself",
        },
        Content::Uncomputed => Misread {
            code: Code::FormulaWithoutValue,
            found: "a formula whose value was never stored".into(),
            expected: "a reading, or a formula with its value".into(),
            hint: "open the workbook in a spreadsheet program and save it again",
        },
        Content::Moment(text) if is_number(kind) => Misread {
            code: Code::TurnedIntoDate,
            found: format!("the date or time {text}"),
            expected: "a number".into(),
            hint: "the spreadsheet took the number for a date: give the cell the format of a \
                   number and write it again",
        },
        Content::Text(text) if text.len() > LONGEST_CELL => Misread {
            code: Code::CellTooLong,
            found: format!("a cell of {}", count_of(text.len(), "byte")),
            expected: format!("at most {}", count_of(LONGEST_CELL, "byte")),
            hint: "keep long texts outside the tables",
        },
        _ => return None,
    })
}

/// The text of a cell as it would stand in a file of text.
pub(super) fn plain(content: &Content) -> String {
    match content {
        Content::Number(number) => number.to_string(),
        Content::Text(text) | Content::Moment(text) | Content::Wrong(text) => text.clone(),
        Content::Truth(truth) => truth.to_string(),
        Content::Uncomputed => String::new(),
    }
}

/// What the dictionary has under a heading, or under the one that it is mapped to.
pub(super) fn kind_of(table: &InputTable, settings: &Settings, heading: &str) -> Option<Kind> {
    let mapped = settings.columns.iter().find(|(_, own)| own.as_str() == heading);
    let name = mapped.map_or(heading, |(name, _)| name.as_str());
    table.column(name).map(|column| column.kind)
}

pub(super) fn is_number(kind: Option<Kind>) -> bool {
    matches!(kind, Some(Kind::Number(..)))
}

/// Whether a column of this kind never holds a date.
pub(super) fn is_word(kind: Option<Kind>) -> bool {
    matches!(kind, Some(Kind::Name | Kind::Word(_) | Kind::Point | Kind::YesNo))
}

pub(super) fn reads_as_number(text: &str) -> bool {
    text.trim().parse::<f64>().is_ok() || proves_decimal_comma(text)
}
