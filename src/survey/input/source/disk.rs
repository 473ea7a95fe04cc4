//! What the machine gives of a path, and the one way in which it fails.
//!
//! In: paths. Out: what lies there, names in order, bytes up to a limit, or a [`ReadError`] that
//! names the path.
//! Left out: what any of it means to a survey, and faults of the user's.

use std::error::Error;
use std::fmt::{self, Display, Formatter};
use std::fs::{self, File, Metadata};
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};

/// A failure of the machine while a survey was read.
#[derive(Debug)]
pub struct ReadError {
    path: PathBuf,
    cause: io::Error,
}

impl ReadError {
    pub(super) fn new(path: &Path, cause: io::Error) -> Self {
        Self { path: path.to_owned(), cause }
    }

    /// Whether the user may not read what is there, which they can mend.
    pub(super) fn is_refusal(&self) -> bool {
        self.cause.kind() == ErrorKind::PermissionDenied
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
    let mut text = String::new();
    // what is no file states no length, and may have no end
    File::open(path)?.take(LARGEST_PLAN + 1).read_to_string(&mut text)?;
    if text.len() as u64 > LARGEST_PLAN {
        return Err(io::Error::other("larger than a plan can be (1 MB)"));
    }
    Ok(text)
}

/// What the system knows of `path`; `None` where there can be nothing of that name.
pub(super) fn metadata_of(path: &Path) -> Result<Option<Metadata>, ReadError> {
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
pub(super) fn names_in(path: &Path) -> Result<Vec<String>, ReadError> {
    let failed = |cause| ReadError::new(path, cause);
    let mut names = Vec::new();
    for entry in fs::read_dir(path).map_err(failed)? {
        names.push(entry.map_err(failed)?.file_name().to_string_lossy().into_owned());
    }
    names.sort();
    Ok(names)
}

/// The bytes of a file; `None` where they are more than `limit`, as they may be in spite of the
/// length that the system states.
pub(super) fn read_up_to(path: &Path, limit: u64) -> Result<Option<Vec<u8>>, ReadError> {
    let failed = |cause| ReadError::new(path, cause);
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(failed)?;
    file.take(limit.saturating_add(1)).read_to_end(&mut bytes).map_err(failed)?;
    Ok((bytes.len() as u64 <= limit).then_some(bytes))
}
