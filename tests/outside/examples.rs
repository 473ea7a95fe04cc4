//! The worked examples of `docs/examples`, run on the demo by the two languages they are written in.

use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

const ROOT: &str = env!("CARGO_MANIFEST_DIR");

/// What an example says of the demo: its first line, and the ratio with its interval.
fn said(program: &str, script: &str) -> (String, Vec<f64>) {
    let folder = TempDir::new().unwrap();
    let demo = Path::new(ROOT).join("demo/dormice");
    let mut rebuild = Command::new(env!("CARGO_BIN_EXE_perchline"));
    rebuild.arg("rebuild").arg(demo).args(["--out", "r", "--draws", "0", "--tables-only"]);
    assert!(rebuild.current_dir(folder.path()).status().unwrap().success());
    let script = Path::new(ROOT).join("docs/examples").join(script);
    let output = Command::new(program).arg(script).arg(folder.path().join("r")).output().unwrap();
    let errors = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{errors}");
    let said = String::from_utf8(output.stdout).unwrap();
    let mut lines = said.lines();
    let first = lines.next().unwrap().to_owned();
    let second = lines.next().unwrap().replace([')', '%'], " ");
    (first, second.split_whitespace().filter_map(|word| word.parse().ok()).collect())
}

/// Two programs that share no line fit the same model to the same table.
#[test]
#[ignore = "needs R with nlme, and Python with statsmodels: ./test installs both where it may"]
fn both_examples_find_the_same_ratio() {
    let python = std::env::var("PERCHLINE_PYTHON").unwrap_or_else(|_| "/usr/bin/python3".into());
    let (r, py) = (said("Rscript", "legs.R"), said(&python, "legs.py"));
    assert_eq!(r.0, py.0);
    assert!(r.0.ends_with("of 13 animals") || r.0.ends_with("of 12 animals"), "{}", r.0);
    // ratio, low, high: the two take t and z for the interval
    assert_eq!((r.1.len(), py.1.len()), (3, 3), "{r:?} {py:?}");
    assert!(r.1.iter().zip(&py.1).all(|(a, b)| (a - b).abs() < 0.03), "{r:?} {py:?}");
    assert!(r.1[0] > 0.2 && r.1[0] < 2.0 && r.1[1] < r.1[0] && r.1[0] < r.1[2], "{r:?}");
}
