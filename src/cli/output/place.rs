//! Where something may be written: never onto what is not ours.
//!
//! In: a survey and what was named by `--out`. Out: the place, or [`Failure::Usage`] with the
//! reason; nothing is touched.

use super::door::{held_open, is_dash};
use super::file::named;
use crate::cli::Failure;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

/// The files by which earlier results are known.
pub(super) const MARKS: [&str; 2] = ["results.json", "csv-metadata.json"];

/// Standard output, or another open file, cannot take a folder.
///
/// # Errors
/// Wrong usage: it is asked to.
pub(super) fn refuse_stream(target: &Path) -> Result<(), Failure> {
    if is_dash(target) || held_open(target).is_some() {
        let shown = target.display();
        let why = "a folder is written, which cannot be printed; name one";
        return Err(Failure::Usage(format!("{shown}: {why}")));
    }
    Ok(())
}

/// Where the results of a survey go, if they may go there.
///
/// # Errors
/// Wrong usage: onto a file, the survey itself, or a folder that holds something else.
pub(in crate::cli) fn target(survey: &Path, out: Option<&Path>) -> Result<PathBuf, Failure> {
    let target = out.map_or_else(|| beside(survey, "-results"), Path::to_path_buf);
    let shown = target.display();
    let refuse = |why: &str| Err(Failure::Usage(format!("{shown}: {why}")));
    refuse_stream(&target)?;
    if fs::symlink_metadata(&target).is_err() {
        return Ok(target);
    }
    let Ok(meta) = fs::metadata(&target) else {
        return refuse("this is a link that leads nowhere; choose another folder with --out");
    };
    let same = fs::canonicalize(&target).ok().zip(fs::canonicalize(survey).ok());
    if same.is_some_and(|(a, b)| a == b || b.starts_with(&a)) {
        return refuse("this is the survey itself; choose another folder with --out");
    }
    if !meta.is_dir() {
        return refuse("this is a file; choose a folder with --out");
    }
    let empty = fs::read_dir(&target).map_err(|e| named(&target, &e))?.next().is_none();
    if empty || MARKS.iter().all(|mark| target.join(mark).is_file()) {
        return Ok(target);
    }
    refuse("this folder holds something else than earlier results; choose another with --out")
}

/// Where a new survey goes, if it may go there.
///
/// # Errors
/// Wrong usage: onto a file, or a folder that holds anything.
pub(in crate::cli) fn new_target(dir: &Path) -> Result<PathBuf, Failure> {
    let refuse = |why: &str| Err(Failure::Usage(format!("{}: {why}", dir.display())));
    refuse_stream(dir)?;
    if fs::symlink_metadata(dir).is_err() {
        return Ok(dir.to_path_buf());
    }
    let Ok(place) = fs::canonicalize(dir) else {
        return refuse("this is a link that leads nowhere; choose another name");
    };
    if !place.is_dir() {
        return refuse("this is a file; choose another name");
    }
    if fs::read_dir(&place).map_err(|error| named(dir, &error))?.next().is_some() {
        return refuse("this folder is not empty, and nothing in it was touched; choose another");
    }
    Ok(place)
}

/// Where a single file may be written: not onto a folder, and not into the survey, whose tables
/// it might replace.
///
/// # Errors
/// Wrong usage: it may not.
pub(super) fn may_write(survey: &Path, out: &Path) -> Result<(), Failure> {
    let refuse = |why: &str| Err(Failure::Usage(format!("{}: {why}", out.display())));
    if out.is_dir() || out.file_name().is_none() {
        return refuse("this is a folder; name a file with --out");
    }
    let folder = folder_of(out);
    let Ok(folder) = fs::canonicalize(folder) else {
        return refuse("there is no such folder to write into");
    };
    if fs::canonicalize(survey).is_ok_and(|survey| folder.starts_with(survey)) {
        return refuse("this lies in the survey itself; choose another place with --out");
    }
    Ok(())
}

/// Where a picture of a survey goes: beside it, so that the survey stays as it is, and never over
/// another picture.
#[cfg(feature = "viewer")]
pub(in crate::cli) fn picture(survey: &Path) -> PathBuf {
    let name = |at: u32| beside(survey, &format!("-view-{at}.png"));
    (1..u32::MAX).map(name).find(|path| !path.exists()).unwrap_or_else(|| name(0))
}

/// The path beside `path` whose name ends so.
fn beside(path: &Path, ending: &str) -> PathBuf {
    let whole = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    // a workbook gives its name without its ending
    let name = if whole.is_file() { whole.file_stem() } else { whole.file_name() };
    let mut name: OsString = name.map_or_else(|| "survey".into(), OsString::from);
    name.push(ending);
    // `demo/dormice/` and `.` have a parent only once they are made whole.
    match path.parent().filter(|_| path.file_name().is_some()) {
        Some(parent) => parent.join(name),
        None => whole.parent().unwrap_or(Path::new("")).join(name),
    }
}

pub(super) fn folder_of(file: &Path) -> &Path {
    file.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."))
}
