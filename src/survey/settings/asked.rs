//! What the study asks: nothing else is tested between animals.

use serde::Serialize;

/// The comparison that was settled beforehand, by the headings of columns.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Asked {
    /// Groups by each of these columns of animals or trails.
    pub by: Vec<String>,
    /// Against the numbers in each of these.
    pub with: Vec<String>,
    /// The same animals in two levels of a column: `COLUMN`, or `COLUMN=A,B`.
    pub pairs: Option<String>,
    /// Labels are shuffled within the levels of this column only.
    pub within: Option<String>,
    /// The direction that was expected, degrees from true north.
    pub direction_deg: Option<f64>,
}

impl Asked {
    /// Whether nothing was asked.
    pub fn is_nothing(&self) -> bool {
        *self == Self::default()
    }

    /// The columns that are spoken of, each with the key that does so.
    pub fn columns(&self) -> impl Iterator<Item = (&'static str, &str)> {
        let pairs = self.pairs.as_deref().map(|text| text.split('=').next().unwrap_or(text));
        let by = self.by.iter().map(|column| ("by", column.as_str()));
        by.chain(self.with.iter().map(|column| ("with", column.as_str())))
            .chain(pairs.map(|column| ("pairs", column)))
            .chain(self.within.as_deref().map(|column| ("within", column)))
    }
}
