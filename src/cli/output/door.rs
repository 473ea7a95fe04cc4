//! The door by which a single file leaves: a place in a folder, standard output, or something that
//! takes what is written to it.
//!
//! In: a survey and what was named by `--out`. Out: a [`Door`], or [`Failure::Usage`] with the reason;
//! nothing is touched before it is written to. A file is replaced as a whole; a pipe, a device and
//! what the shell holds open are written through and stay what they are.

use super::file::{named, write_whole};
use super::place::{folder_of, may_write};
use crate::cli::Failure;
use crate::cli::args::SurveyArgs;
use crate::cli::terminal::Terminal;
use std::env;
use std::fs::{self, File, Metadata};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Names that lead from one to the next: more than a system follows.
const MOST_LINKS: usize = 40;

/// Where a single file goes.
pub(in crate::cli) enum Door {
    /// A place in a folder, where a file stands wholly or not at all.
    File(PathBuf),
    /// Standard output, by whatever name.
    Stdout,
    /// A pipe, a device, or another file that the shell holds open.
    Through(PathBuf),
}

/// The door that `--out` names. Where it is standard output, the words of the command go to standard
/// error from here on.
///
/// # Errors
/// Wrong usage: nothing may be written there, or two things would be printed at once.
pub(in crate::cli) fn door(
    args: &SurveyArgs,
    out: &Path,
    terminal: &mut Terminal,
) -> Result<Door, Failure> {
    let refuse = |why: &str| Err(Failure::Usage(format!("{}: {why}", out.display())));
    let open = held_open(out);
    if is_dash(out) || open.as_deref().is_some_and(is_stdout) {
        if args.print.json {
            return refuse("--json prints to standard output as well; choose one of the two");
        }
        terminal.step_aside();
        return Ok(Door::Stdout);
    }
    match (open, fs::metadata(out)) {
        (Some(_), Err(_)) => refuse("nothing is open under this number"),
        (_, Ok(meta)) if is_disk_or_socket(&meta) => {
            refuse("this is a disk or a socket, and is left alone; name a file with --out")
        }
        (Some(open), Ok(meta)) if !meta.is_dir() => Ok(Door::Through(open)),
        (None, Ok(meta)) if !meta.is_dir() && !meta.is_file() => {
            Ok(Door::Through(out.to_path_buf()))
        }
        _ => may_write(&args.survey, out).map(|()| Door::File(out.to_path_buf())),
    }
}

impl Door {
    /// Whether what is written passes on, so that its name says nothing of what it is.
    pub(in crate::cli) const fn is_stream(&self) -> bool {
        matches!(self, Self::Stdout | Self::Through(_))
    }

    /// Writes the file.
    ///
    /// # Errors
    /// The machine's, with the path at which it failed; a reader that has gone.
    pub(in crate::cli) fn write(&self, bytes: &[u8]) -> Result<(), Failure> {
        match self {
            Self::File(place) => write_whole(place, bytes),
            Self::Stdout => {
                let mut out = io::stdout().lock();
                Ok(out.write_all(bytes).and_then(|()| out.flush())?)
            }
            Self::Through(place) => through(place, bytes),
        }
    }

    /// A place beside which files may stand until this one is whole.
    pub(in crate::cli) fn workplace(&self) -> PathBuf {
        match self {
            Self::File(place) => place.clone(),
            // beside a device there is no room for files
            Self::Stdout | Self::Through(_) => env::temp_dir().join("perchline"),
        }
    }
}

/// Whether a name means standard output.
pub(super) fn is_dash(out: &Path) -> bool {
    out.as_os_str() == "-"
}

/// Appends, which a pipe and a device take for writing, and which cuts nothing off a file that the
/// shell holds open.
fn through(place: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let written = File::options().append(true).open(place).and_then(|mut file| {
        file.write_all(bytes)?;
        file.flush()
    });
    written.map_err(|error| match error.kind() {
        io::ErrorKind::BrokenPipe => Failure::ClosedPipe,
        _ => named(place, &error),
    })
}

/// The entry of the system's list of open files to which a name leads, as `/dev/stdout` and
/// `/dev/fd/3` do. To follow it to the end would find the file that is open, not that it is.
pub(super) fn held_open(out: &Path) -> Option<PathBuf> {
    let mut at = out.to_path_buf();
    for _ in 0..MOST_LINKS {
        let folder = fs::canonicalize(folder_of(&at)).ok()?;
        let lists =
            folder == Path::new("/dev/fd") || folder.starts_with("/proc") && folder.ends_with("fd");
        if lists {
            return Some(folder.join(at.file_name()?));
        }
        at = folder.join(fs::read_link(&at).ok()?);
    }
    None
}

/// Whether an entry of that list is this program's standard output.
fn is_stdout(entry: &Path) -> bool {
    ["/proc/self/fd", "/dev/fd"]
        .iter()
        .filter_map(|own| fs::canonicalize(own).ok())
        .any(|own| entry == own.join("1"))
}

/// Bytes written to a disk are the end of what is on it.
#[cfg(unix)]
fn is_disk_or_socket(meta: &Metadata) -> bool {
    use std::os::unix::fs::FileTypeExt;
    meta.file_type().is_block_device() || meta.file_type().is_socket()
}

#[cfg(not(unix))]
fn is_disk_or_socket(_: &Metadata) -> bool {
    false
}
