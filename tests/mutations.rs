//! A quick share of `examples/mutations`.

#![cfg(unix)]
use spoil::{sound, spoilt};
use std::path::Path;
use std::time::Duration;
use tempfile::TempDir;
use trial::{Ended, tried};

#[path = "../examples/mutations/spoil.rs"]
mod spoil;
#[path = "../examples/mutations/trial.rs"]
mod trial;

/// The test's program is ten times as slow as a user's, on a machine that does more than this.
const SLOWLY: Duration = Duration::from_secs(40);

fn program() -> &'static Path {
    Path::new(env!("CARGO_BIN_EXE_perchline"))
}

#[test]
fn what_is_spoilt_is_sound_before() {
    let folder = TempDir::new().unwrap();
    let ended = tried(program(), folder.path(), &sound().unwrap(), SLOWLY).unwrap();
    assert_eq!(ended, Ok(Ended::Rebuilt));
}

#[test]
fn a_spoilt_survey_is_rebuilt_or_refused_and_harms_nothing() {
    let (sound, folder) = (sound().unwrap(), TempDir::new().unwrap());
    let mut met = [0; 2];
    for number in 0..150 {
        let (files, how) = spoilt(&sound, number);
        match tried(program(), folder.path(), &files, SLOWLY).unwrap() {
            Ok(ended) => met[usize::from(ended == Ended::Refused)] += 1,
            Err(wrong) => panic!("survey {number} ({}): {wrong}", how.join("; ")),
        }
    }
    assert!(met.iter().all(|count| *count > 30), "{met:?}");
}
