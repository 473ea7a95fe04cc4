//! Values published or computed elsewhere; the sources stand in each file.

use serde_json::Value;
use std::fs;

/// The cases of the file called `name`; fails if there are not `count` of them, so that no test
/// passes by comparing nothing.
pub(crate) fn cases(name: &str, count: usize) -> Vec<Value> {
    let path = format!("{}/tests/reference/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let file: Value = serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
    let cases = file["cases"].as_array().unwrap().clone();
    assert_eq!(cases.len(), count, "{name}");
    cases
}
