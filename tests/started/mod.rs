//! The program started on a small survey in a folder of its own.

use std::fs;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

/// A folder with a `survey` in it, of these anchors.
pub(crate) fn survey(anchors: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::create_dir(folder.path().join("survey")).unwrap();
    fs::write(folder.path().join("survey/anchors.csv"), anchors).unwrap();
    folder
}

/// The program with these arguments, to be run in `folder`.
pub(crate) fn command(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_perchline"));
    command.args(arguments).current_dir(folder);
    command
}
