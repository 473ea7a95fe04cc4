//! Names of files: which are workbooks, and which are nearly that of a table.

use crate::survey::dictionary::InputTable;
use std::path::Path;

/// Endings of workbooks.
const WORKBOOKS: [&str; 4] = ["xlsx", "xlsm", "xls", "ods"];
/// Whether a file of this name is a workbook.
pub(super) fn is_workbook_name(name: &str) -> bool {
    // what a spreadsheet program leaves beside a workbook while it is open
    let lock = name.starts_with("~$") || name.starts_with(".~");
    let ending = Path::new(name).extension().and_then(|ending| ending.to_str());
    !lock && ending.is_some_and(is_workbook)
}

fn is_workbook(ending: &str) -> bool {
    WORKBOOKS.iter().any(|known| known.eq_ignore_ascii_case(ending))
}

/// The file of a table as text.
pub(super) fn file_of(table: &InputTable) -> String {
    format!("{}.csv", table.name)
}

/// Whether `name` is `file` in another case, with another ending, or in the singular or plural.
pub(super) fn looks_like(name: &str, file: &str) -> bool {
    let parts = |whole: &str| {
        let lower = whole.to_lowercase();
        let (stem, ending) = lower.rsplit_once('.').unwrap_or((&lower, ""));
        (stem.trim().to_owned(), ending.to_owned())
    };
    let singular = |word: &str| word.trim_end_matches('s').to_owned();
    let ((stem, ending), (wanted, own)) = (parts(name), parts(file));
    let is_text = ["", "csv", "txt", "tsv", "tab"].contains(&ending.as_str());
    let may_hold = ending == own || own == "csv" && is_text;
    // a file manager that hides endings makes anchors.csv.txt
    name != file && (may_hold && singular(&stem) == singular(&wanted) || stem == file && is_text)
}
