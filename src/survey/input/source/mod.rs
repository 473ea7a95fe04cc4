//! The folder or workbook of a survey: which files there are, whether they may be read, and their
//! bytes.
//!
//! In: a path. Out: a survey with its faults, its input files byte for byte, or the text of a plan;
//! a [`ReadError`] only where the machine fails. This is the only reader of files.

mod disk;
mod elevations;
mod folder;
mod inputs;
mod tables;

use super::file_names::is_workbook_name;
use crate::survey::fault::{Code, Faults, Place};
use crate::survey::{Survey, read_tables};
use disk::metadata_of;
pub use disk::{ReadError, read_text};
use folder::Folder;
pub use inputs::read_inputs;
use std::fs::Metadata;
use std::path::Path;

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
    let mut folder = Folder::open(folder, faults)?;
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
