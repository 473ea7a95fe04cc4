//! The program tried on what is spoilt: it does the work or refuses it, soon, in little memory, and
//! leaves everything as it was where it refuses.

#![expect(clippy::disallowed_methods, reason = "surveys are laid out on disk to be tried")]

use super::spoil::Files;
use std::ffi::{OsStr, OsString};
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};
use std::{fs, io};

/// Memory that one run may have, megabytes.
pub(crate) const MEGABYTES: usize = 500;
/// The longest that a run may wait for a machine that does other things.
const WAITED: Duration = Duration::from_secs(120);
/// What tells a folder of results, and what stood in it.
const MARKS: [&str; 2] = ["results.json", "csv-metadata.json"];
const OLD: &[u8] = b"{\"version\": \"old\"}";

/// What came of one trial.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ended {
    /// The work was done.
    Done,
    /// It was refused, and nothing was written.
    Refused,
}

/// The program, where it is tried, and the processor time that it may take, seconds: by the clock a
/// busy machine would take the blame upon the program.
pub(crate) struct Trial<'t> {
    pub(crate) program: &'t Path,
    pub(crate) folder: &'t Path,
    pub(crate) seconds: usize,
}

impl Trial<'_> {
    /// Rebuilds the survey of these files; what is wrong with how that ended.
    pub(crate) fn rebuild(&self, files: &Files) -> io::Result<Result<Ended, String>> {
        let inside = files.iter().map(|(name, bytes)| (format!("survey/{name}"), bytes.clone()));
        self.laid(&inside.collect())?;
        let arguments = ["rebuild", "survey", "--out", "results", "--tables-only", "--draws", "20"];
        let (output, took) = self.run(arguments.iter().chain(&["--quiet", "--metrics", "all"]))?;
        let results = self.folder.join("results");
        let now = MARKS.map(|mark| fs::read(results.join(mark)).unwrap_or_default());
        let old = now.iter().all(|bytes| bytes == OLD);
        let whole = now.iter().all(|bytes| bytes != OLD);
        let ended = match output.status.code() {
            Some(0) if whole => Ended::Done,
            Some(0) => return Ok(Err("done, and old results stand".into())),
            Some(1) if old && fs::read_dir(&results)?.count() == MARKS.len() => Ended::Refused,
            Some(1) => return Ok(Err("refused, and old results are changed".into())),
            code => return Ok(Err(format!("ended with {code:?}: {}", said(&output)))),
        };
        Ok(in_time(ended, took))
    }

    /// Runs the program with these arguments among these files; what is wrong with how that ended.
    pub(crate) fn command(
        &self,
        files: &Files,
        arguments: &[OsString],
    ) -> io::Result<Result<Ended, String>> {
        self.laid(files)?;
        let before = contents(self.folder, "")?;
        let (output, took) = self.run(arguments)?;
        let mut after = contents(self.folder, "")?;
        let ended = match output.status.code() {
            Some(0) => Ended::Done,
            Some(1..=3) => Ended::Refused,
            code => return Ok(Err(format!("ended with {code:?}: {}", said(&output)))),
        };
        if ended == Ended::Done {
            after.retain(|name, _| files.contains_key(name));
        }
        let kept = |(name, bytes): &(&String, &Vec<u8>)| {
            after.get(*name) == Some(*bytes) || ended == Ended::Done && !files.contains_key(*name)
        };
        if let Some((name, _)) = before.iter().find(|file| !kept(file)) {
            return Ok(Err(format!("{ended:?}, and {name} is changed or gone")));
        }
        if let Some(name) = after.keys().find(|name| !before.contains_key(*name)) {
            return Ok(Err(format!("{ended:?}, and there is {name}")));
        }
        Ok(in_time(ended, took))
    }

    /// Lays out the files, and old results beside them.
    fn laid(&self, files: &Files) -> io::Result<()> {
        if self.folder.exists() {
            fs::remove_dir_all(self.folder)?;
        }
        let old = MARKS.map(|mark| (format!("results/{mark}"), OLD.to_vec()));
        for (name, bytes) in files
            .iter()
            .map(|(name, bytes)| (name, bytes.as_slice()))
            .chain(old.iter().map(|(name, bytes)| (name, bytes.as_slice())))
        {
            let path = self.folder.join(name);
            fs::create_dir_all(path.parent().unwrap_or(self.folder))?;
            fs::write(path, bytes)?;
        }
        Ok(())
    }

    fn run(
        &self,
        arguments: impl IntoIterator<Item = impl AsRef<OsStr>>,
    ) -> io::Result<(Output, Duration)> {
        let (kilobytes, seconds) = (MEGABYTES * 1024, self.seconds);
        let within = format!("ulimit -v {kilobytes}; ulimit -t {seconds}; exec \"$0\" \"$@\"");
        let start = Instant::now();
        let output = Command::new("sh")
            .args(["-c", &within])
            .arg(self.program)
            .args(arguments)
            .env("MALLOC_ARENA_MAX", "1") // others reserve addresses that they do not use
            .env_remove("DISPLAY")
            .env_remove("WAYLAND_DISPLAY")
            .current_dir(self.folder)
            .stdin(Stdio::null())
            .output()?;
        Ok((output, start.elapsed()))
    }
}

fn in_time(ended: Ended, took: Duration) -> Result<Ended, String> {
    if took > WAITED { Err(format!("{ended:?} only after {took:?}")) } else { Ok(ended) }
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// Every file below a folder by its path within it, and every folder that is empty.
fn contents(folder: &Path, within: &str) -> io::Result<Files> {
    let mut found = Files::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = format!("{within}{}", entry.file_name().to_string_lossy());
        if entry.file_type()?.is_dir() {
            let below = contents(&entry.path(), &format!("{name}/"))?;
            if below.is_empty() {
                found.insert(name, Vec::new());
            }
            found.extend(below);
        } else {
            found.insert(name, fs::read(entry.path())?);
        }
    }
    Ok(found)
}
