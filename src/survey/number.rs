//! The number that stands in a cell, or why it is none.
//!
//! In: a cell's text and how its grid was written. Out: a number, or a fault's code and hint.
//! Left out: whether the number is possible, which the dictionary says.

use super::grid::Grid;
use crate::survey::fault::Code;

/// Why a cell is not a number.
pub(super) struct Misread {
    pub(super) code: Code,
    pub(super) hint: &'static str,
}

/// The number in `text`, by the rules of how the grid was written.
pub(super) fn number(text: &str, grid: &Grid) -> Result<f64, Misread> {
    let plain = |text: &str| text.parse::<f64>().ok();
    if let Some(value) = plain(text) {
        let hint = "leave the cell blank where nothing was measured";
        return if value.is_finite() {
            Ok(value)
        } else {
            Err(Misread { code: Code::NotFinite, hint })
        };
    }
    let unreadable = |hint| Err(Misread { code: Code::UnreadableNumber, hint });
    let Some((whole, decimals)) = text.split_once(',') else { return unreadable(slip_in(text)) };
    let thousands = decimals.len() == 3 && !grid.dialect.comma_proven;
    match plain(&format!("{whole}.{decimals}")) {
        None => unreadable("one decimal mark, and no mark between thousands"),
        Some(_) if thousands => Err(Misread {
            code: Code::AmbiguousNumber,
            hint: "1,234 may be one thousand or one and a quarter: write 1234 or 1.234",
        }),
        Some(value) if grid.dialect.decimal_comma && value.is_finite() => Ok(value),
        Some(_) => unreadable("in a file separated by commas the decimal mark is a point"),
    }
}

/// What is likely to be wrong with a number that cannot be read.
fn slip_in(text: &str) -> &'static str {
    let space = |c: char| c.is_whitespace() || matches!(c, '\u{2009}' | '\u{202f}' | '\u{a0}');
    if text.contains('°') || text.contains('º') {
        "write the number alone, without the degree sign: the unit is in the heading"
    } else if text.contains("..") {
        "two points: one was struck twice"
    } else if text.contains(space) {
        "remove the space inside the number (it may be a thin one that hardly shows)"
    } else if text.contains(['−', '–']) {
        "the minus sign is a typeset dash: write a plain -"
    } else if text.starts_with(['<', '>', '~', '±', '≥', '≤']) {
        "write the number alone; for a height out of reach there is height_at_least"
    } else if text.ends_with(char::is_alphabetic) {
        "write the number alone: the unit is in the heading; leave it blank if not measured"
    } else {
        "write digits and one decimal point; leave the cell blank if not measured"
    }
}

/// What may have happened to a number that is out of range.
pub(super) fn range_hint(heading: &str) -> &'static str {
    if heading.starts_with("bearing") || heading.starts_with("back_bearing") {
        "a needle reads from north once round; was it a tape or an incline?"
    } else if heading.starts_with("tape") {
        "a tape reading is never negative; a decimal mark lost?"
    } else if heading.starts_with("height") {
        "a height above ground, negative only in a burrow; a decimal mark lost, or an elevation?"
    } else if heading == "amount" {
        "an amount is never negative; leave out what was not on offer"
    } else {
        "a decimal mark lost, another unit, or a cell of the column beside it?"
    }
}
