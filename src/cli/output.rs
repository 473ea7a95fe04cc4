//! The only writer of paths: a folder of results, wholly old or wholly new.

use super::replace::{Fresh, Misplaced};
use super::{Failure, check, encode, metadata, printed, replace};
use crate::analysis::Analysis;
use crate::analysis::answer::usual_answer;
use crate::analysis::methods::methods;
use crate::analysis::printed::printed;
use crate::analysis::tables::{Table, tables};
use crate::cores;
use crate::fault::Faults;
use crate::figure;
use crate::figure::encode::Format;
use crate::planning::simulate::MadeTable;
use crate::report::{self, Figure, Report};
use crate::template::NewFile;
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// The files by which earlier results are known.
const MARKS: [&str; 2] = ["results.json", "csv-metadata.json"];

/// The folder of the printed tables.
const PRINTED: &str = "tables";

/// The folder of the figures, and the file of their captions.
const FIGURES: &str = "figures";
const CAPTIONS: &str = "captions.md";
/// The report.
const REPORT: &str = "report.html";

/// The methods text and its references.
const METHODS: [&str; 2] = ["methods.md", "references.bib"];

/// Where the results of a survey go, if they may go there.
///
/// # Errors
/// Wrong usage: onto a file, the survey itself, or a folder that holds something else.
pub(super) fn target(survey: &Path, out: Option<&Path>) -> Result<PathBuf, Failure> {
    let target = out.map_or_else(|| beside(survey, "-results"), Path::to_path_buf);
    let shown = target.display();
    let refuse = |why: &str| Err(Failure::Usage(format!("{shown}: {why}")));
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
pub(super) fn new_target(dir: &Path) -> Result<PathBuf, Failure> {
    let refuse = |why: &str| Err(Failure::Usage(format!("{}: {why}", dir.display())));
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

/// Writes the files of a new survey into the folder `target`: wholly, or not at all.
///
/// # Errors
/// The machine's, with the path at which it failed.
pub(super) fn write_new(files: &[NewFile], target: &Path) -> Result<(), Failure> {
    let fresh = Fresh::beside(target, &[]).map_err(misplaced)?;
    for new in files {
        let mut file = create(fresh.path(), &new.name)?;
        file.write(&new.bytes)?;
        file.finish()?;
    }
    fresh.put_in_place().map_err(misplaced)
}

/// A hidden folder beside the place of a file, for what is needed until that is whole.
///
/// # Errors
/// The machine's.
pub(super) fn scratch(out: &Path) -> Result<Fresh<'static>, Failure> {
    Fresh::beside(out, &[]).map_err(misplaced)
}

/// The files below a folder by their names within it, in order.
pub(super) fn files_below(folder: &Path) -> Result<Vec<String>, Failure> {
    let failed = |error: io::Error| named(folder, &error);
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).map_err(failed)? {
        let entry = entry.map_err(failed)?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if entry.file_type().map_err(failed)?.is_dir() {
            let below = files_below(&entry.path())?;
            files.extend(below.into_iter().map(|file| format!("{name}/{file}")));
        } else {
            files.push(name);
        }
    }
    files.sort();
    Ok(files)
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

/// Where a picture of a survey goes: beside it, so that the survey stays as it is, and never over
/// another picture.
#[cfg(feature = "viewer")]
pub(super) fn picture(survey: &Path) -> PathBuf {
    let name = |at: u32| beside(survey, &format!("-view-{at}.png"));
    (1..u32::MAX).map(name).find(|path| !path.exists()).unwrap_or_else(|| name(0))
}

pub(super) fn named(path: &Path, error: &io::Error) -> Failure {
    Failure::Machine(format!("{}: {error}", path.display()))
}

/// Writes the results of an analysis into the folder `target`, or its tables only where there are no
/// `faults` to report: wholly, or not at all. A link is followed, and stays a link.
///
/// # Errors
/// The machine's, with the path at which it failed.
pub(super) fn write_results(
    analysis: &Analysis,
    target: &Path,
    faults: Option<&Faults>,
) -> Result<(), Failure> {
    let place = fs::canonicalize(target).unwrap_or_else(|_| target.to_path_buf());
    let tables = tables(analysis);
    let names: Vec<String> = tables
        .iter()
        .map(|table| format!("{}.csv", table.name))
        .chain(MARKS.map(str::to_owned))
        .chain(METHODS.map(str::to_owned))
        .chain(["methods_compared.csv".to_owned()]) // not in every run, and a result all the same
        .chain([PRINTED, FIGURES, REPORT].map(str::to_owned))
        .collect();
    let fresh = Fresh::beside(&place, &names).map_err(misplaced)?;
    write_into(analysis, &tables, fresh.path())?;
    if let Some(faults) = faults {
        write_for_a_paper(analysis, faults, fresh.path())?;
    }
    fresh.put_in_place().map_err(misplaced)
}

/// Writes the tables of a made-up survey into the folder `target`, which must be new or empty.
///
/// # Errors
/// Wrong usage: something is there already. The machine's, with the path at which it failed.
pub(super) fn write_made(
    tables: &[MadeTable],
    settings: &str,
    target: &Path,
) -> Result<(), Failure> {
    let taken = match fs::read_dir(target) {
        Ok(mut entries) => entries.next().is_some(),
        Err(_) => fs::symlink_metadata(target).is_ok(),
    };
    if taken {
        let shown = target.display();
        return Err(Failure::Usage(format!(
            "{shown}: there is something already; name a new folder"
        )));
    }
    let fresh = Fresh::beside(target, &[]).map_err(misplaced)?;
    for table in tables {
        let mut file = create(fresh.path(), &format!("{}.csv", table.name))?;
        file.write(table.headings.join(",").as_bytes())?;
        file.write(b"\n")?;
        for row in &table.rows {
            file.write(row.join(",").as_bytes())?;
            file.write(b"\n")?;
        }
        file.finish()?;
    }
    write_file(fresh.path(), "survey.toml", settings.as_bytes())?;
    fresh.put_in_place().map_err(misplaced)
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

fn folder_of(file: &Path) -> &Path {
    file.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Writes one file, wholly or not at all: beside its place first, then over what was there. A link
/// is followed, and stays a link.
///
/// # Errors
/// The machine's, with the path at which it failed.
pub(super) fn write_whole(out: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let place = fs::canonicalize(out).unwrap_or_else(|_| out.to_path_buf());
    let mut name = place.file_name().map(OsString::from).unwrap_or_default();
    name.push(format!(".{}.part", std::process::id()));
    let folder = folder_of(&place);
    let name = name.to_string_lossy().into_owned();
    let beside = folder.join(&name);
    let written = write_file(folder, &name, bytes)
        .and_then(|()| replace::sync_file(&beside).map_err(|error| named(&beside, &error)))
        .and_then(|()| fs::rename(&beside, &place).map_err(|error| named(&place, &error)));
    if written.is_err() {
        // What could not be written whole is no use; if it cannot be removed either, that is told
        // by the first failure well enough.
        let _removed = fs::remove_file(&beside);
    }
    written
}

fn misplaced(error: Misplaced) -> Failure {
    let Misplaced { path, cause, kept } = error;
    Failure::Machine(match kept {
        None => format!("{}: {cause}", path.display()),
        Some(kept) => format!(
            "{}: {cause}; the results are new, your own files are in {}",
            path.display(),
            kept.display()
        ),
    })
}

fn write_into(analysis: &Analysis, tables: &[Table], folder: &Path) -> Result<(), Failure> {
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
    let text = serde_json::to_string_pretty(&metadata::csv_metadata(tables, ""));
    described.write(text.unwrap_or_default().as_bytes())?;
    described.write(b"\n")?;
    described.finish()
}

/// The tables of a paper, its methods, its figures, and the report.
fn write_for_a_paper(analysis: &Analysis, faults: &Faults, folder: &Path) -> Result<(), Failure> {
    let own = folder.join(PRINTED);
    fs::create_dir(&own).map_err(|error| named(&own, &error))?;
    let tables = printed(analysis);
    for table in &tables {
        write_file(&own, &format!("{}.csv", table.stem), &printed::csv(table))?;
    }
    write_file(&own, "tables.md", printed::markdown(&tables).as_bytes())?;
    let methods = methods(analysis, metadata::VERSION);
    write_file(folder, METHODS[0], methods.text.as_bytes())?;
    write_file(folder, METHODS[1], methods.bibtex.as_bytes())?;
    let figures = figure::all(analysis);
    write_figures(&figures, folder)?;
    let [suspects, advice] = check::doubts_in_words(analysis);
    let page = report::html(&Report {
        analysis,
        faults,
        answer: &usual_answer(analysis),
        suspects: &suspects,
        advice: &advice,
        tables: &tables,
        figures: &figures,
        methods: &methods.text,
        settings: &metadata::settings(analysis),
        frame: &metadata::frame(analysis),
        version: metadata::VERSION,
    });
    write_file(folder, REPORT, page.as_bytes())
}

/// Every figure that the survey has the data for, in every format, with the captions.
fn write_figures(figures: &[Figure], folder: &Path) -> Result<(), Failure> {
    let own = folder.join(FIGURES);
    fs::create_dir(&own).map_err(|error| named(&own, &error))?;
    let mut captions = String::from("# Captions\n");
    let mut missing = String::new();
    for (name, drawn) in figures {
        match drawn {
            Ok(drawing) => {
                captions += &format!("\n**{name}.** {}\n", printed::plain(&drawing.caption));
            }
            Err(why) => missing += &format!("- {name}: {}\n", printed::plain(&why.reason)),
        }
    }
    for (name, bytes) in encoded(figures).map_err(Failure::Machine)? {
        write_file(&own, &name, &bytes)?;
    }
    if !missing.is_empty() {
        captions += &format!("\nNot drawn:\n\n{missing}");
    }
    write_file(&own, CAPTIONS, captions.as_bytes())
}

/// The files of all figures that are drawn, by name, in the order of the figures.
fn encoded(figures: &[Figure]) -> Result<Vec<(String, Vec<u8>)>, String> {
    let files = |(name, drawn): &Figure| -> Result<Vec<(String, Vec<u8>)>, String> {
        let Ok(drawing) = drawn else { return Ok(Vec::new()) };
        let file = |format: Format| {
            Ok((format!("{name}.{}", format.ending()), figure::encode::encode(drawing, format)?))
        };
        Format::ALL.into_iter().map(file).collect()
    };
    let done = cores::each(figures, files).into_iter();
    Ok(done.collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
}

fn write_file(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), Failure> {
    let mut file = create(folder, name)?;
    file.write(bytes)?;
    file.finish()
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
pub(super) struct NamedFile {
    pub(super) file: BufWriter<File>,
    pub(super) path: PathBuf,
}

#[expect(clippy::disallowed_methods, reason = "this is the one place where files are made")]
pub(super) fn create(folder: &Path, name: &str) -> Result<NamedFile, Failure> {
    let path = folder.join(name);
    let file = File::create(&path).map_err(|error| named(&path, &error))?;
    Ok(NamedFile { file: BufWriter::new(file), path })
}

impl NamedFile {
    fn write(&mut self, bytes: &[u8]) -> Result<(), Failure> {
        self.file.write_all(bytes).map_err(|error| named(&self.path, &error))
    }

    /// Hands all to the system, which [`Fresh`] makes write it down.
    fn finish(mut self) -> Result<(), Failure> {
        self.file.flush().map_err(|error| named(&self.path, &error))
    }
}
