//! Files packed into one, whose bytes follow from theirs alone: no clock, a fixed order.

use super::Failure;
use super::output::{Door, named, scratch};
use super::replace::Fresh;
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Cursor, Write};
use std::path::PathBuf;
use zip::write::SimpleFileOptions;
use zip::{DateTime, ZipWriter};

/// The list of checksums.
const SUMS: &str = "SHA256SUMS";

/// Decimals of the numbers that may be kept out.
const DECIMALS: usize = 5;

/// What is packed.
pub(super) enum Entry {
    Bytes(Vec<u8>),
    File(PathBuf),
}

/// A packed file in the making, and a folder that goes when it is done. It stands in memory until it
/// is whole: of a disk that is full the library that packs would speak for itself.
pub(super) struct Packed<'d> {
    scratch: Fresh<'static>,
    zip: ZipWriter<Cursor<Vec<u8>>>,
    door: &'d Door,
    sums: String,
    files: usize,
    /// What may stand in no text.
    kept_out: BTreeSet<String>,
}

impl<'d> Packed<'d> {
    /// A packed file that is to leave by `door`, and whose texts may not hold `kept_out`.
    pub(super) fn for_door(door: &'d Door, kept_out: BTreeSet<String>) -> Result<Self, Failure> {
        let scratch = scratch(&door.workplace())?;
        let zip = ZipWriter::new(Cursor::default());
        Ok(Self { scratch, zip, door, sums: String::new(), files: 0, kept_out })
    }

    /// A path for files that are packed later.
    pub(super) fn scratch(&self, name: &str) -> PathBuf {
        self.scratch.path().join(name)
    }

    pub(super) fn add(&mut self, name: &str, entry: Entry) -> Result<(), Failure> {
        let bytes = match entry {
            Entry::Bytes(bytes) => bytes,
            Entry::File(path) => fs::read(&path).map_err(|error| named(&path, &error))?,
        };
        if let Some(told) = told(&bytes, &self.kept_out) {
            return Err(Failure::Machine(format!(
                "{name} would tell the place ({told}); nothing was written"
            )));
        }
        for byte in Sha256::digest(&bytes) {
            self.sums += &format!("{byte:02x}");
        }
        self.sums += &format!("  {name}\n");
        self.put(name, &bytes)
    }

    fn put(&mut self, name: &str, bytes: &[u8]) -> Result<(), Failure> {
        self.files += 1;
        let options = SimpleFileOptions::default()
            .last_modified_time(DateTime::default())
            .unix_permissions(0o644)
            .large_file(bytes.len() > u32::MAX as usize);
        let written = self.zip.start_file(name, options).map_err(io::Error::from);
        let written = written.and_then(|()| self.zip.write_all(bytes));
        written.map_err(|error| named(self.scratch.path(), &error))
    }

    /// Adds the checksums and puts the file in its place; returns how many files it holds.
    pub(super) fn finish(mut self) -> Result<usize, Failure> {
        let sums = std::mem::take(&mut self.sums);
        self.put(SUMS, sums.as_bytes())?;
        let Self { scratch, zip, door, files, .. } = self;
        let packed =
            zip.finish().map_err(|error| named(scratch.path(), &io::Error::from(error)))?;
        door.write(packed.get_ref())?;
        drop(scratch);
        Ok(files)
    }
}

/// The first number in `bytes` that is one of `kept_out`, which have five decimals, or more digits of
/// it.
fn told<'k>(bytes: &[u8], kept_out: &'k BTreeSet<String>) -> Option<&'k str> {
    let numbers = bytes.split(|byte| !byte.is_ascii_digit() && *byte != b'.');
    numbers.filter(|number| number.len() > DECIMALS + 1).find_map(|number| {
        let point = number.iter().position(|byte| *byte == b'.')?;
        let cut = std::str::from_utf8(number.get(..=point + DECIMALS)?).ok()?;
        kept_out.get(cut).map(String::as_str)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_coordinate_is_found_with_more_digits_and_not_within_another_number() {
        let kept_out = BTreeSet::from(["14.28642".to_owned()]);
        let told = |text: &str| told(text.as_bytes(), &kept_out).is_some();
        assert!(told("[14.28642]") && told("at -14.2864219 east") && told("\"14.28642\","));
        assert!(!told("114.28642") && !told("14.2864") && !told("14.28643") && !told("1.14.28642"));
    }
}
