//! Input that no survey should have: a clear fault with its place, exit status 1, nothing written,
//! old results untouched.

use serde_json::Value;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::time::Duration;
use tempfile::TempDir;

use crate::run;
#[cfg(unix)]
use crate::within;
use run::{GOOD, contents, perchline, survey};
#[cfg(unix)]
use within::checked_within;

/// A survey with results, whose own tables are then spoilt.
fn with_results() -> TempDir {
    let folder = survey(GOOD);
    let output = perchline(folder.path(), &["rebuild", "survey", "--quiet"]);
    assert_eq!(output.status.code(), Some(0));
    folder
}

/// Where a fault must stand.
struct At<'a> {
    code: &'a str,
    file: &'a str,
    row: Option<u64>,
    column: Option<&'a str>,
}

const fn at<'a>(code: &'a str, file: &'a str, row: Option<u64>, column: Option<&'a str>) -> At<'a> {
    At { code, file, row, column }
}

/// `check` and `rebuild` refuse the survey for this reason and change nothing anywhere.
fn is_refused(folder: &Path, survey: &str, extra: &[&str], at: &At<'_>) -> Value {
    let before = contents(folder);
    let mut found = Value::Null;
    for command in ["check", "rebuild"] {
        let arguments = [&[command, survey, "--json"], extra].concat();
        let output = perchline(folder, &arguments);
        let errors = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(1), "{command} {}: {errors}", at.code);
        assert!(!errors.contains("panicked"), "{errors}");
        let result: Value = serde_json::from_slice(&output.stdout).unwrap();
        let faults = result["faults"].as_array().unwrap();
        let errors: Vec<&Value> = faults.iter().filter(|f| f["severity"] == "error").collect();
        let fault = errors.iter().find(|fault| fault["code"] == at.code);
        assert!(fault.is_some(), "{}: {faults:#?}", at.code);
        let fault = *fault.unwrap();
        assert_eq!(fault["file"], at.file, "{}", at.code);
        assert_eq!(fault["row"].as_u64(), at.row, "{}", at.code);
        assert_eq!(fault["column"].as_str(), at.column, "{}", at.code);
        for key in ["found", "expected", "hint"] {
            assert!(!fault[key].as_str().unwrap().is_empty(), "{} {key}", at.code);
        }
        found = fault.clone();
    }
    assert!(contents(folder) == before, "{}: something was written", at.code);
    found
}

#[test]
fn tables_that_are_no_tables() {
    let head = "trail,anchor,tape_m,bearing_deg,height_m";
    let anchors = "anchors.csv";
    let cases: [(&[u8], At<'_>); 8] = [
        (b"\x81\x8d\xfe\x00\x9d\xff\xc0", at("not_text", anchors, None, None)),
        (b"trail,anchor\nA,\x81\n", at("not_text", anchors, None, None)),
        (b"", at("empty_table", anchors, None, None)),
        (b"trail,tape_m\nA,1\n", at("missing_column", anchors, Some(1), Some("anchor"))),
        (b"Trail,ANCHOR\nA,1\n", at("missing_column", anchors, Some(1), Some("anchor"))),
        (
            b"trail,anchor,tape_m,tape_m\nA,0,,\nA,1,2,3\n",
            at("duplicate_column", anchors, Some(1), Some("tape_m")),
        ),
        (
            b"trail,anchor,tape_m\r\nA,0,\r\nA,\"1\r\n2\",3\r\nA,3..1,2\r\n",
            at("control_character", anchors, Some(3), Some("anchor")),
        ),
        (
            b"trail,anchor,tape_m,note\r\nA,0,,\"two\r\nlines\"\r\nA,1,3..1,\r\n",
            at("unreadable_number", anchors, Some(3), Some("tape_m")),
        ),
    ];
    assert!(GOOD.starts_with(head));
    for (bytes, at) in cases {
        let folder = with_results();
        fs::write(folder.path().join("survey/anchors.csv"), bytes).unwrap();
        is_refused(folder.path(), "survey", &[], &at);
    }
}

#[test]
fn a_folder_that_is_a_file_and_a_file_that_is_a_folder() {
    let folder = with_results();
    let file = "survey/anchors.csv";
    is_refused(folder.path(), file, &[], &at("not_a_survey", file, None, None));
    is_refused(folder.path(), "nowhere", &[], &at("not_a_survey", "nowhere", None, None));
    fs::remove_file(folder.path().join(file)).unwrap();
    fs::create_dir(folder.path().join(file)).unwrap();
    is_refused(folder.path(), "survey", &[], &at("not_a_survey", "anchors.csv", None, None));
    let folder = with_results();
    fs::create_dir(folder.path().join("survey/survey.toml")).unwrap();
    is_refused(folder.path(), "survey", &[], &at("not_a_survey", "survey.toml", None, None));
}

#[test]
fn settings_that_cannot_be_used() {
    let cases = [
        ("precision = 1..2\n", at("unreadable_settings", "survey.toml", Some(1), None)),
        (
            "\n[precision]\ntape_m = -1\n",
            at("bad_setting", "survey.toml", Some(3), Some("precision.tape_m")),
        ),
    ];
    for (text, at) in cases {
        let folder = with_results();
        fs::write(folder.path().join("survey/survey.toml"), text).unwrap();
        is_refused(folder.path(), "survey", &[], &at);
    }
    let folder = with_results();
    let place = at("bad_setting", "--set", None, Some("north"));
    is_refused(folder.path(), "survey", &["--set", "north=up"], &place);
}

/// What can be read in one way only is read, and changes no result.
#[test]
fn another_line_break_or_case_is_no_reason_to_refuse() {
    let folder = with_results();
    let results = folder.path().join("survey-results");
    let before = fs::read_to_string(results.join("metrics.csv")).unwrap();
    let noted = GOOD.replace("0.1,\n", "0.1,\"two\nlines, and a \"\"quote\"\"\"\n");
    for anchors in [GOOD.replace('\n', "\r\n"), noted.replace('\n', "\r\n"), noted] {
        fs::write(folder.path().join("survey/anchors.csv"), &anchors).unwrap();
        let output = perchline(folder.path(), &["rebuild", "survey"]);
        assert_eq!(output.status.code(), Some(0), "{anchors:?}");
        assert_eq!(fs::read_to_string(results.join("metrics.csv")).unwrap(), before);
    }
    let cased = GOOD.replace("height_m", "Height_M");
    fs::write(folder.path().join("survey/anchors.csv"), cased).unwrap();
    let output = perchline(folder.path(), &["check", "survey", "--json"]);
    let result: Value = serde_json::from_slice(&output.stdout).unwrap();
    let fault = &result["faults"][0];
    assert_eq!(
        (&fault["code"], &fault["column"]),
        (&"near_miss_heading".into(), &"Height_M".into())
    );
    assert!(fault["expected"].as_str().unwrap().contains("height_m"));
}

#[test]
fn rows_beyond_the_limit_are_refused_until_it_is_raised() {
    let folder = with_results();
    let place = at("too_many_rows", "anchors.csv", Some(5), None);
    let fault = is_refused(folder.path(), "survey", &["--set", "limits.rows=3"], &place);
    assert!(fault["hint"].as_str().unwrap().contains("limits.rows"));
    fs::write(folder.path().join("survey/survey.toml"), "[limits]\nrows = 3\n").unwrap();
    is_refused(folder.path(), "survey", &[], &place);
    let raised = ["rebuild", "survey", "--quiet", "--set", "limits.rows=4"];
    assert_eq!(perchline(folder.path(), &raised).status.code(), Some(0));
}

#[cfg(unix)]
#[test]
fn ten_million_rows_are_refused_quickly_and_in_little_memory() {
    let folder = with_results();
    let before = contents(&folder.path().join("survey-results"));
    let mut file = fs::File::create(folder.path().join("survey/anchors.csv")).unwrap();
    file.write_all(b"trail,anchor\n").unwrap();
    file.write_all("A,1\n".repeat(10_000_000).as_bytes()).unwrap();
    drop(file);
    let (fault, took) = checked_within(200, folder.path(), "survey", &[]);
    assert_eq!((&fault["code"], fault["row"].as_u64()), (&"too_many_rows".into(), Some(2_000_002)));
    assert!(fault["hint"].as_str().unwrap().contains("--set limits.rows="));
    assert!(took < Duration::from_secs(30), "{took:?}");
    assert!(before == contents(&folder.path().join("survey-results")));
}

#[cfg(unix)]
#[test]
fn a_cell_of_a_hundred_megabytes_is_refused_quickly_and_in_little_memory() {
    let folder = with_results();
    let long = "x".repeat(100_000_000);
    fs::write(
        folder.path().join("survey/anchors.csv"),
        format!("trail,anchor,note\nA,0,\nA,1,{long}\n"),
    )
    .unwrap();
    let (fault, took) = checked_within(600, folder.path(), "survey", &[]);
    assert_eq!((&fault["code"], fault["row"].as_u64()), (&"cell_too_long".into(), Some(3)));
    assert_eq!(fault["column"], "note");
    assert!(took < Duration::from_secs(30), "{took:?}");
    let place = at("file_too_large", "anchors.csv", None, None);
    let fault = is_refused(folder.path(), "survey", &["--set", "limits.bytes=1000000"], &place);
    assert!(fault["hint"].as_str().unwrap().contains("limits.bytes"));
}
