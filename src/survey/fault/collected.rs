//! All faults found so far: counted, listed up to a limit, sorted.

use super::{Code, Fault, Place, Severity};
use std::collections::BTreeMap;
use std::sync::Arc;

/// What makes faults alike: a column written wrongly throughout gives one a row.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Alike {
    /// What kind.
    pub code: Code,
    /// How much they matter.
    pub severity: Severity,
    /// The file they lie in.
    pub file: Arc<str>,
    /// The column they lie in.
    pub column: Option<Arc<str>>,
}

impl Alike {
    fn of(code: Code, severity: Severity, place: &Place) -> Self {
        Self { code, severity, file: place.file.clone(), column: place.column.clone() }
    }
}

/// How many faults that are alike are listed. All are counted; nobody reads more, and a large table
/// in a wrong unit would fill the memory with them.
pub const MOST_ALIKE: usize = 1000;

/// All faults found so far.
#[derive(Clone, Debug, Default)]
pub struct Faults {
    list: Vec<Fault>,
    counts: BTreeMap<Alike, usize>,
    /// Takes what is said of a fault that is not listed.
    unlisted: Option<Box<Fault>>,
}

impl Faults {
    /// Adds a fault, to be completed by what was found, what was expected, and a hint.
    pub fn report(&mut self, code: Code, severity: Severity, place: Place) -> &mut Fault {
        let count = self.counts.entry(Alike::of(code, severity, &place)).or_default();
        *count += 1;
        let [found, expected, hint] = <[String; 3]>::default();
        let fault = Fault { code, severity, place, found, expected, hint };
        if *count > MOST_ALIKE {
            return self.unlisted.insert(Box::new(fault));
        }
        let at = self.list.len();
        self.list.push(fault);
        &mut self.list[at]
    }

    /// An error: stops a rebuild.
    pub fn error(&mut self, code: Code, place: Place) -> &mut Fault {
        self.report(code, Severity::Error, place)
    }

    /// A warning: does not stop a rebuild.
    pub fn warn(&mut self, code: Code, place: Place) -> &mut Fault {
        self.report(code, Severity::Warning, place)
    }

    /// A note.
    pub fn note(&mut self, code: Code, place: Place) -> &mut Fault {
        self.report(code, Severity::Note, place)
    }

    /// Takes over the faults of `other`.
    pub fn append(&mut self, mut other: Self) {
        self.list.append(&mut other.list);
        for (alike, count) in other.counts {
            *self.counts.entry(alike).or_default() += count;
        }
    }

    /// Whether any fault stops a rebuild.
    pub fn stop(&self) -> bool {
        self.count(Severity::Error) > 0
    }

    /// How many faults of this severity.
    pub fn count(&self, severity: Severity) -> usize {
        let of_severity = self.counts.iter().filter(|(alike, _)| alike.severity == severity);
        of_severity.map(|(_, count)| count).sum()
    }

    /// What there is more of than is listed, and how many are not.
    pub fn unlisted(&self) -> Vec<(&Alike, usize)> {
        let mut listed: BTreeMap<Alike, usize> = BTreeMap::new();
        for fault in &self.list {
            let alike = Alike::of(fault.code, fault.severity, &fault.place);
            *listed.entry(alike).or_default() += 1;
        }
        let more = |(alike, count): (&'_ Alike, &usize)| {
            count.saturating_sub(listed.get(alike).copied().unwrap_or(0))
        };
        let all = self.counts.iter().map(|entry| (entry.0, more(entry)));
        all.filter(|(_, count)| *count > 0).collect()
    }

    /// Whether nothing was found.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// The faults, by place, then by code; those of one place and code keep their order.
    pub fn sorted(&self) -> Vec<&Fault> {
        let mut sorted: Vec<&Fault> = self.list.iter().collect();
        sorted.sort_by(|a, b| a.place.order(&b.place).then(a.code.cmp(&b.code)));
        sorted
    }
}
