//! `results.xlsx`: every result table a sheet of one workbook.
//!
//! In: an analysis and its tables. Out: the workbook's bytes; the same analysis gives the same bytes. Numbers
//! are numbers with the decimals of their column; unit and meaning of a column stand in the note of its
//! heading; headings stay in sight. A table with more rows than a sheet holds is told on the first sheet.

use crate::results::Analysis;
use crate::results::cell::rounded;
use crate::results::tables::{Cell, Column, Kind, Table};
use rust_xlsxwriter::{
    DocProperties, ExcelDateTime, Format, FormatBorder, Note, Workbook, Worksheet, XlsxError,
};

/// A sheet holds so many rows below its heading.
const MOST_ROWS: u32 = 1_048_575;
/// How wide a column is, in characters, and the longest text that a cell holds.
const WIDEST: usize = 40;
const LONGEST: usize = 32_767;

/// The workbook.
///
/// # Errors
/// The library's, where it refuses a name or a cell.
pub fn xlsx(analysis: &Analysis, tables: &[Table]) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    let created = ExcelDateTime::from_ymd(2000, 1, 1)?; // no clock in a result
    book.set_properties(&DocProperties::new().set_creation_datetime(&created));
    let bold = Format::new().set_bold().set_border_bottom(FormatBorder::Thin);
    let mut contents = Worksheet::new();
    contents.set_name("contents")?;
    for (column, heading) in (0..).zip(["sheet", "what one row is", "rows"]) {
        contents.write_string_with_format(0, column, heading, &bold)?;
    }
    contents.set_column_width(0, 22)?.set_column_width(1, 44)?;
    contents.set_freeze_panes(1, 0)?;
    let mut sheets = Vec::new();
    for (row, table) in (1..).zip(tables) {
        let mut sheet = Worksheet::new();
        sheet.set_name(table.name)?;
        let rows = fill(&mut sheet, analysis, table, &bold)?;
        contents.write_string(row, 0, table.name)?;
        contents.write_string(row, 1, table.meaning)?;
        if rows > MOST_ROWS {
            let full = format!("{rows}: more than a sheet holds; all stand in {}.csv", table.name);
            contents.write_string(row, 2, full)?;
        } else {
            contents.write_number(row, 2, f64::from(rows))?;
        }
        sheets.push(sheet);
    }
    for sheet in std::iter::once(contents).chain(sheets) {
        book.push_worksheet(sheet);
    }
    book.save_to_buffer()
}

/// Fills a sheet, and says how many rows there are.
fn fill(
    sheet: &mut Worksheet,
    analysis: &Analysis,
    table: &Table,
    bold: &Format,
) -> Result<u32, XlsxError> {
    for (at, column) in (0..).zip(&table.columns) {
        sheet.write_string_with_format(0, at, column.name.as_ref(), bold)?;
        sheet.insert_note(0, at, &Note::new(note(column)).add_author_prefix(false))?;
        let wide = column.name.chars().count().clamp(8, WIDEST) + 2;
        sheet.set_column_width(at, f64::from(u32::try_from(wide).unwrap_or(u32::MAX)))?;
    }
    sheet.set_freeze_panes(1, 0)?;
    let mut outcome = Ok(());
    let mut rows = 0;
    table.for_each_row(analysis, &mut |row| {
        rows += 1;
        if outcome.is_ok() && rows <= MOST_ROWS {
            outcome = write(sheet, rows, row, &table.columns);
        }
    });
    outcome.map(|()| rows)
}

fn write(
    sheet: &mut Worksheet,
    at: u32,
    row: &[Cell<'_>],
    columns: &[Column],
) -> Result<(), XlsxError> {
    for (place, (cell, column)) in (0..).zip(row.iter().zip(columns)) {
        match (*cell, column.kind) {
            (Cell::Text(text), _) => {
                let text: String = text.chars().take(LONGEST).collect();
                sheet.write_string(at, place, text)?;
            }
            (Cell::Number(number), _) if !number.is_finite() => {}
            (Cell::Number(number), Kind::Number(decimals)) => {
                sheet.write_number(at, place, rounded(number, decimals))?;
            }
            (Cell::Number(number), _) => {
                sheet.write_number(at, place, number)?;
            }
            // Exact below 2⁵³: a table has no more rows.
            (Cell::Count(count), _) => {
                sheet.write_number(at, place, count as f64)?;
            }
            (Cell::Blank, _) => {}
        }
    }
    Ok(())
}

/// Unit and meaning.
fn note(column: &Column) -> String {
    match column.unit {
        "" => column.meaning.to_string(),
        unit => format!("{unit}: {}", column.meaning),
    }
}
