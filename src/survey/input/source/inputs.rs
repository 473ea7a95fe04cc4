//! The files from which a survey was read, byte for byte, for an archive.

use super::disk::{ReadError, metadata_of};
use crate::survey::dictionary::TABLES;
use crate::survey::input::file_names::{file_of, is_workbook_name};
use crate::survey::{Survey, settings};
use std::fs;
use std::path::{Component, Path};

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
