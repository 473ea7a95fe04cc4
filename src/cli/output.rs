//! The only writer of paths: a folder of results, wholly old or wholly new.

use super::{Failure, encode, metadata};
use crate::analysis::Analysis;
use crate::analysis::tables::{Table, tables};
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// The files by which earlier results are known.
const MARKS: [&str; 2] = ["results.json", "csv-metadata.json"];

/// Where the results of a survey go, if they may go there.
///
/// # Errors
/// Wrong usage: onto a file, the survey itself, or a folder that holds something else.
pub(super) fn target(survey: &Path, out: Option<&Path>) -> Result<PathBuf, Failure> {
    let target = out.map_or_else(|| beside(survey, "-results"), Path::to_path_buf);
    let shown = target.display();
    let refuse = |why: &str| Err(Failure::Usage(format!("{shown}: {why}")));
    let Ok(meta) = fs::symlink_metadata(&target) else { return Ok(target) };
    let same = fs::canonicalize(&target).ok().zip(fs::canonicalize(survey).ok());
    if same.is_some_and(|(a, b)| a == b || b.starts_with(&a)) {
        return refuse("this is the survey itself; choose another folder with --out");
    }
    if !fs::metadata(&target).unwrap_or(meta).is_dir() {
        return refuse("this is a file; choose a folder with --out");
    }
    let empty = fs::read_dir(&target).map_err(|e| named(&target, &e))?.next().is_none();
    if empty || MARKS.iter().all(|mark| target.join(mark).is_file()) {
        return Ok(target);
    }
    refuse("this folder holds something else than earlier results; choose another with --out")
}

/// The path beside `path` whose name ends so.
fn beside(path: &Path, ending: &str) -> PathBuf {
    let whole = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let mut name: OsString = whole.file_name().map_or_else(|| "survey".into(), OsString::from);
    name.push(ending);
    // `demo/dormice/` and `.` have a parent only once they are made whole.
    match path.parent().filter(|_| path.file_name().is_some()) {
        Some(parent) => parent.join(name),
        None => whole.parent().unwrap_or(Path::new("")).join(name),
    }
}

fn named(path: &Path, error: &io::Error) -> Failure {
    Failure::Machine(format!("{}: {error}", path.display()))
}

/// A temporary folder that is removed unless it was put in place.
struct Scratch(PathBuf);

impl Drop for Scratch {
    fn drop(&mut self) {
        // Best effort: a folder left behind is hidden and named after the program.
        let _removed = fs::remove_dir_all(&self.0);
    }
}

/// Writes all result tables of an analysis into the folder `target`. They are written beside it and
/// put in its place at once: whatever fails or is killed leaves the old results whole.
///
/// # Errors
/// The machine's, with the path at which it failed.
pub(super) fn write_results(analysis: &Analysis, target: &Path) -> Result<(), Failure> {
    let parent = target.parent().filter(|parent| !parent.as_os_str().is_empty());
    let parent = parent.unwrap_or(Path::new("."));
    fs::create_dir_all(parent).map_err(|error| named(parent, &error))?;
    let mut name = OsString::from(".");
    name.push(target.file_name().unwrap_or_default());
    name.push(format!(".perchline-tmp-{}", std::process::id()));
    let scratch = Scratch(parent.join(name));
    let _stale = fs::remove_dir_all(&scratch.0);
    fs::create_dir(&scratch.0).map_err(|error| named(&scratch.0, &error))?;
    write_into(analysis, &scratch.0)?;
    put_in_place(scratch, target)
}

/// Exchanges the new folder with the old one, moves across what the user had put there, and lets
/// go of the rest. Should moving fail, the old folder stays, and the error says where.
fn put_in_place(scratch: Scratch, target: &Path) -> Result<(), Failure> {
    if !target.exists() {
        return fs::rename(&scratch.0, target).map_err(|error| named(target, &error));
    }
    exchange(&scratch.0, target).map_err(|error| named(target, &error))?;
    if let Err(error) = move_across(&scratch.0, target) {
        let kept = scratch.0.clone();
        std::mem::forget(scratch); // it holds files of the user's now: not to be removed
        return Err(Failure::Machine(format!(
            "{}: {error}; the results are new, your own files are in {}",
            target.display(),
            kept.display()
        )));
    }
    Ok(())
}

/// Moves whatever is no result from the old folder to the new one.
fn move_across(old: &Path, new: &Path) -> io::Result<()> {
    for entry in fs::read_dir(old)? {
        let entry = entry?;
        let to = new.join(entry.file_name());
        if !is_result(&entry.file_name().to_string_lossy()) && !to.exists() {
            fs::rename(entry.path(), to)?;
        }
    }
    Ok(())
}

/// Whether a name is one that results have.
fn is_result(name: &str) -> bool {
    const TABLES: [&str; 9] = [
        "positions",
        "legs",
        "closures",
        "residuals",
        "metrics",
        "trails",
        "sections",
        "bouts",
        "heights",
    ];
    MARKS.contains(&name) || name.strip_suffix(".csv").is_some_and(|stem| TABLES.contains(&stem))
}

#[cfg(target_os = "linux")]
fn exchange(new: &Path, old: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    use rustix::io::Errno;
    match renameat_with(CWD, new, CWD, old, RenameFlags::EXCHANGE) {
        Ok(()) => Ok(()),
        // A file system that cannot exchange: step aside first.
        Err(Errno::INVAL | Errno::NOSYS) => step_aside(new, old),
        Err(error) => Err(error.into()),
    }
}

#[cfg(not(target_os = "linux"))]
fn exchange(new: &Path, old: &Path) -> io::Result<()> {
    step_aside(new, old)
}

/// Moves the old folder aside, the new one in, and the old one to where the new one was.
fn step_aside(new: &Path, old: &Path) -> io::Result<()> {
    let aside = beside(old, ".perchline-tmp-old");
    fs::rename(old, &aside)?;
    match fs::rename(new, old) {
        Ok(()) => fs::rename(&aside, new),
        Err(error) => {
            fs::rename(&aside, old)?;
            Err(error)
        }
    }
}

fn write_into(analysis: &Analysis, folder: &Path) -> Result<(), Failure> {
    let tables = tables(analysis);
    let mut json = create(folder, "results.json")?;
    let head = format!(
        "{{\"version\": {}, \"settings\": {}, \"frame\": {}, \"tables\": {{",
        serde_json::Value::from(metadata::VERSION),
        metadata::settings(analysis),
        metadata::frame(analysis),
    );
    json.write(head.as_bytes())?;
    for (at, table) in tables.iter().enumerate() {
        let key = if at == 0 { "\n" } else { ",\n" };
        json.write(format!("{key}\"{}\": ", table.name).as_bytes())?;
        write_table(table, analysis, folder, &mut json)?;
    }
    json.write(b"}}\n")?;
    json.finish()?;
    let mut described = create(folder, "csv-metadata.json")?;
    let text = serde_json::to_string_pretty(&metadata::csv_metadata(&tables));
    described.write(text.unwrap_or_default().as_bytes())?;
    described.write(b"\n")?;
    described.finish()
}

fn write_table(
    table: &Table,
    analysis: &Analysis,
    folder: &Path,
    json: &mut NamedFile,
) -> Result<(), Failure> {
    let mut csv = create(folder, &format!("{}.csv", table.name))?;
    let written = encode::table(table, analysis, &mut csv.file, &mut json.file);
    written.map_err(|error| named(folder, &error))?;
    csv.finish()
}

/// A file that names itself when it fails.
struct NamedFile {
    file: BufWriter<File>,
    path: PathBuf,
}

#[expect(clippy::disallowed_methods, reason = "this is the one place where files are made")]
fn create(folder: &Path, name: &str) -> Result<NamedFile, Failure> {
    let path = folder.join(name);
    let file = File::create(&path).map_err(|error| named(&path, &error))?;
    Ok(NamedFile { file: BufWriter::new(file), path })
}

impl NamedFile {
    fn write(&mut self, bytes: &[u8]) -> Result<(), Failure> {
        self.file.write_all(bytes).map_err(|error| named(&self.path, &error))
    }

    /// Flushes to the disk: a rename must not overtake its bytes.
    fn finish(mut self) -> Result<(), Failure> {
        let flushed = self.file.flush().and_then(|()| self.file.get_ref().sync_data());
        flushed.map_err(|error| named(&self.path, &error))
    }
}
