//! Faults of a survey: what is wrong, where, what was expected, and what may cure it.
//!
//! In: reports from readers and rules. Out: [`Faults`], sorted by place, to be shown together.
//! A fault is data, never an `Err`: failures of the machine travel another way.
//! Assumes that a rule blinded by an earlier fault stays silent; that is the rule's own duty.
//! Left out: finding them (`survey/input`, `survey` and `results/rules`).

mod code;
mod collected;
mod folded;
mod place;

pub use code::Code;
pub use collected::{Alike, Faults, MOST_ALIKE};
pub use folded::Folded;
pub use place::Place;
use serde::Serialize;

/// How much a fault matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Stops a rebuild.
    Error,
    /// Does not stop a rebuild, and should be looked at before the numbers are used.
    Warning,
    /// Worth knowing: an assumption that was made, a form that was accepted.
    Note,
}

impl Severity {
    /// An error where `size` exceeds `limit`, else a warning.
    pub fn above(size: f64, limit: f64) -> Self {
        if size > limit { Self::Error } else { Self::Warning }
    }

    /// The word for a reader.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Note => "note",
        }
    }
}

/// One fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// What kind.
    pub code: Code,
    /// How much it matters.
    pub severity: Severity,
    /// Where.
    pub place: Place,
    /// What stands there, as the user wrote it.
    pub found: String,
    /// What should stand there.
    pub expected: String,
    /// What may have happened, or what to do.
    pub hint: String,
}

impl Fault {
    /// Says what stands there.
    pub fn found(&mut self, found: impl Into<String>) -> &mut Self {
        self.found = found.into();
        self
    }

    /// Says what should stand there.
    pub fn expected(&mut self, expected: impl Into<String>) -> &mut Self {
        self.expected = expected.into();
        self
    }

    /// Says what may have happened, or what to do.
    pub fn hint(&mut self, hint: impl Into<String>) -> &mut Self {
        self.hint = hint.into();
        self
    }
}
