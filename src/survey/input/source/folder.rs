//! The folder of a survey while it is read: its files by name, each with a fault where it cannot be
//! read, and the settings.
//!
//! In: a path, and settings given by hand. Out: bytes of a file, [`Settings`], faults.
//! Left out: the tables (`tables`) and the raster of the ground (`elevations`).

use super::disk::{ReadError, metadata_of, names_in, read_up_to};
use crate::maths::quantity::count_of;
use crate::survey::fault::{Code, Faults, Place, Severity};
use crate::survey::input::file_names::looks_like;
use crate::survey::settings::{self, Settings};
use std::path::Path;

/// The longest `survey.toml`, in bytes; the settings hold the other limits and have none yet.
const LONGEST_SETTINGS: u64 = 1 << 20;

/// The folder of a survey while it is read.
pub(super) struct Folder<'p> {
    pub(super) path: &'p Path,
    pub(super) names: Vec<String>,
    pub(super) faults: Faults,
    /// Whether some table is there of which nothing could be read.
    pub(super) incomplete: bool,
}

impl<'p> Folder<'p> {
    /// The folder at `path`, with the faults met on the way to it.
    pub(super) fn open(path: &'p Path, faults: Faults) -> Result<Self, ReadError> {
        Ok(Self { path, names: names_in(path)?, faults, incomplete: false })
    }

    /// The settings; those given by hand hold even where `survey.toml` cannot be read.
    pub(super) fn settings(
        &mut self,
        overrides: &[(String, String)],
    ) -> Result<Settings, ReadError> {
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

    pub(super) fn holds(&self, file: &str) -> bool {
        self.names.iter().any(|name| name == file)
    }

    /// The bytes of a file of at most `limit`; `None` where it is not there, or a fault says why.
    pub(super) fn bytes(
        &mut self,
        file: &str,
        limit: u64,
        raise: &str,
    ) -> Result<Option<Vec<u8>>, ReadError> {
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
            Err(error) if error.is_refusal() => {
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

    /// Reports a file that is named almost like `file`, and returns whether there is one.
    pub(super) fn tell_look_alike(&mut self, code: Code, severity: Severity, file: &str) -> bool {
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

pub(super) fn count_of_bytes(size: u64) -> String {
    count_of(usize::try_from(size).unwrap_or(usize::MAX), "byte")
}
