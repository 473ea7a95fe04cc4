//! The workbook of a new survey: a sheet a table, with frozen headings, a remark on each, ranges
//! and lists for its cells. Nothing is locked.

use super::TemplateError;
use super::columns::{Choice, Chosen, Heading};
use super::tables::meaning;
use crate::maths::quantity::Bearing;
use crate::survey::dictionary::{ANCHORS, Kind};
use crate::survey::grid::column_letters;
use rust_xlsxwriter::{
    Color, DataValidation, DataValidationErrorStyle, DataValidationRule, DocProperties,
    ExcelDateTime, Format, FormatBorder, Formula, Note, Workbook, Worksheet, XlsxError,
};

/// How many rows below the headings have ranges and lists; formats hold for the whole column.
const ROWS: u32 = 10_000;
/// How many words of the study fit in a list.
const CODES: usize = 200;
/// The sheet with the words of the study.
const CODES_SHEET: &str = "codes";
/// The longest message that a range may have, in characters.
const LONGEST_MESSAGE: usize = 255;

/// The workbook's bytes.
pub(super) fn xlsx(choice: &Choice) -> Result<Vec<u8>, TemplateError> {
    let mut book = Workbook::new();
    // the same survey gives the same bytes: no clock
    let created = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&created));
    for chosen in &choice.tables {
        table(book.add_worksheet(), chosen, choice)?;
    }
    if !choice.codes.is_empty() {
        codes(book.add_worksheet(), choice)?;
    }
    Ok(book.save_to_buffer()?)
}

fn heading_format() -> Format {
    let grey = Color::RGB(0x00E4_E4E4);
    Format::new().set_bold().set_background_color(grey).set_border_bottom(FormatBorder::Thin)
}

fn table(sheet: &mut Worksheet, chosen: &Chosen, choice: &Choice) -> Result<(), XlsxError> {
    sheet.set_name(chosen.table.name)?;
    // the names of a row stay in sight beside its readings
    let names = if chosen.table.name == ANCHORS.name { 2 } else { 1 };
    sheet.set_freeze_panes(1, names)?;
    sheet.set_repeat_rows(0, 0)?;
    sheet.set_landscape();
    sheet.set_print_fit_to_pages(1, 0);
    for (at, heading) in (0_u16..).zip(&chosen.headings) {
        column(sheet, at, heading, choice)?;
    }
    Ok(())
}

fn column(
    sheet: &mut Worksheet,
    at: u16,
    heading: &Heading,
    choice: &Choice,
) -> Result<(), XlsxError> {
    let kind = heading.column.map(|column| column.kind);
    if let Some(format) = cell_format(kind) {
        sheet.set_column_format(at, &Format::new().set_num_format(format))?;
    }
    sheet.set_column_width(at, width(heading, kind))?;
    sheet.write_string_with_format(0, at, &heading.name, &heading_format())?;
    let meaning = meaning(heading.column, &heading.name, choice);
    let note = Note::new(&meaning).add_author_prefix(false).set_width(240).set_height(110);
    sheet.insert_note(0, at, &note)?;
    let Some(rule) = rule(heading, kind, choice)? else { return Ok(()) };
    let message: String = meaning.chars().take(LONGEST_MESSAGE).collect();
    let rule = rule.set_error_title("Not what this column takes")?.set_error_message(message)?;
    sheet.add_data_validation(1, at, ROWS, at, &rule)?;
    Ok(())
}

/// Names have the format of text, so that 01 stays 01 and 1-2 is no date.
fn cell_format(kind: Option<Kind>) -> Option<&'static str> {
    match kind? {
        Kind::Name | Kind::Text | Kind::Word(_) | Kind::YesNo | Kind::Point => Some("@"),
        Kind::Date => Some("yyyy-mm-dd"),
        Kind::Moment => Some("yyyy-mm-dd hh:mm"),
        Kind::Number(..) => None,
    }
}

fn width(heading: &Heading, kind: Option<Kind>) -> f64 {
    let least: f64 = match kind {
        Some(Kind::Moment) => 17.0,
        Some(Kind::Text) => 18.0,
        Some(Kind::Name | Kind::Date) => 12.0,
        _ => 8.0,
    };
    least.max(heading.name.chars().count() as f64 + 2.5)
}

/// What the cells of a column take. Of numbers, dates and fixed words nothing else is let in; a
/// word that the study's own list lacks may be meant.
fn rule(
    heading: &Heading,
    kind: Option<Kind>,
    choice: &Choice,
) -> Result<Option<DataValidation>, XlsxError> {
    let rule = DataValidation::new();
    if choice.codes_of(&heading.name).is_some() {
        let list = codes_list(&heading.name, choice);
        let warned = rule.allow_list_formula(Formula::new(list));
        return Ok(Some(warned.set_error_style(DataValidationErrorStyle::Warning)));
    }
    let list = |words: &[&str]| DataValidation::new().allow_list_strings(words).map(Some);
    let days = |year, month, day| ExcelDateTime::from_ymd(year, month, day);
    Ok(match kind {
        Some(Kind::Number(low, high)) => {
            Some(rule.allow_decimal_number(DataValidationRule::Between(low, high)))
        }
        Some(Kind::Word(words)) => list(words)?,
        Some(Kind::YesNo) => list(&["yes", "no"])?,
        Some(Kind::Point) => list(Bearing::POINTS)?,
        Some(Kind::Date) => {
            Some(rule.allow_date(DataValidationRule::Between(days(1900, 3, 1)?, days(2100, 1, 1)?)))
        }
        // a time alone is a part of a day
        Some(Kind::Moment) => {
            let latest = days(2100, 1, 1)?.to_excel();
            Some(rule.allow_decimal_number(DataValidationRule::Between(0.0, latest)))
        }
        Some(Kind::Name | Kind::Text) | None => None,
    })
}

/// Where the words of a heading stand on the sheet of codes.
fn codes_list(heading: &str, choice: &Choice) -> String {
    let own = if choice.codes.contains_key(heading) { heading } else { "support" };
    let at = choice.codes.keys().position(|key| key == own).unwrap_or(0);
    let letters = column_letters(at);
    format!("={CODES_SHEET}!${letters}$2:${letters}${}", CODES + 1)
}

fn codes(sheet: &mut Worksheet, choice: &Choice) -> Result<(), XlsxError> {
    sheet.set_name(CODES_SHEET)?;
    sheet.set_freeze_panes(1, 0)?;
    for (at, (heading, words)) in (0_u16..).zip(&choice.codes) {
        sheet.set_column_format(at, &Format::new().set_num_format("@"))?;
        sheet.set_column_width(at, 18)?;
        sheet.write_string_with_format(0, at, heading, &heading_format())?;
        let note = "the words of this study: add your own below, or write over them";
        let note = Note::new(note).add_author_prefix(false).set_width(240).set_height(60);
        sheet.insert_note(0, at, &note)?;
        for (row, word) in (1_u32..).zip(words.iter().take(CODES)) {
            sheet.write_string(row, at, word)?;
        }
    }
    Ok(())
}
