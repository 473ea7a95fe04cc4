//! A quick share of `examples/mutations`.

#![cfg(unix)]

use spoil::sound;
use std::path::Path;
use subject::Subject;
use tempfile::TempDir;
use trial::{Ended, Trial};

#[path = "../../examples/mutations/books.rs"]
mod books;
#[path = "../../examples/mutations/commands.rs"]
mod commands;
#[path = "../../examples/mutations/dice.rs"]
mod dice;
#[path = "../../examples/mutations/grids.rs"]
mod grids;
#[path = "../../examples/mutations/settings.rs"]
mod settings;
#[path = "../../examples/mutations/spoil.rs"]
mod spoil;
#[path = "../../examples/mutations/subject.rs"]
mod subject;
#[path = "../../examples/mutations/tiffs.rs"]
mod tiffs;
#[path = "../../examples/mutations/trial.rs"]
mod trial;

/// Processor time that one run may take: the test's program is ten times as slow as a user's.
const SECONDS: usize = 20;

fn with_trial<T>(work: impl FnOnce(&Trial<'_>) -> T) -> T {
    let folder = TempDir::new().unwrap();
    let program = Path::new(env!("CARGO_BIN_EXE_perchline"));
    let tried_in = folder.path().join("tried");
    work(&Trial { program, folder: &tried_in, seconds: SECONDS })
}

/// Tries so many, and demands that at least a `share` of them is done, and as many refused.
fn try_some(name: &str, count: u64, share: u64) {
    let subject = Subject::named(name, &sound().unwrap()).unwrap();
    let mut met = [0; 2];
    with_trial(|trial| {
        for number in 0..count {
            let spoilt = subject.spoilt(number).unwrap();
            match spoilt.tried(trial).unwrap() {
                Ok(ended) => met[usize::from(ended == Ended::Refused)] += 1,
                Err(wrong) => panic!("{name} {number} ({}): {wrong}", spoilt.how.join("; ")),
            }
        }
    });
    assert!(met.iter().all(|met| *met >= share), "{name}: {met:?}");
}

#[test]
fn what_is_spoilt_is_sound_before() {
    let ended = with_trial(|trial| trial.rebuild(&sound().unwrap()).unwrap());
    assert_eq!(ended, Ok(Ended::Done));
}

#[test]
fn a_spoilt_survey_is_rebuilt_or_refused_and_harms_nothing() {
    try_some("surveys", 150, 30);
}

#[test]
fn settings_of_any_kind_are_taken_or_refused() {
    try_some("settings", 40, 3);
}

#[test]
fn a_workbook_of_odd_parts_is_read_or_refused() {
    try_some("workbooks", 40, 3);
}

#[test]
fn a_raster_of_odd_parts_is_read_or_refused() {
    try_some("rasters", 40, 3);
}

#[test]
fn whatever_is_typed_is_done_or_refused_and_harms_nothing() {
    try_some("commands", 40, 3);
}
