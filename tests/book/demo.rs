//! The invented surveys: the sound one is sound, and every slip of the other is found where
//! `demo/README.md` says.

use perchline::survey::fault::Code;
use serde_json::Value;
use std::path::Path;
use std::process::Command;

const README: &str = include_str!("../../demo/README.md");
const TABLES: [&str; 5] = ["anchors", "ties", "controls", "trails", "animals"];

/// What `check` says of a survey.
fn checked(survey: &str) -> Value {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut command = Command::new(env!("CARGO_BIN_EXE_perchline"));
    let output = command.args(["check", survey, "--json"]).current_dir(root).output().unwrap();
    serde_json::from_slice(&output.stdout).unwrap()
}

fn faults(survey: &str) -> Vec<Value> {
    checked(survey)["faults"].as_array().unwrap().clone()
}

/// The rows of the table of slips, cell by cell.
fn slips() -> Vec<Vec<&'static str>> {
    let rows = README.lines().skip_while(|line| !line.starts_with("| table | row | of |")).skip(2);
    let cells = |line: &'static str| line.split('|').map(|cell| cell.trim().trim_matches('`'));
    let row = |line| cells(line).skip(1).take(7).collect::<Vec<_>>();
    rows.take_while(|line| line.starts_with('|')).map(row).collect()
}

#[test]
fn the_sound_survey_has_no_error_and_no_warning() {
    let faults = faults("demo/dormice");
    assert!(faults.iter().all(|fault| fault["severity"] == "note"), "{faults:#?}");
}

#[test]
fn every_slip_that_a_rule_can_find_is_found_at_its_place() {
    let faults = faults("demo/dormice-as-written");
    let (mut by_rule, mut by_closure, mut by_nothing) = (0, 0, 0);
    for slip in slips() {
        let [table, row, of, column, _, _, found_by] = slip[..] else { panic!("{slip:?}") };
        for reason in found_by.split(';').map(str::trim) {
            if reason.starts_with("suspect ") {
                by_closure += 1;
            } else if reason.starts_with("cannot be found") {
                by_nothing += 1;
            } else {
                let mut words = reason.split(' ');
                let code = words.next().unwrap();
                assert!(Code::ALL.iter().any(|known| known.name() == code), "{reason}");
                let elsewhere: Vec<&str> = match words.next() {
                    Some("at") => words.take_while(|word| !word.starts_with('(')).collect(),
                    _ => Vec::new(),
                };
                let (table, row, column) = match elsewhere[..] {
                    [] => (table, Some(row.parse().unwrap()), column),
                    [column] => (table, Some(row.parse().unwrap()), column),
                    [table, column] if TABLES.contains(&table) => {
                        (table, row_of(table, of), column)
                    }
                    _ => panic!("{reason}"),
                };
                let file = format!("{table}.csv");
                let is_there = |fault: &&Value| {
                    fault["code"] == code
                        && fault["file"] == *file
                        && fault["row"].as_u64() == row
                        && fault["column"] == column
                };
                assert_eq!(faults.iter().filter(is_there).count(), 1, "{slip:?}");
                by_rule += 1;
            }
        }
    }
    assert_eq!((by_rule, by_closure, by_nothing), (17, 4, 2));
}

/// The row of a table whose first cell is the first word of `of`.
fn row_of(table: &str, of: &str) -> Option<u64> {
    let path = format!("{}/demo/dormice-as-written/{table}.csv", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    let name = of.split(' ').next().unwrap();
    let at = text.lines().position(|line| line.split(',').next() == Some(name))?;
    Some(at as u64 + 1)
}

/// Rules that cry out where nothing is wrong are not read for long.
#[test]
fn no_row_without_a_slip_is_faulted() {
    let mut rows: Vec<(String, Option<u64>)> = Vec::new();
    for slip in slips() {
        let row: u64 = slip[1].parse().unwrap();
        rows.push((format!("{}.csv", slip[0]), Some(row)));
        for trail in ["trails"].map(|table| row_of(table, slip[2])) {
            rows.push(("trails.csv".into(), trail));
        }
        if slip[6].contains("tape_shorter_than_climb") {
            // The leg that comes down from a false height is as short as the one that goes up.
            rows.push((format!("{}.csv", slip[0]), Some(row + 1)));
        }
    }
    for fault in faults("demo/dormice-as-written").iter().filter(|f| f["severity"] != "note") {
        let place = (fault["file"].as_str().unwrap().to_owned(), fault["row"].as_u64());
        assert!(rows.contains(&place), "{fault}");
    }
}

/// A line with its columns as close as can be: how wide they are hangs on what else stands there.
fn close(line: &str) -> String {
    line.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What the README shows of `command` is what the program prints.
fn is_shown(command: &[&str], shown: impl Iterator<Item = &'static str>) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut program = Command::new(env!("CARGO_BIN_EXE_perchline"));
    let output = program.args(command).current_dir(root).output().unwrap();
    let printed = String::from_utf8(output.stdout).unwrap();
    let printed: Vec<String> = printed.lines().map(close).collect();
    let shown: Vec<String> = shown.map(close).filter(|line| !line.is_empty()).collect();
    assert!(shown.len() >= 5, "{shown:#?}");
    for line in shown {
        assert!(printed.contains(&line), "the README shows a line that is not printed: {line}");
    }
}

#[test]
fn the_first_look_is_what_the_program_prints() {
    const FRONT: &str = include_str!("../../README.md");
    let out = tempfile::tempdir().unwrap();
    let out = out.path().to_str().unwrap();
    let look = FRONT.split("## A first look").nth(1).unwrap().split("\n## ").next().unwrap();
    let (rebuilt, checked) = look.split_once("In brackets").unwrap();
    let indented = |text: &'static str| text.lines().filter(|line| line.starts_with("    "));
    is_shown(&["rebuild", "demo/dormice", "--tables-only", "--out", out], indented(rebuilt));
    is_shown(&["check", "demo/dormice-as-written"], indented(checked));
}

/// The rows of the sound survey's metrics.
fn metrics() -> Vec<csv::StringRecord> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let out = tempfile::tempdir().unwrap();
    let mut program = Command::new(env!("CARGO_BIN_EXE_perchline"));
    let options = ["rebuild", "demo/dormice", "--tables-only", "--quiet", "--draws", "0", "--out"];
    let status = program.args(options).arg(out.path()).current_dir(root).status().unwrap();
    assert!(status.success());
    let mut metrics = csv::Reader::from_path(out.path().join("metrics.csv")).unwrap();
    metrics.records().map(Result::unwrap).collect()
}

/// D06 is one anchor, D10 a leg of no length: neither draws its animal's mean bearing to the north.
#[test]
fn a_night_in_one_place_has_no_direction() {
    let rows = metrics();
    let bearing = |trail: &str| {
        let row = rows.iter().find(|row| &row[0] == trail && &row[3] == "net_bearing").unwrap();
        (row[4].to_owned(), row[10].to_owned())
    };
    assert_eq!(bearing("D06"), (String::new(), "no movement".to_owned()));
    let (value, reason) = bearing("D10");
    assert_eq!(
        (value.as_str(), reason.as_str()),
        ("", "the path ends where it began, seen from above")
    );
    assert!(bearing("D05").0.parse::<f64>().is_ok());
}

/// D11 ran out of thread; D19 was partly out of reach.
#[test]
fn a_mean_height_is_at_least_only_where_heights_were_out_of_reach() {
    let rows = metrics();
    let bound = |trail: &str, metric: &str| {
        let row = rows.iter().find(|row| {
            &row[0] == trail && &row[2] == "whole" && &row[3] == metric && !row[4].is_empty()
        });
        row.unwrap()[9].to_owned()
    };
    for metric in ["height_mean", "height_median", "height_q25", "height_q75"] {
        assert_eq!(bound("D11", metric), "", "{metric}");
        assert_eq!(bound("D19", metric), "at least", "{metric}");
    }
    assert_eq!(bound("D11", "height_max"), "at least");
    assert_eq!(bound("D01", "height_max"), "");
}
