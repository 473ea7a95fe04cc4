//! Workbooks read as surveys: the same tables and the same faults as from text.

use calamine::{Reader, Xlsx, open_workbook_from_rs};
use perchline::survey::fault::{Code, Fault, Faults, Severity};
use rust_xlsxwriter::{Chart, ChartType, Workbook};
use std::fs;
use std::io::Cursor;
use std::path::Path;
use std::process::Command;

use crate::disk;
use crate::workbook;
use disk::{expect, folder, read};
use workbook::{TWO_ANCHORS, demo_workbook, fill, survey_of, workbook};

#[test]
fn the_demo_reads_alike_from_text_and_from_a_workbook() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/dormice");
    let (text, of_text) = read(&root, &[]);
    let toml = fs::read(root.join("survey.toml")).unwrap();
    let there = folder(&[("survey.xlsx", &demo_workbook("dormice", true)), ("survey.toml", &toml)]);
    let (book, of_book) = read(there.path(), &[]);
    assert_eq!(of_text.sorted().len(), of_book.sorted().len(), "{:#?}", of_book.sorted());
    assert_eq!(text.anchors.len(), 621);
    // rows hold names as numbers in the order in which they were met, and readings as read
    assert_eq!(format!("{:?}", text.anchors), format!("{:?}", book.anchors));
    assert_eq!(format!("{:?}", text.ties), format!("{:?}", book.ties));
    assert_eq!(format!("{:?}", text.controls), format!("{:?}", book.controls));
    assert_eq!(format!("{:?}", text.trails), format!("{:?}", book.trails));
    assert_eq!(format!("{:?}", text.animals), format!("{:?}", book.animals));
    assert_eq!(format!("{:?}", text.available), format!("{:?}", book.available));
    let first = book.anchor_place(1, "tape_m");
    assert_eq!(first.phrase(), "survey.xlsx, sheet anchors, row 3, column tape_m, cell C3");
}

/// Of all faults that text can have a workbook has the same, in the same row and column.
#[test]
fn slips_of_the_pencil_are_found_alike_in_text_and_in_a_workbook() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/dormice-as-written");
    let toml = fs::read(root.join("survey.toml")).unwrap();
    let bytes = demo_workbook("dormice-as-written", false);
    let there = folder(&[("survey.xlsx", &bytes), ("survey.toml", &toml)]);
    let key = |fault: &&Fault| {
        let Fault { code, severity, place, .. } = fault;
        let table = place.sheet.as_deref().map(|sheet| format!("{sheet}.csv"));
        (table.unwrap_or(place.file.to_string()), place.row, place.column.clone(), *code, *severity)
    };
    // a workbook has no separators, and says that its numbers are text
    let own = [Code::NumberAsText, Code::OtherSeparator, Code::Windows1252, Code::CommentRow];
    let keys = |faults: &Faults| -> Vec<_> {
        let sorted = faults.sorted();
        let mut keys: Vec<_> = sorted.iter().filter(|f| !own.contains(&f.code)).map(key).collect();
        keys.sort();
        keys
    };
    let (_, of_text) = read(&root, &[]);
    let (_, of_book) = read(there.path(), &[]);
    assert!(keys(&of_text).len() > 3, "{:#?}", of_text.sorted());
    assert_eq!(keys(&of_text), keys(&of_book));
    assert!(of_book.sorted().iter().any(|fault| fault.code == Code::NumberAsText));
}

/// Another reader finds the same in the same cells.
#[test]
fn another_reader_finds_the_same_cells() {
    let bytes = demo_workbook("dormice", true);
    let (survey, _) = survey_of(&bytes);
    let mut book: Xlsx<_> = open_workbook_from_rs(Cursor::new(bytes.as_slice())).unwrap();
    let mut compared = 0;
    for (name, grid) in [
        ("anchors", Some(&survey.grids.anchors)),
        ("trails", survey.grids.trails.as_ref()),
        ("animals", survey.grids.animals.as_ref()),
    ] {
        let range = book.worksheet_range(name).unwrap();
        let grid = grid.unwrap();
        assert_eq!(range.height(), grid.len() + 1);
        for (row, column, cell) in range.used_cells().filter(|(row, ..)| *row > 0) {
            assert_eq!(cell.to_string(), grid.cell(row - 1, column), "{name} {row} {column}");
            compared += 1;
        }
    }
    assert!(compared > 5000, "{compared}");
}

#[test]
fn sheets_that_are_missing_or_misnamed_are_told() {
    let (_, faults) = survey_of(&workbook(&[("Sheet1", TWO_ANCHORS), ("plots", TWO_ANCHORS)]));
    let anchors = "survey.xlsx, sheet anchors";
    let fault = expect(&faults, Code::MissingTable, Severity::Error, anchors);
    assert!(fault.found.contains("Sheet1, plots"));
    let (_, faults) = survey_of(&workbook(&[("Anchor ", TWO_ANCHORS)]));
    let fault = expect(&faults, Code::MissingTable, Severity::Error, anchors);
    assert!(fault.found.contains("Anchor"));
    let sound = "trail,anchor\nA,0\n";
    let (_, faults) = survey_of(&workbook(&[("anchors", sound), ("Ties", "trail,from,to\n")]));
    expect(&faults, Code::MissingTable, Severity::Warning, "survey.xlsx, sheet ties");
    let (_, faults) = survey_of(&workbook(&[("anchors", "")]));
    expect(&faults, Code::EmptyTable, Severity::Error, anchors);
    let (_, faults) = survey_of(&workbook(&[("anchors", sound), ("ties", "trail,from,to\n")]));
    expect(&faults, Code::EmptyTable, Severity::Note, "survey.xlsx, sheet ties");
    let (_, faults) = survey_of(&workbook(&[("anchors", sound), ("codes", "support\nlog\n")]));
    assert!(faults.is_empty(), "{:#?}", faults.sorted());

    let mut book = Workbook::new();
    fill(book.add_worksheet().set_name("plots").unwrap(), sound, true);
    let mut chart = Chart::new(ChartType::Line);
    chart.add_series().set_values("plots!$B$2:$B$3");
    let sheet = book.add_chartsheet().set_name("anchors").unwrap();
    sheet.insert_chart(0, 0, &chart).unwrap();
    let (_, faults) = survey_of(&book.save_to_buffer().unwrap());
    let fault = expect(&faults, Code::NotASurvey, Severity::Error, anchors);
    assert_eq!(fault.found, "a chart");
}

#[test]
fn tables_stand_in_one_place_and_others_are_told() {
    let book = workbook(&[("anchors", "trail,anchor\nA,0\nA,1\n")]);
    let text: &[u8] = b"trail,anchor\nB,0\n";
    // text with rows comes first
    let (survey, faults) = read(folder(&[("anchors.csv", text), ("b.ods", &book)]).path(), &[]);
    expect(&faults, Code::TableNotRead, Severity::Note, "b.ods");
    assert_eq!(survey.anchors.len(), 1);
    // a new survey has both, and the tables as text are blank
    let blank: &[u8] = b"# a remark\ntrail,anchor\n";
    let (survey, faults) = read(folder(&[("anchors.csv", blank), ("b.xlsx", &book)]).path(), &[]);
    assert!(faults.is_empty(), "{:#?}", faults.sorted());
    assert_eq!(survey.anchors.len(), 2);
    let controls: &[u8] = b"control,latitude,longitude\nC,46,15\n";
    let there = folder(&[("controls.csv", controls), ("b.xlsx", &book), ("~$b.xlsx", b"lock")]);
    let (_, faults) = read(there.path(), &[]);
    expect(&faults, Code::TableNotRead, Severity::Warning, "controls.csv");
    // named itself, the workbook is all there is
    let (survey, faults) = read(&there.path().join("b.xlsx"), &[]);
    assert!(faults.is_empty() && survey.anchors.len() == 2);
    let (_, faults) = read(folder(&[("a.xlsx", &book), ("b.xlsx", &book)]).path(), &[]);
    let fault = expect(&faults, Code::MissingTable, Severity::Error, "anchors.csv");
    assert!(fault.found.contains("a.xlsx, b.xlsx"));
}

#[test]
fn results_of_a_workbook_go_beside_it_under_its_name() {
    let there = folder(&[("moss.xlsx", &demo_workbook("dormice", true))]);
    let run = |arguments: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_perchline"));
        command.args(arguments).current_dir(there.path()).output().unwrap()
    };
    let options = ["--draws", "0", "--trail", "D01", "--quiet"];
    let output = run(&[&["rebuild", "moss.xlsx"], &options[..]].concat());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stdout));
    assert!(there.path().join("moss-results/legs.csv").is_file());
    let onto_itself = ["rebuild", "moss.xlsx", "--out", "moss.xlsx"];
    assert_eq!(run(&onto_itself).status.code(), Some(2));
}
