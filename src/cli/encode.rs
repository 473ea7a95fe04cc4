//! Result tables as CSV and JSON, both in one pass over the rows.

use crate::analysis::Analysis;
use crate::analysis::tables::{Cell, Column, Kind, Table};
use std::io::{self, Write};

/// Bytes gathered before they are written.
const FULL: usize = 1 << 16;

/// Writes one table as CSV (RFC 4180, line feeds) and as a JSON list of objects.
pub(super) fn table(
    table: &Table,
    analysis: &Analysis,
    csv: &mut impl Write,
    json: &mut impl Write,
) -> io::Result<()> {
    let keys: Vec<Vec<u8>> = table.columns.iter().map(key).collect();
    let (mut text, mut list) = (Vec::with_capacity(FULL * 2), Vec::with_capacity(FULL * 2));
    let heading: Vec<Cell<'_>> = table.columns.iter().map(|c| Cell::Text(&c.name)).collect();
    csv_row(&heading, &table.columns, &mut text);
    list.push(b'[');
    let mut outcome = Ok(());
    let mut first = true;
    table.for_each_row(analysis, &mut |row| {
        if outcome.is_err() {
            return;
        }
        csv_row(row, &table.columns, &mut text);
        list.extend_from_slice(if first { b"\n" } else { b",\n" });
        first = false;
        json_row(row, &table.columns, &keys, &mut list);
        if text.len() > FULL {
            outcome = csv.write_all(&text).and_then(|()| json.write_all(&list));
            text.clear();
            list.clear();
        }
    });
    outcome?;
    list.push(b']');
    csv.write_all(&text)?;
    json.write_all(&list)
}

/// A column's key in a JSON object, with the colon.
fn key(column: &Column) -> Vec<u8> {
    let mut key = Vec::new();
    json_text(&column.name, &mut key);
    key.push(b':');
    key
}

fn csv_row(row: &[Cell<'_>], columns: &[Column], out: &mut Vec<u8>) {
    for (at, (cell, column)) in row.iter().zip(columns).enumerate() {
        if at > 0 {
            out.push(b',');
        }
        match cell {
            Cell::Blank => {}
            Cell::Text(text) => csv_text(text, out),
            Cell::Number(value) => number(*value, column.kind, out),
            Cell::Count(count) => whole(*count as u64, out),
        }
    }
    out.push(b'\n');
}

fn json_row(row: &[Cell<'_>], columns: &[Column], keys: &[Vec<u8>], out: &mut Vec<u8>) {
    out.push(b'{');
    for (at, ((cell, column), key)) in row.iter().zip(columns).zip(keys).enumerate() {
        if at > 0 {
            out.push(b',');
        }
        out.extend_from_slice(key);
        let start = out.len();
        match cell {
            Cell::Blank => {}
            Cell::Text(text) => json_text(text, out),
            Cell::Number(value) => number(*value, column.kind, out),
            Cell::Count(count) => whole(*count as u64, out),
        }
        if out.len() == start {
            out.extend_from_slice(b"null");
        }
    }
    out.push(b'}');
}

/// Text that a spreadsheet would run as a formula is defused by a leading apostrophe; a number
/// that was passed on as text stays one.
fn csv_text(text: &str, out: &mut Vec<u8>) {
    let risky = text.starts_with(['=', '+', '-', '@', '\t', '\r']) && text.parse::<f64>().is_err();
    let quoted = text.contains([',', '"', '\n', '\r']);
    if quoted {
        out.push(b'"');
    }
    if risky {
        out.push(b'\'');
    }
    for &byte in text.as_bytes() {
        if byte == b'"' {
            out.push(b'"');
        }
        out.push(byte);
    }
    if quoted {
        out.push(b'"');
    }
}

fn json_text(text: &str, out: &mut Vec<u8>) {
    out.push(b'"');
    for c in text.chars() {
        match c {
            '"' => out.extend_from_slice(b"\\\""),
            '\\' => out.extend_from_slice(b"\\\\"),
            '\n' => out.extend_from_slice(b"\\n"),
            c if c.is_control() => {
                out.extend_from_slice(format!("\\u{:04x}", u32::from(c)).as_bytes());
            }
            c => out.extend_from_slice(c.encode_utf8(&mut [0; 4]).as_bytes()),
        }
    }
    out.push(b'"');
}

/// A number with the decimals of its column; nothing for what is not a number.
fn number(value: f64, kind: Kind, out: &mut Vec<u8>) {
    const POWERS: [f64; 9] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8];
    if !value.is_finite() {
        return;
    }
    let decimals = match kind {
        Kind::Number(decimals) => usize::from(decimals),
        Kind::Text | Kind::Count => 0,
    };
    let scaled = (value.abs() * POWERS[decimals.min(8)]).round();
    if scaled >= 1e15 {
        out.extend_from_slice(format!("{value:e}").as_bytes());
        return;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 1e15")]
    let mut digits = scaled as u64;
    if value < 0.0 && digits > 0 {
        out.push(b'-');
    }
    let mut reversed = [b'0'; 24];
    let mut count = 0;
    while digits > 0 || count <= decimals {
        if count == decimals && decimals > 0 {
            reversed[count] = b'.';
            count += 1;
        }
        reversed[count] = DIGITS[usize::try_from(digits % 10).unwrap_or(0)];
        digits /= 10;
        count += 1;
        if count > decimals && digits == 0 {
            break;
        }
    }
    out.extend(reversed[..count].iter().rev());
}

const DIGITS: [u8; 10] = *b"0123456789";

fn whole(value: u64, out: &mut Vec<u8>) {
    // A count below 2⁵³ is exact as a number; a table has no more rows.
    number(value as f64, Kind::Count, out);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn written(value: f64, decimals: u8) -> String {
        let mut out = Vec::new();
        number(value, Kind::Number(decimals), &mut out);
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn numbers_keep_their_decimals() {
        assert_eq!(written(0.37, 4), "0.3700");
        assert_eq!(written(-0.00001, 4), "0.0000");
        assert_eq!(written(-12.5, 1), "-12.5");
        assert_eq!(written(1234.0, 0), "1234");
        assert_eq!(written(0.0, 0), "0");
        assert_eq!(written(f64::NAN, 2), "");
    }

    #[test]
    fn a_formula_is_defused_and_a_number_is_not() {
        let cell = |text: &str| {
            let mut out = Vec::new();
            csv_text(text, &mut out);
            String::from_utf8(out).unwrap()
        };
        assert_eq!(cell("=1+1"), "'=1+1");
        assert_eq!(cell("-3.5"), "-3.5");
        assert_eq!(cell("a, \"b\""), "\"a, \"\"b\"\"\"");
    }

    proptest! {
        #[test]
        fn numbers_read_back_within_half_a_last_digit(value in -1e6..1e6_f64, decimals in 0..8u8) {
            let back: f64 = written(value, decimals).parse().unwrap();
            prop_assert!((back - value).abs() <= 0.5001 * 10_f64.powi(-i32::from(decimals)));
        }
    }
}
