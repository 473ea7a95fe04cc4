//! Names that are paths, formulas, markup, endless, or reserved elsewhere: text everywhere, and no
//! file of theirs outside the results.

use csv::Reader;
use serde_json::Value;
use std::fs;

use crate::run;
use run::{GOOD, contents, perchline, survey};

/// Names that a survey may give to trails, animals and supports.
fn hostile() -> Vec<String> {
    let mut names: Vec<String> = [
        "../../outside",
        "/etc/passwd",
        "a/b\\c",
        "..",
        "CON",
        "nul.txt",
        "=1+1",
        "+2",
        "-3",
        "@sum",
        "<script>alert(1)</script>",
        "&amp;",
        "\"quoted\", and 'so'",
        "%s%n",
        "{{7*7}}",
        "a;b|c",
        "~",
        "\u{202e}desrever",
        "עכבר",
        "🐿",
        "e\u{301}",
        "$(touch it)",
        "name with  blanks",
        "]]>",
    ]
    .map(str::to_owned)
    .to_vec();
    names.push("long".repeat(2500));
    names
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

#[test]
fn a_name_is_text_and_no_file_of_its_own() {
    let names = hostile();
    let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,height_m,support\n");
    let mut trails = String::from("trail,animal\n");
    let mut animals = String::from("animal,sex\n");
    for (at, name) in names.iter().map(|name| quoted(name)).enumerate() {
        anchors += &format!("{name},{name},,,1,{name}\n{name},1,3.1,20,0.1,{name}\n");
        trails += &format!("{name},{name}\n");
        animals += &format!("{name},{}\n", ["f", "m"][at % 2]);
    }
    let folder = survey(GOOD);
    for (table, text) in [("anchors", &anchors), ("trails", &trails), ("animals", &animals)] {
        fs::write(folder.path().join(format!("survey/{table}.csv")), text).unwrap();
    }
    let output = perchline(folder.path(), &["rebuild", "survey", "--draws", "20"]);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{said}");

    let results = folder.path().join("survey-results");
    let files: Vec<String> = contents(folder.path()).into_keys().collect();
    let own = ["survey", "survey/anchors.csv", "survey/trails.csv", "survey/animals.csv"];
    let strange: Vec<&String> = files
        .iter()
        .filter(|file| !own.contains(&file.as_str()) && !file.starts_with("survey-results"))
        .collect();
    assert!(strange.is_empty(), "{strange:?}");
    assert!(files.iter().all(|file| file.is_ascii() && file.len() < 80), "{files:?}");

    let json: Value =
        serde_json::from_slice(&fs::read(results.join("results.json")).unwrap()).unwrap();
    let told: Vec<&str> = json["tables"]["trails"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| row["trail"].as_str().unwrap())
        .collect();
    let mut table = Reader::from_path(results.join("trails.csv")).unwrap();
    let cells: Vec<String> = table.records().map(|row| row.unwrap()[0].to_owned()).collect();
    assert_eq!((told.len(), cells.len()), (names.len(), names.len()));
    for (name, cell) in names.iter().zip(&cells) {
        let runs = name.starts_with(['=', '+', '-', '@']) && name.parse::<f64>().is_err();
        assert_eq!(*cell, format!("{}{name}", if runs { "'" } else { "" }));
        assert!(told.contains(&name.as_str()) || told.contains(&cell.as_str()), "{name}");
    }
    let report = fs::read_to_string(results.join("report.html")).unwrap();
    assert!(!report.contains("<script>alert") && report.contains("&lt;script&gt;alert"));
}

#[test]
fn a_control_character_in_a_name_is_an_error_with_its_place() {
    for bad in ["a\u{7}b", "line\nbreak", "\u{1b}[31m"] {
        let folder = survey(&format!("trail,anchor,height_m\n{},0,1\n", quoted(bad)));
        let output = perchline(folder.path(), &["check", "survey", "--json"]);
        assert_eq!(output.status.code(), Some(1), "{bad:?}");
        let result: Value = serde_json::from_slice(&output.stdout).unwrap();
        let codes: Vec<&str> = result["faults"]
            .as_array()
            .unwrap()
            .iter()
            .filter_map(|f| f["code"].as_str())
            .collect();
        assert!(codes.contains(&"control_character"), "{bad:?}: {codes:?}");
    }
}
