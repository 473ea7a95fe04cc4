//! `load` as a user runs it, against numbers worked by hand.

use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/dormice");

fn load(folder: &Path, arguments: &[&str]) -> (String, Option<i32>) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_perchline"));
    let output = command.arg("load").args(arguments).current_dir(folder).output().unwrap();
    (String::from_utf8(output.stdout).unwrap(), output.status.code())
}

fn json(arguments: &[&str]) -> Value {
    let (text, code) = load(Path::new("."), &[arguments, &["--json"]].concat());
    assert_eq!(code, Some(0), "{text}");
    serde_json::from_str(&text).unwrap()
}

fn near(value: &Value, expected: f64) {
    let found = value.as_f64().unwrap();
    assert!((found - expected).abs() < 1e-9 * expected.abs().max(1.0), "{found}, not {expected}");
}

/// By hand: 110 g may carry 5.5 g. 4.5 g are 4.0909 %; without 2.3 g of thread 2.2 g stay, 2 %.
/// 5.5 g − 2.2 g = 3.3 g of thread, at 11 mg a metre 300 m. 250 m weigh 2.75 g, with the rest
/// 4.95 g, 4.5 %. For 3 %: 3.3 g − 2.2 g = 1.1 g or 100 m.
#[test]
fn one_animal_by_hand() {
    let result = json(&[
        "--body",
        "110",
        "--device",
        "4.5",
        "--bobbin",
        "2.3",
        "--metres",
        "250",
        "--days",
        "20",
        "--set",
        "thread_g_per_m=0.011",
        "--masses",
        "110-110",
        "--share",
        "3",
    ]);
    let animal = &result["animals"][0];
    near(&animal["share_full"], 4.5 / 110.0);
    near(&animal["share_empty"], 0.02);
    near(&animal["allowed_g"], 5.5);
    near(&animal["thread_allowed_m"], 300.0);
    near(&animal["lightest_body_g"], 90.0);
    assert_eq!(animal["verdict"], "within");
    assert_eq!(animal["days_within"], false, "20 days where 14 are allowed");
    near(&animal["wanted"]["bobbin_g"], 2.75);
    near(&animal["wanted"]["share"], 0.045);
    let rows = result["table"].as_array().unwrap();
    let row = rows.iter().find(|row| row["body_mass_g"] == 110.0).unwrap();
    near(&row["shares"][0]["thread_m"], 100.0);
    near(&row["shares"][1]["thread_m"], 300.0);
    assert_eq!(row["shares"].as_array().unwrap().len(), 2, "the stated share, and the limit");
}

/// Bramble: 4.6 g of 128 g; the heavier of two bobbins 2.32 g.
#[test]
fn the_animals_of_a_survey() {
    let result = json(&[DEMO]);
    let animals = result["animals"].as_array().unwrap();
    assert_eq!(animals.len(), 13);
    assert_eq!(animals[0]["animal"], "Bramble");
    near(&animals[0]["share_full"], 4.6 / 128.0);
    near(&animals[0]["share_empty"], (4.6 - 2.32) / 128.0);
    near(&animals[0]["thread_allowed_m"], (6.4 - 2.28) / 0.011);
    let (text, _) = load(Path::new("."), &[DEMO]);
    for said in ["Knapp & Abarca 2009", "Casper 2009", "ethics committee", "within 5"] {
        assert!(text.contains(said), "{said}: {text}");
    }
    assert!(!text.contains("assumed"), "this survey states the weight of its thread");
}

#[test]
fn what_is_over_is_said_and_an_assumed_thread_too() {
    let one = ["--body", "60", "--device", "4", "--bobbin", "3"];
    let (text, code) = load(Path::new("."), &one);
    assert_eq!(code, Some(0));
    assert!(text.contains("until 100 m have run out"), "{text}");
    assert!(text.contains("assumed, common practice, no source"), "{text}");
    let (text, _) = load(Path::new("."), &["--body", "15", "--device", "4", "--bobbin", "3"]);
    assert!(text.contains("even with an empty bobbin"), "{text}");
}

/// Before the field there are animals, and no anchors yet.
#[test]
fn a_survey_without_anchors_is_enough_and_one_with_a_wrong_mass_is_not() {
    let folder = TempDir::new().unwrap();
    let place = folder.path().join("survey");
    fs::create_dir(&place).unwrap();
    fs::write(place.join("animals.csv"), "animal,body_mass_g,device_mass_g\nKim,100,6\n").unwrap();
    let (text, code) = load(folder.path(), &["survey"]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("over 5.0 % with a full bobbin"), "{text}");
    fs::write(place.join("animals.csv"), "animal,body_mass_g\nKim,1..0\n").unwrap();
    let (text, code) = load(folder.path(), &["survey"]);
    assert_eq!(code, Some(1));
    assert!(text.contains("animals.csv, row 2, column body_mass_g"), "{text}");
    assert_eq!(load(folder.path(), &["nowhere"]).1, Some(1));
    assert_eq!(load(folder.path(), &["--body", "0"]).1, Some(2));
    assert_eq!(load(folder.path(), &["--body", "9", "--device", "1", "--bobbin", "2"]).1, Some(2));
    assert_eq!(load(folder.path(), &["--body", "9", "--masses", "20"]).1, Some(2));
    assert_eq!(load(folder.path(), &[]).1, Some(2));
}
