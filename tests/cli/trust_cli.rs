//! Slips, methods and plans as a user runs them.

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use tempfile::TempDir;

fn perchline(folder: &Path, arguments: &[&str]) -> Output {
    let program = env!("CARGO_BIN_EXE_perchline");
    Command::new(program).args(arguments).current_dir(folder).output().unwrap()
}

fn demo(name: &str) -> String {
    let path: PathBuf = [env!("CARGO_MANIFEST_DIR"), "demo", name].iter().collect();
    path.to_string_lossy().into_owned()
}

fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap()
}

fn words(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// Every planted slip of the demo that a loop can show, with its cell and its explanation first.
#[test]
fn the_slips_of_the_demo_are_named() {
    let folder = TempDir::new().unwrap();
    let output = perchline(folder.path(), &["check", &demo("dormice-as-written"), "--json"]);
    assert_eq!(output.status.code(), Some(1)); // other slips are errors of the tables
    let result = json(&output);
    let suspects = result["suspects"].as_array().unwrap();
    let planted = [
        ("D01", 42, "bearing_deg", "swapped_digits", Value::from(72.0)),
        ("D03", 90, "back_bearing_deg", "reversed_needle", Value::from(207.0)),
        ("D09", 257, "bearing_deg", "reversed_needle", Value::from(344.0)),
        ("D14", 386, "tape_m", "decimal_slip", Value::from(3.37)),
        ("D19", 604, "from", "wrong_from", Value::from("29")),
    ];
    assert_eq!(suspects.len(), planted.len(), "{suspects:#?}");
    for (trail, row, column, explanation, would_read) in planted {
        let suspect = suspects.iter().find(|suspect| suspect["trail"] == trail).unwrap();
        assert_eq!((&suspect["row"], &suspect["column"]), (&row.into(), &column.into()), "{trail}");
        let first = &suspect["explanations"][0];
        assert_eq!(first["explanation"], explanation, "{trail}");
        assert_eq!(first["would_read"], would_read, "{trail}");
        let left = first["misclosure_m"].as_f64().unwrap();
        assert!(left < suspect["misclosure_m"].as_f64().unwrap() / 4.0, "{trail}");
    }
    // D08 has no tie: its slip cannot be found, and the advice says that nothing checks it.
    let advice = result["advice"].as_array().unwrap();
    let lonely = advice.iter().find(|advice| advice["trail"] == "D08").unwrap();
    assert_eq!(lonely["unchecked_legs"], lonely["legs"]);
    assert!(lonely["text"].as_str().unwrap().contains("no leg has a check measurement"));
    assert!(lonely["from"].is_string() && lonely["to"].is_string());
}

#[test]
fn the_demo_corrected_closes() {
    let folder = TempDir::new().unwrap();
    let result = json(&perchline(folder.path(), &["check", &demo("dormice"), "--json"]));
    assert_eq!(result["suspects"], Value::Array(Vec::new()));
    for closure in result["closures"].as_array().unwrap() {
        let verdict = closure["verdict"].as_str().unwrap();
        assert!(!verdict.contains("does not close"), "{closure}");
    }
    for test in result["global_test"].as_array().unwrap() {
        assert!(test["p_value"].as_f64().is_none_or(|p| p > 0.001), "{test}");
    }
}

#[test]
fn an_explanation_reads_as_a_sentence_with_its_cell() {
    let folder = TempDir::new().unwrap();
    let said = words(&perchline(folder.path(), &["check", &demo("dormice-as-written")]));
    let sentence = "trail D09, leg 15 to 16: bearing 164° was probably read at the wrong end of the \
                    needle: 344° leaves";
    assert!(said.contains(sentence), "{said}");
    assert!(said.contains("anchors.csv, row 257, column bearing_deg"));
}

#[test]
fn a_made_up_survey_passes_check_and_its_slip_is_found() {
    let folder = TempDir::new().unwrap();
    let at = folder.path();
    let habit = ["--habit", "walker", "--seed", "12"];
    let output = perchline(at, &[&["simulate", "plain"], &habit[..]].concat());
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let checked = json(&perchline(at, &["check", "plain", "--json"]));
    assert_eq!(
        (&checked["faults"], &checked["suspects"]),
        (&Value::from(vec![0; 0]), &Value::from(vec![0; 0]))
    );
    let slip = ["--slip", "reversed_needle", "--trails", "1"];
    perchline(at, &[&["simulate", "spoilt"], &habit[..], &slip[..]].concat());
    let truth = fs::read_to_string(at.join("spoilt/truth.csv")).unwrap();
    let planted = truth.lines().find(|line| line.contains("reversed_needle")).unwrap();
    let anchor = planted.split(',').nth(1).unwrap();
    let suspects = json(&perchline(at, &["check", "spoilt", "--json"]))["suspects"].clone();
    assert_eq!(suspects[0]["to"], anchor);
    assert_eq!(suspects[0]["explanations"][0]["explanation"], "reversed_needle");
    // Never onto something that is there.
    let again = perchline(at, &["simulate", "spoilt"]);
    assert_eq!(again.status.code(), Some(2));
}

#[test]
fn four_methods_stand_side_by_side() {
    let folder = TempDir::new().unwrap();
    let out = folder.path().join("out");
    let named = out.to_string_lossy().into_owned();
    let survey = demo("dormice");
    let arguments = [
        "rebuild",
        &survey,
        "--out",
        &named,
        "--compare-methods",
        "--draws",
        "0",
        "--trail",
        "D09",
    ];
    assert_eq!(perchline(folder.path(), &arguments).status.code(), Some(0));
    let table = fs::read_to_string(out.join("methods_compared.csv")).unwrap();
    let heading = "trail,animal,part,metric,unit,least_squares,robust,compass_rule,none";
    assert_eq!(table.lines().next().unwrap(), heading);
    let net = table.lines().find(|line| line.contains("whole,net_displacement,")).unwrap();
    let values: Vec<f64> = net.split(',').skip(5).map(|cell| cell.parse().unwrap()).collect();
    assert_eq!(values.len(), 4);
    assert!(values.iter().all(|value| (value - values[0]).abs() < 1.0), "{net}");
    assert!((values[0] - values[3]).abs() > 1e-4, "{net}");
    for method in ["robust", "compass-rule"] {
        let arguments = ["rebuild", &survey, "--out", &named, "--method", method, "--draws", "0"];
        assert_eq!(perchline(folder.path(), &arguments).status.code(), Some(0), "{method}");
        let settings = fs::read_to_string(out.join("results.json")).unwrap();
        assert!(settings.contains(&format!("\"method\":\"{method}\"")), "{method}");
        assert!(!out.join("methods_compared.csv").exists(), "an old table was left");
    }
}

#[test]
fn a_forecast_shows_what_ties_and_animals_buy() {
    let folder = TempDir::new().unwrap();
    let plan = demo("plan.csv");
    let output = perchline(folder.path(), &["forecast", &plan, "--surveys", "20", "--ties", "1"]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let said = words(&output);
    for part in ["0 ties: end point known to", "expected misclosure", "path_length", "animals"] {
        assert!(said.contains(part), "{part}: {said}");
    }
    // animals that differ by 40 %: the means of 10 have intervals 1.56 deviations wide, under 2.1 in 9 of 10
    let ten = said.lines().find(|line| line.starts_with("10 ")).unwrap();
    assert!(ten.contains("62 (84)"), "{ten}");
    let sketch = ["forecast", "--sketch", "12 legs of 3 m", "--surveys", "20", "--json"];
    let result = json(&perchline(folder.path(), &sketch));
    let variants = result["variants"].as_array().unwrap();
    assert_eq!(variants.len(), 3);
    let wide = |at: usize| variants[at]["end_point"]["semi_axes_m"][0].as_f64().unwrap();
    assert!(wide(2) < wide(0));
    let none = perchline(folder.path(), &["forecast", "--sketch", "0 legs of 3 m"]);
    assert_eq!(none.status.code(), Some(2));
    assert!(String::from_utf8(none.stderr).unwrap().contains("without legs"));
    let bad = ["forecast", "--sketch", "3 legs of 3 m", "--set", "tape_m=-1"];
    assert_eq!(perchline(folder.path(), &bad).status.code(), Some(2));
}

fn survey(anchors: &str, ties: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    for (name, text) in
        [("anchors.csv", anchors), ("ties.csv", ties), ("survey.toml", "bearings.north = 'true'\n")]
    {
        if !text.is_empty() {
            fs::write(folder.path().join(name), text).unwrap();
        }
    }
    folder
}

const TWO_TRAILS: &str = "trail,anchor,tape_m,bearing_deg,height_m\n\
                          A,1,,,0\nA,2,5,0,0\nA,3,5,90,0\nB,11,,,0\nB,12,5,0,0\nB,13,5,90,0\n";

/// A tie belongs to one trail: one that leads to another is a fault with its cell and a hint.
#[test]
fn a_tie_between_two_trails_is_a_fault_with_its_place() {
    let ties = "trail,from,to,tape_m,bearing_deg\nA,1,11,10,90\nA,3,13,10,90\n";
    let folder = survey(TWO_TRAILS, ties);
    let output = perchline(folder.path(), &["check", ".", "--json"]);
    assert_eq!(output.status.code(), Some(1));
    let faults = json(&output)["faults"].clone();
    for (at, (row, found)) in [(2, "11"), (3, "13")].into_iter().enumerate() {
        let fault = &faults[at];
        assert_eq!(fault["code"], "unknown_anchor", "{faults:#}");
        assert_eq!((&fault["file"], &fault["row"]), (&"ties.csv".into(), &row.into()));
        assert_eq!((&fault["column"], &fault["found"]), (&"to".into(), &found.into()));
        assert!(fault["hint"].as_str().unwrap().contains("another trail"), "{fault}");
    }
}

/// Where nothing fixes a survey in place its release does; where nothing fixes its second piece, a
/// fault says at which anchor it begins.
#[test]
fn what_nothing_fixes_is_said() {
    let folder = survey(TWO_TRAILS, "");
    let output = perchline(folder.path(), &["check", ".", "--json"]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    assert_eq!(json(&output)["suspects"], Value::Array(Vec::new()));
    let pieces = "trail,anchor,from,tape_m,bearing_deg,height_m\n\
                  A,1,,,,0\nA,2,,5,0,0\nA,3,,,,0\nA,4,,5,90,0\n";
    let folder = survey(pieces, "");
    let output = perchline(folder.path(), &["check", ".", "--json"]);
    let faults = json(&output)["faults"].clone();
    let of_piece = |fault: &&Value| fault["code"] == "two_pieces";
    let fault = faults.as_array().unwrap().iter().find(of_piece).unwrap();
    assert_eq!((&fault["row"], &fault["column"]), (&4.into(), &"anchor".into()));
    let rebuilt = perchline(folder.path(), &["rebuild", ".", "--out", "out", "--quiet"]);
    assert_eq!(rebuilt.status.code(), Some(0), "{rebuilt:?}");
    // The ends are in two pieces: what compares them is blank.
    let metrics = fs::read_to_string(folder.path().join("out/metrics.csv")).unwrap();
    assert!(!metrics.contains("NaN") && !metrics.contains("inf"), "{metrics}");
    let net = metrics.lines().find(|line| line.contains("whole,net_displacement,")).unwrap();
    let value = metrics.lines().next().unwrap().split(',').position(|h| h == "value");
    assert_eq!(net.split(',').nth(value.unwrap()), Some(""), "{net}");
    assert!(net.contains("in two pieces"), "{net}");
}
