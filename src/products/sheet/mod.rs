//! The files of a new survey: commented tables and settings, a workbook, a field sheet to print.
//!
//! In: which columns are measured, the codes of the study, the paper. Out: names and bytes of
//! files; the same choice gives the same bytes. All of them follow from the dictionary of input
//! columns and the description of the settings, so that sheet, workbook and tables agree.
//! Left out: where the files go (`cli`).

mod columns;
mod field_sheet;
mod page;
mod reminders;
mod tables;
mod workbook;

use crate::survey::settings::FILE as SETTINGS_FILE;
use rust_xlsxwriter::XlsxError;
use std::error::Error;
use std::fmt;

pub use columns::{Choice, Chosen};
pub use page::Paper;

/// The name of the workbook within a new survey.
pub const WORKBOOK: &str = "survey.xlsx";
/// The name of the field sheet within a new survey.
pub const FIELD_SHEET: &str = "field-sheet.pdf";

/// A file of a new survey.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewFile {
    /// Its name within the folder.
    pub name: String,
    /// What it holds.
    pub bytes: Vec<u8>,
}

/// A file that could not be made, which only a fault of the program can cause.
#[derive(Debug)]
pub struct TemplateError(String);

impl fmt::Display for TemplateError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "a file of the new survey could not be made: {}", self.0)
    }
}

impl Error for TemplateError {}

impl From<XlsxError> for TemplateError {
    fn from(error: XlsxError) -> Self {
        Self(error.to_string())
    }
}

/// All files of a new survey, in the order in which they are used.
///
/// # Errors
/// Only where a limit of the workbook's format or a font stands in the way.
pub fn files(choice: &Choice, paper: Paper) -> Result<Vec<NewFile>, TemplateError> {
    let file = |name: &str, bytes| NewFile { name: name.into(), bytes };
    let mut files = vec![
        file(FIELD_SHEET, field_sheet::pdf(choice, paper)?),
        file(WORKBOOK, workbook::xlsx(choice)?),
        file(SETTINGS_FILE, tables::settings().into_bytes()),
    ];
    for chosen in &choice.tables {
        let name = format!("{}.csv", chosen.table.name);
        files.push(file(&name, tables::table(chosen, choice).into_bytes()));
    }
    Ok(files)
}
