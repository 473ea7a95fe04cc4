//! Whether a survey's files have changed, as far as the system tells without reading them.

use super::file_names::is_workbook_name;
use crate::survey::settings;
use std::fs::{self, Metadata};
use std::path::Path;
use std::time::SystemTime;

/// Name, bytes and time of last writing of each file, in order of names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamp(Vec<(String, u64, Option<SystemTime>)>);

/// What the system says of the survey's files; `None` where the survey is not there. Files that
/// begin with a dot or a tilde, which programs put beside an open table, are left aside.
pub fn stamp(survey: &Path) -> Option<Stamp> {
    let file =
        survey.file_name().and_then(|name| name.to_str()).filter(|name| is_workbook_name(name));
    let mut files = match file {
        Some(_) if survey.is_file() => {
            let settings = survey.with_file_name(settings::FILE);
            let known = |path: &Path| Some(entry(path, &fs::metadata(path).ok()?));
            let mut files = vec![known(survey)?];
            files.extend(known(&settings));
            files
        }
        _ => {
            let entries = fs::read_dir(survey).ok()?.flatten();
            let known = entries.filter_map(|found| Some((found.path(), found.metadata().ok()?)));
            let files = known.filter(|(_, metadata)| metadata.is_file());
            files.map(|(path, metadata)| entry(&path, &metadata)).collect()
        }
    };
    files.retain(|(name, ..)| !name.starts_with(['.', '~']));
    files.sort();
    Some(Stamp(files))
}

fn entry(path: &Path, metadata: &Metadata) -> (String, u64, Option<SystemTime>) {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned());
    (name.unwrap_or_default(), metadata.len(), metadata.modified().ok())
}
