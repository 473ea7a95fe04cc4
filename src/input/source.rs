//! The folder or workbook of a survey: which files there are, whether they may be read, and their
//! bytes.

use super::csv::{is_number, prove_comma, read_grid, unread};
use super::file_names::{file_of, is_workbook_name, looks_like};
use super::raster;
use super::workbook::read_workbook;
use crate::fault::{Code, Faults, Place, Severity};
use crate::quantity::count_of;
use crate::survey::dictionary::{
    ANCHORS, ANIMALS, AVAILABLE, CONTROLS, InputTable, TABLES, TIES, TRAILS,
};
use crate::survey::elevations::ElevationRaster;
use crate::survey::grid::Grid;
use crate::survey::settings::{self, GroundModel, Settings};
use crate::survey::{Grids, Survey, read_tables};
use std::error::Error;
use std::fmt::{self, Display, Formatter};
use std::fs::{self, File, Metadata};
use std::io::{self, ErrorKind, Read};
use std::path::{Component, Path, PathBuf};

/// The longest `survey.toml`, in bytes; the settings hold the other limits and have none yet.
const LONGEST_SETTINGS: u64 = 1 << 20;
/// Faults of a table of anchors that is not there or has no rows, so that a workbook may hold them.
const NO_ANCHORS: [Code; 2] = [Code::MissingTable, Code::EmptyTable];
/// How a raised limit is written, for the hint of a refused file.
const RAISE_BYTES: &str =
    "limits.bytes in survey.toml, or --set limits.bytes=NUMBER, raises the limit";

/// A failure of the machine while a survey was read.
#[derive(Debug)]
pub struct ReadError {
    path: PathBuf,
    cause: io::Error,
}

impl ReadError {
    fn new(path: &Path, cause: io::Error) -> Self {
        Self { path: path.to_owned(), cause }
    }
}

impl Display for ReadError {
    fn fmt(&self, out: &mut Formatter<'_>) -> fmt::Result {
        write!(out, "cannot read {}: {}", self.path.display(), self.cause)
    }
}

impl Error for ReadError {}

/// A plan of legs is no larger than this, bytes.
const LARGEST_PLAN: u64 = 1 << 20;

/// The text of a small file that is no table of a survey.
///
/// # Errors
/// The machine's, or that the file is too large or no UTF-8 text.
pub fn read_text(path: &Path) -> io::Result<String> {
    if fs::metadata(path)?.len() > LARGEST_PLAN {
        return Err(io::Error::other("larger than a plan can be (1 MB)"));
    }
    fs::read_to_string(path)
}

/// Reads the survey in the folder or workbook `path`, with `overrides` of its settings.
///
/// # Errors
/// Only where the machine fails: permission denied, a broken disk.
pub fn read_survey(
    path: &Path,
    overrides: &[(String, String)],
) -> Result<(Survey, Faults), ReadError> {
    let mut faults = Faults::default();
    let Some((folder, workbook)) = whereabouts(path, &mut faults)? else {
        return Ok((Survey::default(), faults));
    };
    let mut folder = Folder { path: folder, names: names_in(folder)?, faults, incomplete: false };
    let settings = folder.settings(overrides)?;
    let grids = match workbook {
        Some(workbook) => folder.workbook(workbook, &settings)?,
        None => folder.tables(&settings)?,
    };
    let (mut survey, more) = read_tables(settings, grids);
    folder.faults.append(more);
    survey.elevations = folder.elevations(&survey.settings)?;
    Ok((survey, folder.faults))
}

/// The files from which `survey` was read, by name, byte for byte: the tables or the workbook, the
/// settings, and a raster of the ground.
///
/// # Errors
/// The machine's.
pub fn read_inputs(path: &Path, survey: &Survey) -> Result<Vec<(String, Vec<u8>)>, ReadError> {
    let workbook = survey.grids.anchors.file.as_ref();
    let is_folder = metadata_of(path)?.is_some_and(|metadata| metadata.is_dir());
    let folder = if is_folder { path } else { path.parent().unwrap_or(Path::new("")) };
    let tables: Vec<String> = if is_workbook_name(workbook) {
        vec![workbook.to_owned()]
    } else {
        TABLES.iter().map(|table| file_of(table)).collect()
    };
    let raster = survey.settings.ground_file.iter().filter(|_| survey.elevations.is_some());
    let prj =
        raster.clone().map(|file| Path::new(file).with_extension("prj").display().to_string());
    let names = tables.into_iter().chain([settings::FILE.to_owned()]);
    let mut inputs = Vec::new();
    for file in names.chain(raster.cloned()).chain(prj) {
        let from = folder.join(&file);
        if metadata_of(&from)?.is_some_and(|metadata| metadata.is_file()) {
            let bytes = fs::read(&from).map_err(|cause| ReadError::new(&from, cause))?;
            inputs.push((name_within(&file), bytes));
        }
    }
    inputs.sort();
    Ok(inputs)
}

/// The name of an input within an archive: its path from the survey's folder, or its last part
/// where it lies outside.
fn name_within(file: &str) -> String {
    let path = Path::new(file);
    let is_within = path.components().all(|part| matches!(part, Component::Normal(_)));
    match path.file_name() {
        Some(name) if !is_within => name.to_string_lossy().into_owned(),
        _ => file.to_owned(),
    }
}

/// The folder in which a survey lies, and the name of its workbook if that was named; a fault where
/// `path` is neither a folder nor a workbook.
fn whereabouts<'p>(
    path: &'p Path,
    faults: &mut Faults,
) -> Result<Option<(&'p Path, Option<&'p str>)>, ReadError> {
    let metadata = metadata_of(path)?;
    if metadata.as_ref().is_some_and(Metadata::is_dir) {
        return Ok(Some((path, None)));
    }
    let name = path.file_name().and_then(|name| name.to_str());
    if let Some(name) = name.filter(|name| metadata.is_some() && is_workbook_name(name)) {
        let around = path.parent().filter(|around| !around.as_os_str().is_empty());
        return Ok(Some((around.unwrap_or(Path::new(".")), Some(name))));
    }
    let (found, hint) = match metadata {
        Some(_) => ("a file", "name the folder that holds the tables, or a workbook"),
        None => ("nothing of this name", "check the spelling, and from where the path starts"),
    };
    faults
        .error(Code::NotASurvey, Place::file(&path.display().to_string()))
        .found(found)
        .expected("a folder with anchors.csv in it, or an .xlsx or .ods workbook")
        .hint(hint);
    Ok(None)
}

/// What the system knows of `path`; `None` where there can be nothing of that name.
fn metadata_of(path: &Path) -> Result<Option<Metadata>, ReadError> {
    match fs::metadata(path) {
        Ok(metadata) => Ok(Some(metadata)),
        Err(cause) => match cause.kind() {
            ErrorKind::NotFound
            | ErrorKind::NotADirectory
            | ErrorKind::InvalidInput
            | ErrorKind::InvalidFilename => Ok(None),
            _ => Err(ReadError::new(path, cause)),
        },
    }
}

/// The names of what lies in a folder, in order; the system lists them in none.
fn names_in(path: &Path) -> Result<Vec<String>, ReadError> {
    let failed = |cause| ReadError::new(path, cause);
    let mut names = Vec::new();
    for entry in fs::read_dir(path).map_err(failed)? {
        names.push(entry.map_err(failed)?.file_name().to_string_lossy().into_owned());
    }
    names.sort();
    Ok(names)
}

/// The folder of a survey while it is read.
struct Folder<'p> {
    path: &'p Path,
    names: Vec<String>,
    faults: Faults,
    /// Whether some table is there of which nothing could be read.
    incomplete: bool,
}

impl Folder<'_> {
    /// The settings; those given by hand hold even where `survey.toml` cannot be read.
    fn settings(&mut self, overrides: &[(String, String)]) -> Result<Settings, ReadError> {
        let hint = "the settings are few lines; was another file saved under this name?";
        let bytes = self.bytes(settings::FILE, LONGEST_SETTINGS, hint)?;
        if bytes.is_none() && !self.holds(settings::FILE) {
            self.tell_look_alike(Code::UnreadableSettings, Severity::Warning, settings::FILE);
        }
        let bytes = bytes.unwrap_or_default();
        let text = match std::str::from_utf8(&bytes) {
            Ok(text) => text,
            Err(error) => {
                let before = bytes.iter().take(error.valid_up_to());
                let row = 1 + before.filter(|&&byte| byte == b'\n').count();
                self.faults
                    .error(Code::UnreadableSettings, Place::file(settings::FILE).row(row))
                    .found("bytes that are not UTF-8")
                    .expected("text in UTF-8")
                    .hint("save the file as UTF-8");
                ""
            }
        };
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let (settings, faults) = settings::read(settings::FILE, text, overrides);
        self.faults.append(faults);
        Ok(settings)
    }

    /// The tables of the workbook `name`.
    fn workbook(&mut self, name: &str, settings: &Settings) -> Result<Grids, ReadError> {
        match self.bytes(name, settings.limit_bytes as u64, RAISE_BYTES)? {
            Some(bytes) => Ok(read_workbook(name, &bytes, settings, &mut self.faults)),
            None => {
                Ok(Grids { anchors: unread(name, &ANCHORS), incomplete: true, ..Grids::default() })
            }
        }
    }

    /// The tables: from files of text where those hold the anchors, else from the workbook.
    fn tables(&mut self, settings: &Settings) -> Result<Grids, ReadError> {
        let workbooks: Vec<String> =
            self.names.iter().filter(|name| is_workbook_name(name)).cloned().collect();
        let before = std::mem::take(&mut self.faults);
        let anchors = self.grid(&ANCHORS, settings)?;
        let of_anchors = std::mem::replace(&mut self.faults, before);
        let none_there = anchors.as_ref().is_none_or(Grid::is_empty)
            && of_anchors.sorted().iter().all(|fault| NO_ANCHORS.contains(&fault.code));
        match workbooks.as_slice() {
            [only] if none_there => {
                self.incomplete = false;
                self.tell_tables_not_read(only, settings)?;
                return self.workbook(only, settings);
            }
            [_, ..] if none_there => self.tell_workbooks(&workbooks),
            others => {
                self.faults.append(of_anchors);
                for other in others {
                    self.tell_workbook_not_read(other);
                }
            }
        }
        self.grids(anchors, settings)
    }

    /// Warns of each table of text that has rows while the survey is read from `workbook`.
    fn tell_tables_not_read(
        &mut self,
        workbook: &str,
        settings: &Settings,
    ) -> Result<(), ReadError> {
        for table in TABLES {
            let (before, incomplete) = (std::mem::take(&mut self.faults), self.incomplete);
            let grid = self.grid(table, settings)?;
            (self.faults, self.incomplete) = (before, incomplete);
            let Some(grid) = grid.filter(|grid| !grid.is_empty()) else { continue };
            self.faults
                .warn(Code::TableNotRead, grid.whole())
                .found(count_of(grid.len(), "row"))
                .expected(format!("all tables in one place: the anchors are in {workbook}"))
                .hint(format!("not read; copy the rows into the sheet {} there", table.name));
        }
        Ok(())
    }

    fn tell_workbook_not_read(&mut self, workbook: &str) {
        self.faults
            .note(Code::TableNotRead, Place::file(workbook))
            .found("a workbook beside anchors.csv")
            .expected("all tables in one place: the anchors are in anchors.csv")
            .hint("not read; to have it read, name the workbook instead of the folder");
    }

    fn tell_workbooks(&mut self, workbooks: &[String]) {
        self.faults
            .error(Code::MissingTable, Place::file(&file_of(&ANCHORS)))
            .found(format!("no anchors as text, and the workbooks {}", workbooks.join(", ")))
            .expected("one workbook, or tables as text")
            .hint("name the workbook that is meant instead of the folder");
        self.incomplete = true;
    }

    fn grids(&mut self, anchors: Option<Grid>, settings: &Settings) -> Result<Grids, ReadError> {
        let mut grids = Grids {
            anchors: anchors.unwrap_or_else(|| unread(&file_of(&ANCHORS), &ANCHORS)),
            ties: self.grid(&TIES, settings)?,
            controls: self.grid(&CONTROLS, settings)?,
            trails: self.grid(&TRAILS, settings)?,
            animals: self.grid(&ANIMALS, settings)?,
            available: self.grid(&AVAILABLE, settings)?,
            incomplete: false,
        };
        grids.incomplete = self.incomplete;
        Ok(grids)
    }

    /// The table, if it is there and can be read.
    fn grid(&mut self, table: &InputTable, settings: &Settings) -> Result<Option<Grid>, ReadError> {
        let file = file_of(table);
        let Some(bytes) = self.bytes(&file, settings.limit_bytes as u64, RAISE_BYTES)? else {
            self.incomplete |= self.holds(&file) || self.tell_missing(table);
            return Ok(None);
        };
        let mut grid = read_grid(&file, &bytes, table, settings.limit_rows, &mut self.faults);
        // a column under a heading of the user's own may prove the comma as well
        prove_comma(&mut grid, |own| {
            settings
                .columns
                .iter()
                .any(|(heading, mapped)| mapped == own && is_number(table, heading))
        });
        self.incomplete |= grid.is_empty();
        // a table without rows is as good as none, but the headings of the anchors are still judged
        Ok(Some(grid).filter(|grid| !grid.is_empty() || table.name == ANCHORS.name))
    }

    /// The raster of the ground, if the settings ask for one and it can be used.
    fn elevations(&mut self, settings: &Settings) -> Result<Option<ElevationRaster>, ReadError> {
        if settings.ground != GroundModel::Raster {
            return Ok(None);
        }
        let mut refuse = |found: String, expected: &str, hint: &str| {
            let place = Place::file(settings::FILE).column("ground.file");
            let fault = self.faults.error(Code::UnusableRaster, place);
            fault.found(found).expected(expected).hint(hint);
            Ok(None)
        };
        let Some(file) = &settings.ground_file else {
            let hint = "set file under [ground]; the path starts at the folder of the survey";
            return refuse("no name of a raster".into(), "the name of its file", hint);
        };
        let path = self.path.join(file);
        let Some(metadata) = metadata_of(&path)?.filter(Metadata::is_file) else {
            let hint = "check the spelling; the path starts at the folder of the survey";
            return refuse(format!("no file {file}"), raster::EXPECTED, hint);
        };
        let limit = raster::LONGEST;
        let read = if metadata.len() > limit { Ok(None) } else { read_up_to(&path, limit) };
        let bytes = match read {
            Err(error) if error.cause.kind() == ErrorKind::PermissionDenied => {
                let found = format!("{file}, which may not be read");
                return refuse(found, raster::EXPECTED, "change its permissions");
            }
            bytes => bytes?,
        };
        let Some(bytes) = bytes else {
            let found = format!("{file} of {}", count_of_bytes(metadata.len()));
            let hint = "cut it down to the surroundings of the survey";
            return refuse(found, "at most 128 MB", hint);
        };
        let prj = read_text(&path.with_extension("prj")).ok();
        match raster::read(bytes, prj.as_deref()) {
            Ok(raster) => Ok(Some(raster)),
            Err(why) => refuse(format!("{file}: {}", why.found), why.expected, why.hint),
        }
    }

    fn holds(&self, file: &str) -> bool {
        self.names.iter().any(|name| name == file)
    }

    /// The bytes of a file of at most `limit`; `None` where it is not there, or a fault says why.
    fn bytes(&mut self, file: &str, limit: u64, raise: &str) -> Result<Option<Vec<u8>>, ReadError> {
        let path = self.path.join(file);
        let Some(metadata) = metadata_of(&path)? else {
            if self.holds(file) {
                self.tell_unreadable(
                    file,
                    "a link that leads nowhere",
                    "put the file in its place",
                );
            }
            return Ok(None);
        };
        if !metadata.is_file() {
            let found = if metadata.is_dir() { "a folder" } else { "neither a file nor a folder" };
            self.faults
                .error(Code::NotASurvey, Place::file(file))
                .found(found)
                .expected("a file")
                .hint("a survey is one folder with its tables in it as files");
            return Ok(None);
        }
        let size = metadata.len();
        let read = if size > limit { Ok(None) } else { read_up_to(&path, limit) };
        let bytes = match read {
            Err(error) if error.cause.kind() == ErrorKind::PermissionDenied => {
                let hint = "change its permissions; is it open in another program?";
                self.tell_unreadable(file, "a file that may not be read", hint);
                return Ok(None);
            }
            bytes => bytes?,
        };
        if bytes.is_none() {
            self.faults
                .error(Code::FileTooLarge, Place::file(file))
                .found(count_of_bytes(size.max(limit.saturating_add(1))))
                .expected(format!("at most {}", count_of_bytes(limit)))
                .hint(raise);
        }
        Ok(bytes)
    }

    fn tell_unreadable(&mut self, file: &str, found: &str, hint: &str) {
        self.faults
            .error(Code::UnreadableFile, Place::file(file))
            .found(found)
            .expected("a file that can be read")
            .hint(hint);
    }

    /// Says that the anchors are missing, or that another table may be misnamed; returns whether
    /// it said anything.
    fn tell_missing(&mut self, table: &InputTable) -> bool {
        let needed = table.name == ANCHORS.name;
        let severity = if needed { Severity::Error } else { Severity::Warning };
        let file = file_of(table);
        let told = self.tell_look_alike(Code::MissingTable, severity, &file);
        if told || !needed {
            return told;
        }
        let place = Place::file(&file);
        self.faults
            .error(Code::MissingTable, place)
            .found("no such file")
            .expected("the table of anchors, the one table every survey needs, or a workbook")
            .hint("is this the folder of the survey?");
        true
    }

    /// Reports a file that is named almost like `file`, and returns whether there is one.
    fn tell_look_alike(&mut self, code: Code, severity: Severity, file: &str) -> bool {
        let Some(name) = self.names.iter().find(|name| looks_like(name, file)) else {
            return false;
        };
        self.faults
            .report(code, severity, Place::file(file))
            .found(name)
            .expected(format!("a file named {file}"))
            .hint(format!("{name} is not read; rename it if it is meant"));
        true
    }
}

/// The bytes of a file; `None` where they are more than `limit`, as they may be in spite of the
/// length that the system states.
fn read_up_to(path: &Path, limit: u64) -> Result<Option<Vec<u8>>, ReadError> {
    let failed = |cause| ReadError::new(path, cause);
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(failed)?;
    file.take(limit.saturating_add(1)).read_to_end(&mut bytes).map_err(failed)?;
    Ok((bytes.len() as u64 <= limit).then_some(bytes))
}

fn count_of_bytes(size: u64) -> String {
    count_of(usize::try_from(size).unwrap_or(usize::MAX), "byte")
}
