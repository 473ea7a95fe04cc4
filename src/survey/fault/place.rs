//! Where in a survey a fault lies, and how that is said and sorted.

use std::cmp::Ordering;
use std::sync::Arc;

/// Where in the survey a fault lies. Rows count from 1 with the heading as row 1, or as the row in
/// which it stands below remarks; in `survey.toml` the row is the line.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Place {
    /// The file, as the user names it.
    pub file: Arc<str>,
    /// The sheet, where the file is a workbook.
    pub sheet: Option<Arc<str>>,
    /// The row, where the fault lies in one.
    pub row: Option<usize>,
    /// The heading of the column, where the fault lies in one.
    pub column: Option<Arc<str>>,
    /// The cell by its letters and number, where the file is a workbook.
    pub cell: Option<Arc<str>>,
}

impl Place {
    /// A whole file.
    pub fn file(name: &str) -> Self {
        Self { file: name.into(), ..Self::default() }
    }

    /// The same file, at `row`.
    #[must_use]
    pub fn row(mut self, row: usize) -> Self {
        self.row = Some(row);
        self
    }

    /// The same row, in the column headed `column`.
    #[must_use]
    pub fn column(mut self, column: &str) -> Self {
        self.column = Some(column.into());
        self
    }

    /// The place in one phrase, without what is not known of it.
    pub fn phrase(&self) -> String {
        let mut phrase = self.file.to_string();
        if let Some(sheet) = &self.sheet {
            phrase += &format!(", sheet {sheet}");
        }
        if let Some(row) = self.row {
            phrase += &format!(", row {row}");
        }
        if let Some(column) = &self.column {
            phrase += &format!(", column {column}");
        }
        if let Some(cell) = &self.cell {
            phrase += &format!(", cell {cell}");
        }
        phrase
    }

    /// By file, sheet, row and column.
    pub(super) fn order(&self, other: &Self) -> Ordering {
        let key = |place: &Self| {
            (place.file.clone(), place.sheet.clone(), place.row, place.column.clone())
        };
        key(self).cmp(&key(other))
    }
}
