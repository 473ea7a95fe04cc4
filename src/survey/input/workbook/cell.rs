//! One cell of a workbook: what it holds, and dates and times as text.

use jiff::Span;
use jiff::civil::{DateTime, Time, date};

/// What a cell holds.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Content {
    /// A number.
    Number(f64),
    /// Text as it was typed.
    Text(String),
    /// A date, a time, or both, as the tables write them.
    Moment(String),
    /// TRUE or FALSE.
    Truth(bool),
    /// What a formula gives that cannot be computed, as `#DIV/0!`.
    Wrong(String),
    /// A formula whose value was never stored.
    Uncomputed,
}

/// A cell that is not blank, a range of cells made into one, or how often the row that comes stands
/// there. Rows and columns count from 0.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Found {
    Cell { row: usize, column: usize, content: Content },
    Merged { row: usize, column: usize, rows: usize, columns: usize },
    Repeated { row: usize, rows: usize },
}

/// The row and column that a reference like `C13` names, or none.
pub(super) fn place_of(reference: &str) -> Option<(usize, usize)> {
    let digits = reference.find(|c: char| c.is_ascii_digit())?;
    let (letters, row) = reference.split_at_checked(digits)?;
    let row: usize = row.parse().ok()?;
    let column = letters.bytes().try_fold(0_usize, |column, letter| {
        let value = usize::from(letter.to_ascii_uppercase().checked_sub(b'A')?);
        (value < 26).then(|| column.checked_mul(26)?.checked_add(value + 1))?
    })?;
    Some((row.checked_sub(1)?, column.checked_sub(1)?))
}

/// Whether a number format shows a date or a time. Text in quotes and brackets and single
/// characters behind a backslash belong to neither; `[h]` counts hours.
pub(super) fn shows_moment(format: &str) -> bool {
    let mut characters = format.chars();
    while let Some(c) = characters.next() {
        match c {
            // what follows is for other numbers; `General` is no date for all its letters
            ';' | 'G' | 'g' => return false,
            '\\' | '_' | '*' => drop(characters.next()),
            '"' => drop(characters.by_ref().find(|c| *c == '"')),
            '[' => {
                let within: String = characters.by_ref().take_while(|c| *c != ']').collect();
                let counts = !within.is_empty() && within.chars().all(|c| "hHmMsS".contains(c));
                if counts {
                    return true;
                }
            }
            'd' | 'D' | 'm' | 'M' | 'y' | 'Y' | 'h' | 'H' | 's' | 'S' => return true,
            _ => {}
        }
    }
    false
}

/// Days by which dates counted from 1904 lag behind those counted from 1900.
const DAYS_1904: f64 = 1462.0;
const SECONDS_A_DAY: f64 = 86_400.0;

/// A date or time that is kept as a number of days, as the tables write it.
pub(super) fn moment_of_days(days: f64, from_1904: bool) -> Option<String> {
    let time_only = (0.0..1.0).contains(&days);
    let days = if from_1904 && !time_only { days + DAYS_1904 } else { days };
    if !(0.0..3_000_000.0).contains(&days) {
        return None;
    }
    // to the second: a spreadsheet keeps 05:40 as 0.236111111111111
    let seconds = (days * SECONDS_A_DAY).round();
    // the first of these calendars has a 29 February 1900, which never was
    let start = if days < 60.0 { date(1899, 12, 31) } else { date(1899, 12, 30) };
    #[expect(clippy::cast_possible_truncation, reason = "below 3e11, checked above")]
    let moment = start.at(0, 0, 0, 0).checked_add(Span::new().seconds(seconds as i64)).ok()?;
    Some(if time_only && seconds < SECONDS_A_DAY {
        time_text(moment.time())
    } else {
        moment_text(moment)
    })
}

/// A moment as the tables write it: without a time at midnight.
pub(super) fn moment_text(moment: DateTime) -> String {
    if moment.time() == Time::midnight() {
        moment.date().to_string()
    } else {
        format!("{} {}", moment.date(), time_text(moment.time()))
    }
}

/// A time of day as the tables write it: without seconds where there are none.
pub(super) fn time_text(time: Time) -> String {
    if time.second() == 0 {
        format!("{:02}:{:02}", time.hour(), time.minute())
    } else {
        format!("{:02}:{:02}:{:02}", time.hour(), time.minute(), time.second())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::grid::cell_name;

    #[test]
    fn references_are_read_and_written_alike() {
        for (text, row, column) in
            [("A1", 0, 0), ("Z9", 8, 25), ("AA10", 9, 26), ("XFD1048576", 1_048_575, 16_383)]
        {
            assert_eq!(place_of(text), Some((row, column)));
            assert_eq!(cell_name(row + 1, column), text);
        }
        for wrong in ["", "A", "1", "A0", "Å1", "A-1", "ZZZZZZZZZZZZZZZZZZZZ1"] {
            assert_eq!(place_of(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn formats_of_dates_and_times_are_told_from_those_of_numbers() {
        for moment in ["yyyy-mm-dd", "[$-407]d. mmm yy", "h:mm", "[h]:mm:ss", "\"on\" dd/mm"] {
            assert!(shows_moment(moment), "{moment}");
        }
        for number in ["General", "0.00", "#,##0 \"days\"", "[Red]0.0", "0\\d", "0.0;\"m\"", "@"] {
            assert!(!shows_moment(number), "{number}");
        }
    }

    /// Serial numbers as the spreadsheet programs state them in their manuals: 1 January 2008 is
    /// 39448 counted from 1900, and 5 July 1998 is 35981 or 34519 counted from 1904.
    #[test]
    fn days_are_counted_as_spreadsheets_do() {
        let text = |days, from_1904| moment_of_days(days, from_1904).unwrap();
        assert_eq!(text(39448.0, false), "2008-01-01");
        assert_eq!(text(35981.0, false), "1998-07-05");
        assert_eq!(text(34519.0, true), "1998-07-05");
        assert_eq!(text(1.0, false), "1900-01-01");
        assert_eq!(text(61.0, false), "1900-03-01");
        assert_eq!(text(0.236_111_111_111_111, false), "05:40");
        assert_eq!(text(0.236_111_111_111_111, true), "05:40");
        assert_eq!(text(39_448.903_472_222_22, false), "2008-01-01 21:41");
        assert_eq!(text(0.999_999_999, false), "1900-01-01", "rounds up to midnight");
        assert_eq!(moment_of_days(-1.0, false), None);
        assert_eq!(moment_of_days(f64::NAN, false), None);
    }
}
