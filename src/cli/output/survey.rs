//! A survey written into a folder of its own: a new one to be filled in, or a made-up one.

use super::file::{create, misplaced, write_file};
use super::place::refuse_stream;
use crate::cli::Failure;
use crate::cli::replace::Fresh;
use crate::planning::simulate::MadeTable;
use crate::products::sheet::NewFile;
use std::fs;
use std::path::Path;

/// Writes the files of a new survey into the folder `target`: wholly, or not at all.
///
/// # Errors
/// The machine's, with the path at which it failed.
pub(in crate::cli) fn write_new(files: &[NewFile], target: &Path) -> Result<(), Failure> {
    let fresh = Fresh::beside(target, &[]).map_err(misplaced)?;
    for new in files {
        let mut file = create(fresh.path(), &new.name)?;
        file.write(&new.bytes)?;
        file.finish()?;
    }
    fresh.put_in_place().map_err(misplaced)
}

/// Writes the tables of a made-up survey into the folder `target`, which must be new or empty.
///
/// # Errors
/// Wrong usage: something is there already. The machine's, with the path at which it failed.
pub(in crate::cli) fn write_made(
    tables: &[MadeTable],
    settings: &str,
    target: &Path,
) -> Result<(), Failure> {
    refuse_stream(target)?;
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
