//! One file written, and the machine's failures told with their path.

use super::place::folder_of;
use crate::cli::Failure;
use crate::cli::replace::{self, Fresh, Misplaced};
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Writes one file, wholly or not at all: beside its place first, then over what was there. A link
/// is followed, and stays a link.
///
/// # Errors
/// The machine's, with the path at which it failed.
pub(in crate::cli) fn write_whole(out: &Path, bytes: &[u8]) -> Result<(), Failure> {
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

pub(super) fn write_file(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), Failure> {
    let mut file = create(folder, name)?;
    file.write(bytes)?;
    file.finish()
}

/// The files below a folder by their names within it, in order.
pub(in crate::cli) fn files_below(folder: &Path) -> Result<Vec<String>, Failure> {
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

/// A hidden folder beside a place, for what is needed until a file is whole.
///
/// # Errors
/// The machine's.
pub(in crate::cli) fn scratch(place: &Path) -> Result<Fresh<'static>, Failure> {
    Fresh::beside(place, &[]).map_err(misplaced)
}

/// A file that names itself when it fails.
pub(super) struct NamedFile {
    pub(super) file: BufWriter<File>,
    path: PathBuf,
}

#[expect(clippy::disallowed_methods, reason = "this is the one place where files are made")]
pub(super) fn create(folder: &Path, name: &str) -> Result<NamedFile, Failure> {
    let path = folder.join(name);
    let file = File::create(&path).map_err(|error| named(&path, &error))?;
    Ok(NamedFile { file: BufWriter::new(file), path })
}

impl NamedFile {
    pub(super) fn write(&mut self, bytes: &[u8]) -> Result<(), Failure> {
        self.file.write_all(bytes).map_err(|error| named(&self.path, &error))
    }

    /// Hands all to the system, which [`Fresh`] makes write it down.
    pub(super) fn finish(mut self) -> Result<(), Failure> {
        self.file.flush().map_err(|error| named(&self.path, &error))
    }
}

pub(in crate::cli) fn named(path: &Path, error: &io::Error) -> Failure {
    Failure::Machine(format!("{}: {error}", path.display()))
}

pub(super) fn misplaced(error: Misplaced) -> Failure {
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
