//! The program tried on a spoilt survey: it does the work or refuses it, soon, in little memory, and
//! leaves old results alone where it refuses.

#![expect(clippy::disallowed_methods, reason = "surveys are laid out on disk to be tried")]

use super::spoil::Files;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use std::{fs, io};

/// Memory that one run may have, megabytes.
pub(crate) const MEGABYTES: usize = 500;
/// What tells a folder of results, and what stood in it.
const MARKS: [&str; 2] = ["results.json", "csv-metadata.json"];
const OLD: &[u8] = b"{\"version\": \"old\"}";

/// What came of one trial.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ended {
    /// It found no error, and wrote results.
    Rebuilt,
    /// It found errors, and wrote nothing.
    Refused,
}

/// Runs the `program` in `folder` on the survey of these files; what is wrong with how it ended.
pub(crate) fn tried(
    program: &Path,
    folder: &Path,
    files: &Files,
    soon: Duration,
) -> io::Result<Result<Ended, String>> {
    let (survey, results) = (folder.join("survey"), folder.join("results"));
    for made in [&survey, &results] {
        if made.exists() {
            fs::remove_dir_all(made)?;
        }
        fs::create_dir_all(made)?;
    }
    for (name, bytes) in files {
        fs::write(survey.join(name), bytes)?;
    }
    for mark in MARKS {
        fs::write(results.join(mark), OLD)?;
    }
    let within = format!("ulimit -v {}; exec \"$0\" \"$@\"", MEGABYTES * 1024);
    let start = Instant::now();
    let output = Command::new("sh")
        .args(["-c", &within])
        .arg(program)
        .args(["rebuild", "survey", "--out", "results", "--tables-only", "--draws", "20"])
        .args(["--quiet", "--metrics", "all"])
        .env("MALLOC_ARENA_MAX", "1") // others reserve addresses that they do not use
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()?;
    let took = start.elapsed();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    let now = MARKS.map(|mark| fs::read(results.join(mark)).unwrap_or_default());
    let (old, whole) = (now.iter().all(|bytes| bytes == OLD), now.iter().all(|bytes| bytes != OLD));
    let ended = match output.status.code() {
        Some(0) if whole => Ended::Rebuilt,
        Some(0) => return Ok(Err("done, and old results stand".into())),
        Some(1) if old && fs::read_dir(&results)?.count() == MARKS.len() => Ended::Refused,
        Some(1) => return Ok(Err("refused, and old results are changed".into())),
        code => return Ok(Err(format!("ended with {code:?}: {said}"))),
    };
    Ok(if took > soon { Err(format!("{ended:?} only after {took:?}")) } else { Ok(ended) })
}
