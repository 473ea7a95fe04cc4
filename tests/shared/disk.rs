//! Surveys laid out in folders of their own, and what reading them finds.

use perchline::survey::Survey;
use perchline::survey::fault::{Code, Fault, Faults, Severity};
use perchline::survey::input::source::read_survey;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// A folder with these files in it.
pub(crate) fn folder(files: &[(&str, &[u8])]) -> TempDir {
    let folder = TempDir::new().unwrap();
    for (name, bytes) in files {
        fs::write(folder.path().join(name), bytes).unwrap();
    }
    folder
}

/// What reading the survey at `path` gives, with these settings over its own.
pub(crate) fn read(path: &Path, set: &[(&str, &str)]) -> (Survey, Faults) {
    let set: Vec<_> = set.iter().map(|(key, value)| ((*key).into(), (*value).into())).collect();
    read_survey(path, &set).unwrap()
}

/// The only fault, which says what was found, what was expected and what to do.
fn only(faults: &Faults) -> Fault {
    let sorted = faults.sorted();
    assert_eq!(sorted.len(), 1, "{sorted:#?}");
    let fault = sorted[0].clone();
    assert!(!fault.found.is_empty() && !fault.expected.is_empty() && !fault.hint.is_empty());
    fault
}

/// The only fault, which is of this kind and stands there.
pub(crate) fn expect(faults: &Faults, code: Code, severity: Severity, phrase: &str) -> Fault {
    let fault = only(faults);
    assert_eq!((fault.code, fault.severity), (code, severity), "{fault:?}");
    assert_eq!(fault.place.phrase(), phrase);
    fault
}
