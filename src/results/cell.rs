//! A cell of a result made into text, in one way for every file: CSV, JSON, maps, workbook.
//!
//! In: a [`Cell`] and its [`Column`]. Out: text or a value with the decimals of the column, halves away from
//! zero; and whole tables as CSV and JSON, both in one pass over the rows.

use super::Analysis;
use super::tables::{Cell, Column, Kind, Table};
use serde_json::{Map, Value};
use std::io::{self, Write};

/// Bytes gathered before they are written.
const FULL: usize = 1 << 16;

/// Writes one table as CSV (RFC 4180, line feeds) and as a JSON list of objects.
///
/// # Errors
/// The writer's.
pub fn table(
    table: &Table,
    analysis: &Analysis,
    csv: &mut impl Write,
    json: &mut impl Write,
) -> io::Result<()> {
    let columns: Vec<Encoded> = table.columns.iter().enumerate().map(Encoded::of).collect();
    let mut text = Rows { csv: Vec::with_capacity(2 * FULL), json: Vec::with_capacity(4 * FULL) };
    text.heading(&table.columns);
    let mut outcome = Ok(());
    let mut before: &[u8] = b"[\n";
    table.for_each_row(analysis, &mut |row| {
        if outcome.is_err() {
            return;
        }
        text.json.extend_from_slice(before);
        before = b",\n";
        text.row(row, &columns);
        if text.csv.len() > FULL {
            outcome = text.write(csv, json);
        }
    });
    outcome?;
    text.json.extend_from_slice(if before == b",\n" { b"]" } else { b"[]" });
    text.write(csv, json)
}

/// A column as its cells are written.
struct Encoded {
    /// Its key in a JSON object, with what stands before it and the colon.
    key: Vec<u8>,
    decimals: usize,
}

impl Encoded {
    fn of((at, column): (usize, &Column)) -> Self {
        let mut key = vec![if at == 0 { b'{' } else { b',' }];
        json_text(&column.name, &mut key);
        key.push(b':');
        let decimals = match column.kind {
            Kind::Number(decimals) => usize::from(decimals).min(POWERS.len() - 1),
            Kind::Text | Kind::Count => 0,
        };
        Self { key, decimals }
    }
}

/// Rows gathered until there are enough to write.
struct Rows {
    csv: Vec<u8>,
    json: Vec<u8>,
}

impl Rows {
    fn heading(&mut self, columns: &[Column]) {
        for (at, column) in columns.iter().enumerate() {
            if at > 0 {
                self.csv.push(b',');
            }
            csv_text(&column.name, &mut self.csv);
        }
        self.csv.push(b'\n');
    }

    /// Each cell is made into text once, and stands in both.
    fn row(&mut self, row: &[Cell<'_>], columns: &[Encoded]) {
        for (at, (cell, column)) in row.iter().zip(columns).enumerate() {
            if at > 0 {
                self.csv.push(b',');
            }
            self.json.extend_from_slice(&column.key);
            match *cell {
                Cell::Blank => self.json.extend_from_slice(b"null"),
                Cell::Text(text) => {
                    csv_text(text, &mut self.csv);
                    json_text(text, &mut self.json);
                }
                Cell::Number(value) => self.number(value, column.decimals),
                // A count below 2⁵³ is exact as a number; a table has no more rows.
                Cell::Count(count) => self.number(count as f64, 0),
            }
        }
        self.csv.push(b'\n');
        self.json.push(b'}');
    }

    fn number(&mut self, value: f64, decimals: usize) {
        let start = self.csv.len();
        number(value, decimals, &mut self.csv);
        let written = &self.csv[start..];
        self.json.extend_from_slice(if written.is_empty() { b"null" } else { written });
    }

    fn write(&mut self, csv: &mut impl Write, json: &mut impl Write) -> io::Result<()> {
        csv.write_all(&self.csv)?;
        json.write_all(&self.json)?;
        self.csv.clear();
        self.json.clear();
        Ok(())
    }
}

/// A row of text cells.
pub fn csv_line(cells: &[String], out: &mut Vec<u8>) {
    for (at, cell) in cells.iter().enumerate() {
        if at > 0 {
            out.push(b',');
        }
        csv_text(cell, out);
    }
    out.push(b'\n');
}

/// Text that a spreadsheet would run as a formula is defused by a leading apostrophe; a number
/// that was passed on as text stays one.
fn csv_text(text: &str, out: &mut Vec<u8>) {
    let risky = text.starts_with(['=', '+', '-', '@', '\t', '\r']) && text.parse::<f64>().is_err();
    let quoted = text.bytes().any(|byte| matches!(byte, b',' | b'"' | b'\n' | b'\r'));
    if !risky && !quoted {
        out.extend_from_slice(text.as_bytes());
        return;
    }
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
    if text.bytes().all(|byte| matches!(byte, b' '..=b'~') && byte != b'"' && byte != b'\\') {
        out.extend_from_slice(text.as_bytes());
    } else {
        json_escaped(text, out);
    }
    out.push(b'"');
}

fn json_escaped(text: &str, out: &mut Vec<u8>) {
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
}

/// The number that is printed with so many decimals.
pub fn rounded(value: f64, decimals: u8) -> f64 {
    let mut text = Vec::new();
    number(value, usize::from(decimals).min(POWERS.len() - 1), &mut text);
    let text = str::from_utf8(&text).unwrap_or_default();
    text.parse().unwrap_or(value)
}

/// A cell as JSON, with the decimals of its column.
pub fn value(cell: Cell<'_>, column: &Column) -> Value {
    match (cell, column.kind) {
        (Cell::Blank, _) => Value::Null,
        (Cell::Text(text), _) => Value::from(text),
        (Cell::Count(count), _) => Value::from(count),
        // A number that is none becomes null.
        (Cell::Number(number), Kind::Number(decimals)) => Value::from(rounded(number, decimals)),
        (Cell::Number(number), _) => Value::from(number),
    }
}

/// One row of a table as a JSON object.
pub fn object(table: &Table, row: &[Cell<'_>]) -> Value {
    let own = row.iter().zip(&table.columns);
    Value::Object(
        own.map(|(cell, column)| (column.name.to_string(), value(*cell, column)))
            .collect::<Map<_, _>>(),
    )
}

const POWERS: [f64; 9] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8];

/// 00 to 99.
const PAIRS: [[u8; 2]; 100] = {
    let mut pairs = [[b'0'; 2]; 100];
    let mut at: u8 = 0;
    while at < 100 {
        pairs[at as usize] = [b'0' + at / 10, b'0' + at % 10];
        at += 1;
    }
    pairs
};

/// A number with this many decimals; nothing for what is not a number.
fn number(value: f64, decimals: usize, out: &mut Vec<u8>) {
    if !value.is_finite() {
        return;
    }
    let scaled = value.abs() * POWERS[decimals] + 0.5;
    if scaled >= 1e15 {
        out.extend_from_slice(format!("{value:e}").as_bytes());
        return;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 1e15")]
    let mut rest = scaled as u64;
    if value < 0.0 && rest > 0 {
        out.push(b'-');
    }
    // Two digits at a time from the end; the zeros before them are there already.
    let mut text = [b'0'; 18];
    let mut start = text.len();
    while rest > 0 {
        start -= 2;
        let pair = PAIRS[(rest % 100) as usize];
        text[start..start + 2].copy_from_slice(&pair);
        rest /= 100;
    }
    start += usize::from(text.get(start) == Some(&b'0'));
    let point = text.len() - decimals;
    out.extend_from_slice(&text[start.min(point - 1)..point]);
    if decimals > 0 {
        out.push(b'.');
        out.extend_from_slice(&text[point..]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn written(value: f64, decimals: u8) -> String {
        let mut out = Vec::new();
        number(value, usize::from(decimals), &mut out);
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
            let half = 0.5 * 10_f64.powi(-i32::from(decimals));
            prop_assert!((back - value).abs() <= half + 4.0 * f64::EPSILON * value.abs());
        }
    }
}
