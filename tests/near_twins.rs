//! Names as people write them: near-twins told, taken as one, or refused.

#![expect(clippy::disallowed_methods, reason = "tests lay out surveys on disk")]
#![expect(clippy::unwrap_used, reason = "a test that cannot lay out its survey has failed")]

use perchline::check::check;
use perchline::fault::{Code, Fault, Severity};
use perchline::input::source::read_survey;
use perchline::network::build;
use perchline::survey::Survey;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

fn read(folder: &Path) -> (Survey, Vec<Fault>) {
    let (survey, read) = read_survey(folder, &[]).unwrap();
    let network = build(&survey);
    let mut faults: Vec<Fault> = read.sorted().into_iter().cloned().collect();
    faults.extend(check(&survey, &network).sorted().into_iter().cloned());
    (survey, faults)
}

fn checked(files: &[(&str, &str)]) -> (Survey, Vec<Fault>) {
    let folder = TempDir::new().unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    read(folder.path())
}

fn of(faults: &[Fault], code: Code) -> Vec<&Fault> {
    faults.iter().filter(|fault| fault.code == code).collect()
}

const HEADING: &str = "trail,anchor,tape_m,bearing_deg,height_m,support\n";

/// `a1` for `A1` begins a trail of its own, whose tape leads from nowhere.
#[test]
fn a_misspelt_trail_of_one_anchor_is_an_error() {
    for twin in ["a1", "A 1", "A-1", "AI"] {
        let rows = format!("{HEADING}A1,0,,,1,\nA1,1,2,30,1,\n{twin},2,2,40,1,\nA1,3,2,20,1,\n");
        let (_, faults) = checked(&[("anchors.csv", &rows)]);
        let told = of(&faults, Code::NearTwin);
        assert_eq!((told.len(), told[0].severity), (1, Severity::Error), "{twin}: {faults:?}");
        assert!(told[0].found.contains("A1") && told[0].hint.contains("nowhere"), "{told:?}");
    }
}

#[test]
fn two_trails_of_several_anchors_are_a_warning() {
    let rows = format!("{HEADING}D1,0,,,1,\nD1,1,2,30,1,\nd1,0,,,1,\nd1,1,2,30,1,\n");
    let (_, faults) = checked(&[("anchors.csv", &rows)]);
    let told = of(&faults, Code::NearTwin);
    assert_eq!((told.len(), told[0].severity), (1, Severity::Warning), "{faults:?}");
}

#[test]
fn anchors_of_one_trail_may_be_near_twins() {
    let rows = format!("{HEADING}A,0,,,1,\nA,a,2,30,1,\nA,b,2,30,1,\nA,A,2,50,1,\n");
    let (_, faults) = checked(&[("anchors.csv", &rows)]);
    let told = of(&faults, Code::NearTwin);
    assert_eq!((told.len(), told[0].severity), (1, Severity::Warning), "{faults:?}");
}

#[test]
fn a_first_anchor_with_a_tape_is_told() {
    let rows = format!("{HEADING}A,1,2,30,1,\nA,2,2,30,1,\n");
    let (_, faults) = checked(&[("anchors.csv", &rows)]);
    let told = of(&faults, Code::FirstTape);
    assert_eq!((told.len(), told[0].severity), (1, Severity::Warning), "{faults:?}");
}

/// Three spellings of one support are one, as most often written; so are words for one sex.
#[test]
fn supports_and_sexes_are_taken_as_one() {
    let rows = format!(
        "{HEADING}A,0,,,1,Litter\nA,1,2,30,1,litter\nA,2,2,30,1,litter\nA,3,2,30,1,LITTER\n"
    );
    let animals = "animal,sex\nBor,f\nJel,female\nLipa,females\nMoss,M\nFern,male\n";
    let (survey, faults) = checked(&[("anchors.csv", &rows), ("animals.csv", animals)]);
    let supports: Vec<&str> =
        survey.anchors.iter().filter_map(|row| row.support).map(|name| survey.text(name)).collect();
    assert_eq!(supports, ["litter"; 4]);
    let told = of(&faults, Code::TakenAsOne);
    assert_eq!(told.len(), 3, "supports, females and males: {told:?}");
    assert!(told.iter().all(|fault| fault.severity == Severity::Note));
    assert!(of(&faults, Code::NearTwin).is_empty(), "{faults:?}");
}

#[test]
fn outer_blanks_are_dropped_and_told_once() {
    let rows = format!("{HEADING}A,0,,,1,log\nA, 1,2,30,1,log \nA ,2,2,30,1,log\n");
    let (survey, faults) = checked(&[("anchors.csv", &rows)]);
    let names: Vec<&str> = survey.anchors.iter().map(|row| survey.text(row.trail)).collect();
    assert_eq!(names, ["A"; 3]);
    let told = of(&faults, Code::OuterBlanks);
    assert!(!told.is_empty() && told.len() <= 3, "once a column: {told:?}");
    assert!(of(&faults, Code::NearTwin).is_empty(), "{faults:?}");
}

/// The demo, and anchors numbered as people number them.
#[test]
fn ordinary_names_are_no_twins() {
    let (_, faults) = read(Path::new("demo/dormice"));
    for code in [Code::NearTwin, Code::TakenAsOne, Code::OuterBlanks, Code::FirstTape] {
        assert!(of(&faults, code).is_empty(), "{:?}", of(&faults, code));
    }
    let mut rows = format!("{HEADING}T1,0,,,1,\n");
    (1..=120).for_each(|anchor| rows += &format!("T1,{anchor},2,{anchor},1,\n"));
    (1..=12).for_each(|trail| rows += &format!("D{trail:02},0,,,1,\nD{trail:02},1,2,3,1,\n"));
    let (_, faults) = checked(&[("anchors.csv", &rows)]);
    assert!(of(&faults, Code::NearTwin).is_empty(), "{:?}", of(&faults, Code::NearTwin));
}
