//! From a new survey through a spreadsheet program to the results: LibreOffice opens the workbook
//! that `new` writes, fills it, and saves it in both formats. `./test` runs these where it can.

use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

/// The program run in `folder`.
fn perchline(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_perchline"));
    command.args(arguments).current_dir(folder).output().unwrap()
}

/// What is typed into the new workbook: sheet, column by its heading, row, text.
const TYPED: &str = "\
anchors trail 2 01|anchors anchor 2 1|anchors height_m 2 1.05|anchors height_by 2 tape|\
anchors support 2 trunk|\
anchors trail 3 01|anchors anchor 3 1-2|anchors tape_m 3 3.1|anchors bearing_deg 3 20|\
anchors back_bearing_deg 3 200|anchors height_m 3 0.1|\
anchors trail 4 01|anchors anchor 4 3|anchors tape_m 4 =2.1+2.1|anchors bearing_deg 4 95|\
anchors height_m 4 0.2|anchors seen 4 yes|\
anchors trail 5 01|anchors anchor 5 4|anchors tape_m 5 2.8|anchors bearing_deg 5 170|\
anchors height_m 5 2.1|\
ties trail 2 01|ties from 2 1|ties to 2 3|ties tape_m 2 5.9|\
trails trail 2 01|trails animal 2 Moss|trails date 2 2026-06-30|\
trails start_time 2 2026-06-30 21:40|trails end_time 2 05:40|trails ending 2 found|\
animals animal 2 Moss|animals body_mass_g 2 128.5|animals attached 2 2026-06-30";

/// Sheet, cell and text, with the cell found by the heading of its column in the table of that name.
fn cell(typed: &str, fill: &Path) -> String {
    let parts: Vec<&str> = typed.splitn(4, ' ').collect();
    let [sheet, column, row, text] = parts.try_into().unwrap();
    let table = fs::read_to_string(fill.join(sheet).with_extension("csv")).unwrap();
    let heading = table.lines().find(|line| !line.starts_with(['#', '"'])).unwrap();
    let at = heading.split(',').position(|known| known == column).unwrap();
    let letter = char::from(b'A' + u8::try_from(at).unwrap());
    format!("{sheet}\t{letter}{row}\t{text}\n")
}

/// A new survey filled by LibreOffice, as `filled.xlsx` and `filled.ods` in `fill`.
fn filled() -> TempDir {
    let there = TempDir::new().unwrap();
    let output = perchline(there.path(), &["new", "fill", "--quiet"]);
    assert_eq!(output.status.code(), Some(0));
    let fill = there.path().join("fill");
    let cells: String = TYPED.split('|').map(|typed| cell(typed, &fill)).collect();
    fs::write(fill.join("cells.tsv"), cells).unwrap();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/spreadsheet/fill.py");
    // the system's own, for which LibreOffice's module is installed
    let output = Command::new("/usr/bin/python3").arg(script).arg(&fill).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    there
}

#[test]
#[ignore = "needs LibreOffice and its Python module: ./test installs both where it may"]
fn a_new_workbook_filled_by_a_spreadsheet_program_is_rebuilt() {
    let there = filled();
    let mut tables = Vec::new();
    for ending in ["xlsx", "ods"] {
        let name = format!("fill/filled.{ending}");
        let output = perchline(there.path(), &["check", &name, "--json"]);
        let result: Value = serde_json::from_slice(&output.stdout).unwrap();
        let faults: Vec<&Value> = result["faults"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|fault| fault["code"] != "empty_table") // controls and available are blank
            .collect();
        let told: Vec<&str> = faults.iter().map(|fault| fault["code"].as_str().unwrap()).collect();
        // no place is known, so north is magnetic without a model; the rest is as it was typed
        assert!(told.iter().all(|code| *code == "declination_unknown"), "{ending}: {faults:#?}");
        let set = ["--set", "bearings.north=true", "--out", ending, "--json"];
        let output = perchline(there.path(), &[&["rebuild", name.as_str()], &set[..]].concat());
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stdout));
        let results = there.path().join(ending);
        let read = |table: &str| fs::read_to_string(results.join(table)).unwrap();
        tables.push([read("legs.csv"), read("trails.csv"), read("sections.csv")]);
    }
    assert_eq!(tables[0], tables[1], "both formats give the same results");
    let [legs, trails, _] = &tables[0];
    assert_eq!(legs.lines().count(), 4);
    // names stay as they were typed: 01 is no number and 1-2 no date
    assert!(legs.lines().nth(1).unwrap().starts_with("01,Moss,"), "{legs}");
    assert!(legs.contains(",1,1-2,") && legs.contains(",1-2,3,"), "{legs}");
    let heading = trails.lines().next().unwrap().split(',');
    let at = |name: &str| heading.clone().position(|known| known == name).unwrap();
    let row: Vec<&str> = trails.lines().nth(1).unwrap().split(',').collect();
    // 21:40 to 05:40
    assert!((row[at("tracked_h")].parse::<f64>().unwrap() - 8.0).abs() < 1e-9, "{trails}");
    // 3.1 + (2.1 + 2.1, by a formula) + 2.8
    assert!((row[at("taped_length")].parse::<f64>().unwrap() - 10.1).abs() < 1e-9, "{trails}");
}

#[test]
#[ignore = "needs LibreOffice and its Python module: ./test installs both where it may"]
fn the_ranges_and_lists_of_a_new_workbook_are_seen_by_a_spreadsheet_program() {
    let there = filled();
    let flat = fs::read_to_string(there.path().join("fill/filled.fods")).unwrap();
    let rules: Vec<&str> = flat.split("<table:content-validation ").skip(1).collect();
    let rule = |meaning: &str| {
        let found = rules.iter().find(|rule| rule.contains(meaning));
        (*found.unwrap()).to_owned()
    };
    let bearing = rule("needle towards this anchor");
    assert!(bearing.contains("cell-content-is-between(0,360)"), "{bearing}");
    assert!(bearing.contains("message-type=\"stop\""), "400 is not let in: {bearing}");
    let method = rule("how the height was measured");
    assert!(method.contains("clinometer") && method.contains("display-list"), "{method}");
    let support = rule("what the thread lies on at this anchor");
    assert!(support.contains("$codes.$A$2"), "{support}");
    assert!(support.contains("message-type=\"warning\""), "another word may be meant: {support}");
    let notes = flat.matches("<office:annotation").count();
    assert!(notes > 40, "a note on each heading: {notes}");
}

#[test]
#[ignore = "needs pdftotext and pdfinfo: ./test installs both where it may"]
fn the_field_sheet_can_be_read_and_printed() {
    let there = TempDir::new().unwrap();
    for (paper, size) in [("a4", "595.276 x 841.89 pts (A4)"), ("letter", "612 x 792 pts (letter)")]
    {
        let output = perchline(there.path(), &["new", paper, "--paper", paper, "--quiet"]);
        assert_eq!(output.status.code(), Some(0));
        let pdf = there.path().join(paper).join("field-sheet.pdf");
        let said = |program: &str, more: &[&str]| {
            let output = Command::new(program).arg(&pdf).args(more).output().unwrap();
            assert!(output.status.success() && output.stderr.is_empty(), "{program}: {output:?}");
            String::from_utf8(output.stdout).unwrap()
        };
        let info = said("pdfinfo", &[]);
        assert!(info.contains(size) && info.contains("Pages:           1"), "{info}");
        let text = said("pdftotext", &["-layout", "-"]);
        for word in ["Field sheet", "back", "height by", "clinometer", "liana", "180°", "Permit"] {
            assert!(text.contains(word), "{word}: {text}");
        }
        let fonts = said("pdffonts", &[]);
        assert!(fonts.lines().skip(2).all(|font| font.contains("yes yes yes")), "{fonts}");
    }
}

#[test]
#[ignore = "needs pdftotext and pdfinfo: ./test installs both where it may"]
fn the_text_of_every_figure_can_be_taken_out_of_its_pdf() {
    let there = TempDir::new().unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/dormice");
    let demo = demo.to_str().unwrap();
    let output = perchline(there.path(), &["rebuild", demo, "--out", "r", "--draws", "20"]);
    assert_eq!(output.status.code(), Some(0));
    let expected = [
        ("plan", "95 % region against the release"),
        ("profile", "height above ground (m)"),
        ("groups", "net displacement (m)"),
        ("covariate", "body mass (g)"),
        ("supports", "diameter (cm)"),
        ("closure", "misclosure / expected misclosure"),
        ("strata", "mean of adults"),
    ];
    for (figure, words) in expected {
        let pdf = there.path().join(format!("r/figures/{figure}.pdf"));
        let said = |program: &str, more: &[&str]| {
            let output = Command::new(program).arg(&pdf).args(more).output().unwrap();
            assert!(output.status.success() && output.stderr.is_empty(), "{program}: {output:?}");
            String::from_utf8(output.stdout).unwrap()
        };
        let text = said("pdftotext", &["-layout", "-"]);
        assert!(text.contains(words), "{figure}: {text}");
        // 174 mm are 493.228 pt.
        assert!(said("pdfinfo", &[]).contains("493.228 x"), "{figure}");
        let fonts = said("pdffonts", &[]);
        assert!(fonts.lines().skip(2).all(|font| font.contains("yes yes yes")), "{fonts}");
    }
}
