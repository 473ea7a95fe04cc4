//! The program run on surveys in folders of their own, and what it leaves on disk.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

/// A small sound survey.
pub(crate) const GOOD: &str = "trail,anchor,tape_m,bearing_deg,height_m,note\nA,0,,,1.0,=1+1\n\
                               A,1,3.1,20,0.1,\nA,2,4.2,95,0.2,\nA,3,2.8,170,2.1,\n";

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

/// The program run in `folder`.
pub(crate) fn perchline(folder: &Path, arguments: &[&str]) -> Output {
    command(folder, arguments).output().unwrap()
}

/// Every file below a folder with its bytes, and every link and folder.
pub(crate) fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(path) = open.pop() {
        for entry in fs::read_dir(&path).unwrap() {
            let entry = entry.unwrap();
            let name = entry.path().strip_prefix(folder).unwrap().display().to_string();
            let kind = entry.file_type().unwrap();
            if kind.is_dir() {
                open.push(entry.path());
                found.insert(name, b"a folder".to_vec());
            } else if kind.is_symlink() {
                found.insert(name, b"a link".to_vec());
            } else {
                found.insert(name, fs::read(entry.path()).unwrap());
            }
        }
    }
    found
}
