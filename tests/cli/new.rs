//! A new survey: what its files say, that they agree, and where it may not be started.

use calamine::{Reader, Xlsx, open_workbook};
use perchline::survey::dictionary::TABLES;
use serde_json::Value;
use std::fs;
use std::io::Read;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;
use zip::ZipArchive;

/// The program run in `folder`.
fn perchline(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_perchline"));
    command.args(arguments).current_dir(folder).output().unwrap()
}

/// A new survey with these options.
fn new(options: &[&str]) -> TempDir {
    let there = TempDir::new().unwrap();
    let output = perchline(there.path(), &[&["new", "study"], options].concat());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    there
}

fn headings_of_text(there: &TempDir, table: &str) -> Vec<String> {
    let text = fs::read_to_string(there.path().join(format!("study/{table}.csv"))).unwrap();
    text.lines().last().unwrap().split(',').map(str::to_owned).collect()
}

#[test]
fn tables_and_workbook_have_the_same_headings() {
    for options in [
        &[][..],
        &["--columns", "tape_ft,bearing_point,height_ft,trails.nights,trails.rain_mm"],
        &["--columns=+plant,-from", "--columns=-animals.harm"],
    ] {
        let there = new(options);
        let mut book: Xlsx<_> = open_workbook(there.path().join("study/survey.xlsx")).unwrap();
        for table in TABLES {
            let range = book.worksheet_range(table.name).unwrap();
            let row = range.rows().next().unwrap().iter().map(ToString::to_string);
            assert_eq!(row.collect::<Vec<_>>(), headings_of_text(&there, table.name));
            assert_eq!(range.height(), 1, "no rows yet");
        }
    }
    let there = new(&["--columns", "tape_ft,bearing_point,height_ft,trails.rain_mm"]);
    let anchors = ["trail", "anchor", "tape_ft", "bearing_point", "height_ft"];
    assert_eq!(headings_of_text(&there, "anchors"), anchors);
    assert_eq!(headings_of_text(&there, "trails"), ["trail", "rain_mm"]);
}

/// Nothing to complain of but that there is nothing yet.
#[test]
fn a_new_survey_is_sound_as_soon_as_it_has_anchors() {
    let there = new(&["--quiet"]);
    let check = |arguments: &[&str]| {
        let output = perchline(there.path(), &[&["check"], arguments, &["--json"]].concat());
        let result: Value = serde_json::from_slice(&output.stdout).unwrap();
        let faults = result["faults"].as_array().unwrap().clone();
        let told = |severity: &str| {
            let of = faults.iter().filter(|fault| fault["severity"] == severity);
            of.map(|fault| fault["code"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
        };
        (told("error"), told("warning"))
    };
    assert_eq!(check(&["study"]), (vec!["empty_table".to_owned()], vec![]));
    let path = there.path().join("study/anchors.csv");
    let rows = fs::read_to_string(&path).unwrap()
        + "A,1,,,,,1,tape,trunk,,,,,,\nA,2,,2,20,200,1,,,trunk,,,,,\n";
    fs::write(&path, rows).unwrap();
    assert_eq!(check(&["study"]), (vec![], vec![]));
}

fn part(there: &TempDir, name: &str) -> String {
    let file = fs::File::open(there.path().join("study/survey.xlsx")).unwrap();
    let mut text = String::new();
    ZipArchive::new(file).unwrap().by_name(name).unwrap().read_to_string(&mut text).unwrap();
    text
}

#[test]
fn the_workbook_has_ranges_lists_remarks_and_frozen_headings() {
    let there = new(&["--codes", "support=moss,stone", "--columns=+plant", "--codes", "plant=fir"]);
    let anchors = part(&there, "xl/worksheets/sheet1.xml");
    let rules: Vec<&str> = anchors.split("<dataValidation ").skip(1).collect();
    let rule = |cell: &str| {
        let of = |rule: &&&str| rule.contains(&format!("sqref=\"{cell}2:{cell}10001\""));
        *rules.iter().find(of).unwrap()
    };
    let headings = headings_of_text(&there, "anchors");
    let column = |name: &str| {
        let at = headings.iter().position(|heading| heading == name).unwrap();
        char::from(b'A' + u8::try_from(at).unwrap()).to_string()
    };
    let bearing = rule(&column("bearing_deg"));
    assert!(bearing.contains("type=\"decimal\"") && bearing.contains("<formula2>360</formula2>"));
    assert!(!bearing.contains("errorStyle"), "400 is refused, not asked about: {bearing}");
    assert!(rule(&column("gap")).contains("lost,out_of_reach"));
    assert!(rule(&column("seen")).contains("yes,no"));
    assert!(rule(&column("support")).contains("errorStyle=\"warning\""));
    assert!(rule(&column("support")).contains("codes!$B$2"));
    assert!(rule(&column("plant")).contains("codes!$A$2"));
    assert!(anchors.contains("<pane xSplit=\"2\" ySplit=\"1\"") && anchors.contains("\"frozen\""));
    assert!(!anchors.contains("sheetProtection"));
    let remarks = part(&there, "xl/comments1.xml");
    assert_eq!(remarks.matches("<comment ").count(), headings.len());
    assert!(remarks.contains("here moss, stone"));
}

/// Turns alone know no north. The page itself was looked at; here, that it is one, that it has the
/// box, and that tables and workbook say where the one bearing goes.
#[test]
fn a_survey_by_turning_angles_has_room_for_one_bearing_and_says_why() {
    let bytes =
        |there: &TempDir, name: &str| fs::read(there.path().join("study").join(name)).unwrap();
    let turns = new(&["--columns=+turn_deg,-bearing_deg"]);
    let anchors = headings_of_text(&turns, "anchors");
    assert!(anchors.contains(&"turn_deg".to_owned()));
    assert!(!anchors.iter().any(|heading| heading.contains("bearing")), "{anchors:?}");
    assert!(headings_of_text(&turns, "ties").contains(&"bearing_deg".to_owned()));
    let why =
        "turning angles alone give a plan without a north: write the bearing of one leg into ties";
    assert!(String::from_utf8(bytes(&turns, "anchors.csv")).unwrap().contains(why));
    assert!(part(&turns, "xl/comments1.xml").contains(why));
    let both = new(&["--columns=+turn_deg"]);
    assert!(!String::from_utf8(bytes(&both, "anchors.csv")).unwrap().contains(why));
    for there in [&turns, &new(&[])] {
        let pdf = bytes(there, "field-sheet.pdf");
        assert_eq!(String::from_utf8_lossy(&pdf).matches("/Type /Page\n").count(), 1);
    }
}

#[test]
fn a_new_survey_asks_what_each_leg_lies_on() {
    let there = new(&[]);
    assert!(headings_of_text(&there, "anchors").contains(&"leg_support".to_owned()));
    let text = fs::read_to_string(there.path().join("study/anchors.csv")).unwrap();
    assert!(text.contains("all the way from the anchor before to here; blank: half"), "{text}");
}

#[test]
fn the_same_choice_gives_the_same_bytes() {
    let (one, two) = (new(&[]), new(&[]));
    for name in ["survey.xlsx", "field-sheet.pdf", "survey.toml", "anchors.csv", "animals.csv"] {
        let read = |there: &TempDir| fs::read(there.path().join("study").join(name)).unwrap();
        assert!(read(&one) == read(&two), "{name}");
    }
}

/// Every page has the anchor, and whatever is asked for has a place on some page.
#[test]
fn as_many_pages_as_the_columns_need() {
    let every: Vec<&str> = TABLES[0].columns.iter().map(|column| column.heading).collect();
    let there = new(&["--columns", &every.join(",")]);
    let pdf = fs::read(there.path().join("study/field-sheet.pdf")).unwrap();
    let text = String::from_utf8_lossy(&pdf);
    assert_eq!(text.matches("/Type /Page\n").count(), 3);
    assert!(pdf.len() < 150_000, "{}", pdf.len());
}

#[test]
fn a_new_survey_is_started_in_an_empty_place_only() {
    let there = TempDir::new().unwrap();
    let at = |name: &str| there.path().join(name);
    fs::create_dir(at("full")).unwrap();
    fs::write(at("full/.hidden"), "mine").unwrap();
    fs::write(at("file"), "mine").unwrap();
    for place in ["full", "file", "file/deeper"] {
        let output = perchline(there.path(), &["new", place]);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(matches!(output.status.code(), Some(2 | 3)), "{place}: {said}");
        assert!(said.contains(place.split('/').next().unwrap()), "{said}");
    }
    assert_eq!(fs::read(at("full/.hidden")).unwrap(), b"mine");
    assert_eq!(fs::read(at("file")).unwrap(), b"mine");
    assert_eq!(fs::read_dir(at("full")).unwrap().count(), 1);
    fs::create_dir(at("empty")).unwrap();
    for place in ["empty", "deeper/down"] {
        let output = perchline(there.path(), &["new", place, "--json"]);
        assert_eq!(output.status.code(), Some(0), "{place}");
        let result: Value = serde_json::from_slice(&output.stdout).unwrap();
        for file in result["files"].as_array().unwrap() {
            assert!(at(place).join(file.as_str().unwrap()).is_file(), "{place}: {file}");
        }
    }
    let output = perchline(there.path(), &["new", "other", "--columns", "bearing_dec,tape"]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(said.contains("did you mean bearing_deg?") && said.contains("tape"), "{said}");
    assert!(!at("other").exists());
}
