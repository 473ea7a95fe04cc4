//! The demo as `export` writes it, with its tables to hold it against.

use crate::run::perchline;
use std::collections::BTreeMap;
use std::path::Path;
use tempfile::TempDir;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/dormice");

/// The demo exported under these names, with its tables beside; what was said to the user last.
pub(crate) fn exported(names: &[&str]) -> (TempDir, String) {
    let folder = TempDir::new().unwrap();
    let mut said = String::new();
    for name in names {
        let output = perchline(folder.path(), &["export", DEMO, "--out", name, "--draws", "0"]);
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        said = String::from_utf8(output.stdout).unwrap();
    }
    let tables = ["rebuild", DEMO, "--out", "results", "--draws", "0", "--tables-only"];
    assert!(perchline(folder.path(), &tables).status.success());
    (folder, said)
}

pub(crate) type Row = BTreeMap<String, String>;

pub(crate) fn table(path: &Path) -> Vec<Row> {
    let mut reader = csv::Reader::from_path(path).unwrap();
    let rows = reader.deserialize().collect::<Result<Vec<Row>, _>>().unwrap();
    assert!(!rows.is_empty());
    rows
}

pub(crate) fn number(row: &Row, column: &str) -> Option<f64> {
    row[column].parse().ok()
}
