//! The program within little memory.

use serde_json::Value;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

/// The only error that `check` finds in `survey` within so many megabytes of memory, and how long
/// it took.
pub(crate) fn checked_within(
    megabytes: usize,
    folder: &Path,
    survey: &str,
    extra: &[&str],
) -> (Value, Duration) {
    let start = Instant::now();
    let within = format!("ulimit -v {}; exec \"$0\" \"$@\"", megabytes * 1024);
    let output = Command::new("sh")
        .args(["-c", &within, env!("CARGO_BIN_EXE_perchline"), "check", survey, "--json"])
        .args(extra)
        .current_dir(folder)
        .output()
        .unwrap();
    let took = start.elapsed();
    let errors = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{errors}");
    let result: Value = serde_json::from_slice(&output.stdout).unwrap();
    let faults = result["faults"].as_array().unwrap();
    let errors: Vec<&Value> = faults.iter().filter(|f| f["severity"] == "error").collect();
    assert_eq!(errors.len(), 1, "{errors:#?}");
    (errors[0].clone(), took)
}
