//! Workbooks read as surveys: the same tables, the same faults as from text, each with its cell;
//! and every workbook that is none.

#![expect(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

use calamine::{Reader, Xlsx, open_workbook_from_rs};
use perchline::fault::{Code, Fault, Faults, Severity};
use perchline::input::source::read_survey;
use perchline::input::workbook::read_workbook;
use perchline::survey::Survey;
use perchline::survey::settings::Settings;
use proptest::prelude::{any, prop, prop_assert, proptest};
use rust_xlsxwriter::{Chart, ChartType, ExcelDateTime, Format, Formula, Workbook, Worksheet};
use serde_json::Value;
use std::fs;
use std::io::{Cursor, Write};
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};
use tempfile::TempDir;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// A workbook of these sheets, each a list of rows; every cell is text.
fn workbook(sheets: &[(&str, &str)]) -> Vec<u8> {
    let mut book = Workbook::new();
    for (name, rows) in sheets {
        fill(book.add_worksheet().set_name(*name).unwrap(), rows, false);
    }
    book.save_to_buffer().unwrap()
}

/// Writes rows of a file of text into a sheet, numbers as numbers if asked.
fn fill(sheet: &mut Worksheet, rows: &str, numbers: bool) {
    let mut reader =
        csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(rows.as_bytes());
    for (row, record) in (0_u32..).zip(reader.records()) {
        for (column, cell) in (0_u16..).zip(record.unwrap().iter()) {
            match cell.parse::<f64>() {
                _ if cell.is_empty() => {}
                Ok(number) if numbers => drop(sheet.write_number(row, column, number).unwrap()),
                _ => drop(sheet.write_string(row, column, cell).unwrap()),
            }
        }
    }
}

fn folder(files: &[(&str, &[u8])]) -> TempDir {
    let folder = TempDir::new().unwrap();
    for (name, bytes) in files {
        fs::write(folder.path().join(name), bytes).unwrap();
    }
    folder
}

fn read(path: &Path, set: &[(&str, &str)]) -> (Survey, Faults) {
    let set: Vec<_> = set.iter().map(|(key, value)| ((*key).into(), (*value).into())).collect();
    read_survey(path, &set).unwrap()
}

/// The survey in a folder with this workbook alone.
fn survey_of(bytes: &[u8]) -> (Survey, Faults) {
    read(folder(&[("survey.xlsx", bytes)]).path(), &[])
}

fn only(faults: &Faults) -> Fault {
    let sorted = faults.sorted();
    assert_eq!(sorted.len(), 1, "{sorted:#?}");
    let fault = sorted[0].clone();
    assert!(!fault.found.is_empty() && !fault.expected.is_empty() && !fault.hint.is_empty());
    fault
}

fn expect(faults: &Faults, code: Code, severity: Severity, phrase: &str) -> Fault {
    let fault = only(faults);
    assert_eq!((fault.code, fault.severity), (code, severity), "{fault:?}");
    assert_eq!(fault.place.phrase(), phrase);
    fault
}

/// A sheet of anchors into which a test writes its own cells.
fn anchors(write: impl FnOnce(&mut Worksheet)) -> Vec<u8> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet().set_name("anchors").unwrap();
    fill(sheet, "trail,anchor,tape_m,height_m,time,note\nA,0,,1,,\nA,1,2.5,1.5,,\n", true);
    write(sheet);
    book.save_to_buffer().unwrap()
}

const DEMO: [&str; 6] = ["anchors", "ties", "controls", "trails", "animals", "available"];

fn demo(survey: &str, table: &str) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    fs::read_to_string(root.join(survey).join(format!("{table}.csv"))).unwrap_or_default()
}

/// The demo as one workbook, with numbers as numbers or all as text.
fn demo_workbook(survey: &str, numbers: bool) -> Vec<u8> {
    let mut book = Workbook::new();
    for table in DEMO {
        let rows = demo(survey, table);
        if !rows.is_empty() {
            fill(book.add_worksheet().set_name(table).unwrap(), &rows, numbers);
        }
    }
    book.save_to_buffer().unwrap()
}

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

#[test]
fn dates_and_times_of_a_spreadsheet_are_dates_and_times() {
    let bytes = anchors(|sheet| {
        let clock = Format::new().set_num_format("hh:mm");
        let moment = Format::new().set_num_format("yyyy-mm-dd hh:mm");
        sheet.write_number_with_format(1, 4, 0.236_111_111_111_111, &clock).unwrap();
        let evening = ExcelDateTime::from_ymd(2026, 6, 30).unwrap().and_hms(21, 40, 0).unwrap();
        sheet.write_datetime_with_format(2, 4, &evening, &moment).unwrap();
    });
    let (survey, faults) = survey_of(&bytes);
    assert!(faults.is_empty(), "{:#?}", faults.sorted());
    assert_eq!(survey.grids.anchors.cell(0, 4), "05:40");
    assert_eq!(survey.grids.anchors.cell(1, 4), "2026-06-30 21:40");
    assert!(survey.anchors.iter().all(|anchor| anchor.time.is_some()));
}

#[test]
fn dates_counted_from_1904_are_read_as_such() {
    let bytes = anchors(|sheet| {
        let day = Format::new().set_num_format("yyyy-mm-dd");
        sheet.write_number_with_format(1, 5, 34_519.0, &day).unwrap();
    });
    let bytes = edited(&bytes, "xl/workbook.xml", |xml| {
        xml.replace("<workbookPr", "<workbookPr date1904=\"1\"")
    });
    let (survey, _) = survey_of(&bytes);
    assert_eq!(survey.grids.anchors.cell(0, 5), "1998-07-05");
}

#[test]
fn cells_that_are_no_reading_are_told_with_their_names() {
    let at_c3 = "survey.xlsx, sheet anchors, row 3, column tape_m, cell C3";
    let error = anchors(|sheet| {
        sheet.write_formula(2, 2, Formula::new("=1/0").set_result("#DIV/0!")).unwrap();
    });
    let error =
        edited(&error, "xl/worksheets/sheet1.xml", |xml| xml.replace("t=\"str\"", "t=\"e\""));
    let (_, faults) = survey_of(&error);
    assert_eq!(expect(&faults, Code::ErrorValue, Severity::Error, at_c3).found, "#DIV/0!");

    let formula = anchors(|sheet| {
        sheet.write_formula(2, 2, Formula::new("=1+1.5").set_result("2.5")).unwrap();
    });
    let (survey, faults) = survey_of(&formula);
    assert!(faults.is_empty(), "{:#?}", faults.sorted());
    assert_eq!(survey.grids.anchors.cell(1, 2), "2.5", "by its stored value");
    let bare =
        edited(&formula, "xl/worksheets/sheet1.xml", |xml| xml.replace("<v>2.5</v></c>", "</c>"));
    assert!(bare != formula);
    let (_, faults) = survey_of(&bare);
    let sorted = faults.sorted();
    let fault = sorted.iter().find(|fault| fault.code == Code::FormulaWithoutValue);
    assert_eq!(fault.unwrap().place.phrase(), at_c3);

    let date = anchors(|sheet| {
        let day = Format::new().set_num_format("d. mmm");
        sheet.write_number_with_format(2, 2, 46_000.0, &day).unwrap();
    });
    let (_, faults) = survey_of(&date);
    expect(&faults, Code::TurnedIntoDate, Severity::Error, at_c3);
    let name = anchors(|sheet| {
        let day = Format::new().set_num_format("d. mmm");
        sheet.write_number_with_format(2, 1, 46_000.0, &day).unwrap();
    });
    let (survey, faults) = survey_of(&name);
    let phrase = "survey.xlsx, sheet anchors, row 3, column anchor, cell B3";
    expect(&faults, Code::TurnedIntoDate, Severity::Warning, phrase);
    assert_eq!(survey.anchors.len(), 2);

    let long = anchors(|sheet| {
        sheet.write_string(2, 5, "x".repeat(32_000)).unwrap();
    });
    assert!(survey_of(&long).1.is_empty(), "a spreadsheet holds no longer text");
}

#[test]
fn numbers_kept_as_text_are_read_and_told_once_a_column() {
    let rows = "trail,anchor,tape_m,height_m\nA,0,,1\nA,1,\"2,5\",1.5\nA,2,\"1,234\",2\n";
    let (survey, faults) = survey_of(&workbook(&[("anchors", rows)]));
    let sorted = faults.sorted();
    let told: Vec<_> = sorted.iter().map(|fault| (fault.code, fault.place.phrase())).collect();
    let phrase = |row, column, cell| {
        format!("survey.xlsx, sheet anchors, row {row}, column {column}, cell {cell}")
    };
    assert_eq!(
        told,
        [
            (Code::NumberAsText, phrase(2, "height_m", "D2")),
            (Code::NumberAsText, phrase(3, "tape_m", "C3")),
        ]
    );
    assert!(sorted[0].found.contains("3 cells"));
    let tapes: Vec<_> =
        survey.anchors.iter().map(|a| a.readings.tape.map(|t| t.to_metres())).collect();
    assert_eq!(tapes, [None, Some(2.5), Some(1.234)]);
}

#[test]
fn cells_beside_the_table_and_merged_cells_are_told() {
    let beside = anchors(|sheet| {
        sheet.write_number(2, 9, 17).unwrap();
    });
    let (survey, faults) = survey_of(&beside);
    expect(&faults, Code::RaggedRow, Severity::Error, "survey.xlsx, sheet anchors, row 3, cell J3");
    assert_eq!(survey.anchors.len(), 2);
    let merged = anchors(|sheet| {
        sheet.merge_range(1, 5, 2, 5, "both", &Format::new()).unwrap();
    });
    let (_, faults) = survey_of(&merged);
    let phrase = "survey.xlsx, sheet anchors, row 2, cell F2";
    let fault = expect(&faults, Code::MergedCells, Severity::Warning, phrase);
    assert!(fault.found.starts_with("F2 to F3"));
    let title = anchors(|sheet| {
        sheet.merge_range(20, 20, 25, 25, "", &Format::new()).unwrap();
    });
    assert!(survey_of(&title).1.is_empty(), "outside the table");
}

#[test]
fn a_table_may_stand_anywhere_in_its_sheet() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet().set_name("anchors").unwrap();
    sheet.write_string(1, 3, "# a remark").unwrap();
    for (at, heading) in (0_u16..).zip(["trail", "anchor", "tape_m"]) {
        sheet.write_string(3, 28 + at, heading).unwrap();
    }
    sheet.write_string(5, 28, "A").unwrap();
    sheet.write_boolean(5, 29, true).unwrap();
    sheet.write_string(5, 30, "12..5").unwrap();
    let (survey, faults) = survey_of(&book.save_to_buffer().unwrap());
    let phrase = "survey.xlsx, sheet anchors, row 6, column tape_m, cell AE6";
    expect(&faults, Code::UnreadableNumber, Severity::Error, phrase);
    assert_eq!(survey.grids.anchors.cell(0, 1), "true");
}

#[test]
fn own_headings_are_mapped_and_their_cells_judged() {
    let rows = "linha,ponto,trena\nA,0,\nA,1,2.5\nA,2,-3\n";
    let map = "[columns]\ntrail = 'linha'\nanchor = 'ponto'\ntape_m = 'trena'\n";
    let bytes = workbook(&[("anchors", rows)]);
    let there = folder(&[("survey.xlsx", &bytes), ("survey.toml", map.as_bytes())]);
    let (survey, faults) = read(there.path(), &[]);
    assert_eq!(survey.anchors.len(), 3);
    let told: Vec<_> = faults.sorted().iter().map(|f| (f.code, f.place.phrase())).collect();
    let phrase = |row, column, cell| {
        format!("survey.xlsx, sheet anchors, row {row}, column {column}, cell {cell}")
    };
    // as it was written, under the user's own heading; and as it is read, under the mapped one
    let as_text = (Code::NumberAsText, phrase(3, "trena", "C3"));
    assert_eq!(told, [as_text, (Code::OutOfRange, phrase(4, "tape_m", "C4"))]);
}

const SOUND: &str = "trail,anchor,tape_m\nA,0,\nA,1,x\n";

#[test]
fn sheets_that_are_missing_or_misnamed_are_told() {
    let (_, faults) = survey_of(&workbook(&[("Sheet1", SOUND), ("plots", SOUND)]));
    let anchors = "survey.xlsx, sheet anchors";
    let fault = expect(&faults, Code::MissingTable, Severity::Error, anchors);
    assert!(fault.found.contains("Sheet1, plots"));
    let (_, faults) = survey_of(&workbook(&[("Anchor ", SOUND)]));
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

/// A packed file of these parts.
fn packed(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in parts {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// A workbook with one part changed.
fn edited(bytes: &[u8], part: &str, edit: impl FnOnce(String) -> String) -> Vec<u8> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).unwrap();
    let names: Vec<String> = archive.file_names().map(|name| name.unwrap().into_owned()).collect();
    let mut edit = Some(edit);
    let parts: Vec<(String, Vec<u8>)> = names
        .into_iter()
        .map(|name| {
            let mut bytes = Vec::new();
            std::io::copy(&mut archive.by_name(&name).unwrap(), &mut bytes).unwrap();
            if name == part {
                let text = String::from_utf8(bytes).unwrap();
                bytes = edit.take().unwrap()(text).into_bytes();
            }
            (name, bytes)
        })
        .collect();
    assert!(edit.is_none(), "no part {part}");
    let parts: Vec<(&str, &[u8])> =
        parts.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice())).collect();
    packed(&parts)
}

/// An `.ods` workbook with these rows in its sheet of anchors.
fn ods(rows: &str) -> Vec<u8> {
    let manifest = "<manifest:manifest xmlns:manifest=\"m\"><manifest:file-entry \
        manifest:full-path=\"/\" \
        manifest:media-type=\"application/vnd.oasis.opendocument.spreadsheet\"/>\
        </manifest:manifest>";
    let head: String = ["trail", "anchor", "tape_m", "note"]
        .map(|heading| format!("<table:table-cell><text:p>{heading}</text:p></table:table-cell>"))
        .concat();
    let content = format!(
        "<office:document-content xmlns:office=\"o\" xmlns:table=\"t\" xmlns:text=\"x\" \
         xmlns:calcext=\"c\"><office:body><office:spreadsheet><table:table \
         table:name=\"anchors\"><table:table-row>{head}</table:table-row>{rows}</table:table>\
         </office:spreadsheet></office:body></office:document-content>"
    );
    packed(&[("META-INF/manifest.xml", manifest.as_bytes()), ("content.xml", content.as_bytes())])
}

#[test]
fn cells_of_an_ods_workbook_are_read_with_their_repeats_and_without_their_remarks() {
    let text = |text: &str| {
        format!("<table:table-cell office:value-type=\"string\">{text}</table:table-cell>")
    };
    let rows = [
        "<table:table-row table:number-rows-repeated=\"3\"><table:table-cell \
         table:number-columns-repeated=\"16384\"/></table:table-row>"
            .to_owned(),
        format!(
            "<table:table-row>{}{}<table:table-cell/>{}</table:table-row>",
            text(
                "<office:annotation><text:p>a remark</text:p></office:annotation><text:p>A</text:p>"
            ),
            text("<text:p>1&amp;2</text:p>"),
            text(
                "<text:p>two<text:s text:c=\"2\"/>words</text:p><text:p>and &lt;lines&gt;</text:p>"
            ),
        ),
        format!(
            "<table:table-row>{}<table:table-cell office:value-type=\"float\" \
             office:value=\"7\"><text:p>7.0</text:p></table:table-cell><table:table-cell \
             office:value-type=\"string\" calcext:value-type=\"error\"><text:p>#DIV/0!</text:p>\
             </table:table-cell></table:table-row>",
            text("<text:p>A</text:p>")
        ),
        format!(
            "<table:table-row>{}<table:table-cell office:value-type=\"date\" \
             office:date-value=\"2026-06-30T21:40:00\"/><table:table-cell \
             office:value-type=\"time\" office:time-value=\"PT05H40M00S\"/></table:table-row>",
            text("<text:p>A</text:p>")
        ),
    ]
    .concat();
    let (survey, faults) = read(folder(&[("s.ods", &ods(&rows))]).path(), &[]);
    let grid = &survey.grids.anchors;
    assert_eq!((grid.cell(0, 1), grid.cell(0, 3)), ("1&2", "two  words\nand <lines>"));
    assert_eq!((grid.row(0), grid.cell(1, 1)), (5, "7"));
    let told: Vec<_> = faults.sorted().iter().map(|f| (f.code, f.place.cell.clone())).collect();
    let cell = |name: &str| Some(name.into());
    assert_eq!(
        told,
        [
            (Code::ErrorValue, cell("C6")),
            (Code::TurnedIntoDate, cell("B7")),
            (Code::TurnedIntoDate, cell("C7")),
        ]
    );
    let fault = faults.sorted()[2].found.clone();
    assert_eq!(fault, "the date or time 05:40");
}

#[test]
fn workbooks_that_are_none_are_told_apart() {
    let good = workbook(&[("anchors", SOUND)]);
    let compound = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1".to_vec();
    let wide = |text: &str| text.encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<u8>>();
    let locked = [compound.clone(), vec![0; 600], wide("EncryptedPackage")].concat();
    let list = "<m xmlns:manifest=\"m\"><manifest:file-entry manifest:full-path=\"content.xml\">\
                <manifest:encryption-data/></manifest:file-entry></m>";
    let locked_ods =
        packed(&[("META-INF/manifest.xml", list.as_bytes()), ("content.xml", b"\x01")]);
    let cases: [(&[u8], &str); 9] = [
        (b"", "no workbook, or a damaged one"),
        (b"trail,anchor\nA,0\n", "no workbook, or a damaged one"),
        (&good[..good.len() / 2], "no workbook, or a damaged one"),
        (&good[..good.len() - 1], "no workbook, or a damaged one"),
        (&packed(&[("word/document.xml", b"<a/>")]), "a packed file that is no workbook"),
        (&compound, "a workbook of the old kind"),
        (&locked, "locked with a password"),
        (&locked_ods, "locked with a password"),
        (&edited(&good, "xl/worksheets/sheet1.xml", |xml| xml[..xml.len() / 2].into()), "damaged"),
    ];
    for (bytes, found) in cases {
        let (survey, faults) = survey_of(bytes);
        let fault = expect(&faults, Code::UnreadableFile, Severity::Error, "survey.xlsx");
        assert!(fault.found.contains(found), "{}: {}", found, fault.found);
        assert!(survey.anchors.is_empty());
    }
}

#[test]
fn what_unpacks_to_more_than_its_limit_is_refused_until_it_is_raised() {
    let there = folder(&[("survey.xlsx", &workbook(&[("anchors", "trail,anchor\nA,0\n")]))]);
    let (_, faults) = read(there.path(), &[("limits.unpacked_bytes", "2000")]);
    let fault = expect(&faults, Code::FileTooLarge, Severity::Error, "survey.xlsx");
    assert!(fault.hint.contains("--set limits.unpacked_bytes="));
    assert!(read(there.path(), &[("limits.unpacked_bytes", "200000")]).1.is_empty());
    let (_, faults) = read(there.path(), &[("limits.rows", "1")]);
    assert!(faults.is_empty());
    let two = workbook(&[("anchors", "trail,anchor\nA,0\nA,1\n")]);
    let (survey, faults) = read(folder(&[("s.xlsx", &two)]).path(), &[("limits.rows", "1")]);
    expect(&faults, Code::TooManyRows, Severity::Error, "s.xlsx, sheet anchors, row 3");
    assert!(survey.anchors.is_empty());
}

/// Runs `check` on a workbook within so many megabytes of memory, and returns the only error.
#[cfg(unix)]
fn checked_within(megabytes: usize, name: &str, bytes: &[u8]) -> (Value, Duration) {
    let there = folder(&[(name, bytes)]);
    let start = Instant::now();
    let within = format!("ulimit -v {}; exec \"$0\" \"$@\"", megabytes * 1024);
    let output = Command::new("sh")
        .args(["-c", &within, env!("CARGO_BIN_EXE_perchline"), "check", name, "--json"])
        .args(["--set", "limits.unpacked_bytes=30000000"])
        .current_dir(there.path())
        .output()
        .unwrap();
    let took = start.elapsed();
    let errors = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{errors}");
    let result: Value = serde_json::from_slice(&output.stdout).unwrap();
    let faults = result["faults"].as_array().unwrap();
    let errors: Vec<&Value> = faults.iter().filter(|f| f["severity"] == "error").collect();
    assert_eq!(errors.len(), 1, "{errors:#?}");
    (errors[0].clone(), took)
}

/// Each of these takes a careless reader gigabytes of memory, or more than a machine has.
#[cfg(unix)]
#[test]
fn workbooks_that_would_fill_the_memory_are_refused_in_little_of_it() {
    let small = workbook(&[("anchors", "trail,anchor\nA,0\n")]);
    let sheet = "xl/worksheets/sheet1.xml";
    let far = edited(&small, sheet, |xml| {
        let cell = "<row r=\"1048576\"><c r=\"XFD1048576\"><v>1</v></c></row></sheetData>";
        xml.replace("</sheetData>", cell)
    });
    let rows = "<row><c><v>1</v></c></row>".repeat(1_200_000);
    let many = edited(&small, sheet, |xml| xml.replace("</sheetData>", &rows));
    drop(rows);
    let strings = format!("<sst>{}</sst>", "<si/>".repeat(2_100_000));
    let shared = edited(&small, "xl/sharedStrings.xml", |_| strings);
    let one = format!("<sst><si><t>{}</t></si></sst>", "x".repeat(20_000_000));
    let long = edited(&small, "xl/sharedStrings.xml", |_| one);
    let cell = "<table:table-cell office:value-type=\"string\" \
                table:number-columns-repeated=\"1000000\"><text:p>A</text:p></table:table-cell>";
    let wide = ods(&format!("<table:table-row>{cell}</table:table-row>"));
    let tall = ods(&format!(
        "<table:table-row table:number-rows-repeated=\"1000000000\">{}</table:table-row>",
        cell.replace("1000000", "1")
    ));
    for (name, bytes, code) in [
        ("far.xlsx", far, "ragged_row"),
        ("many.xlsx", many, "file_too_large"),
        ("shared.xlsx", shared, "file_too_large"),
        ("long.xlsx", long, "file_too_large"),
        ("wide.ods", wide, "not_a_survey"),
        ("tall.ods", tall, "too_many_rows"),
    ] {
        assert!(bytes.len() < 2_000_000, "{name}: {}", bytes.len());
        let (fault, took) = checked_within(150, name, &bytes);
        assert_eq!(fault["code"], code, "{name}: {fault}");
        // within 2 s where the program is built to be used; here it is built to be tested
        assert!(took < Duration::from_secs(40), "{name}: {took:?}");
    }
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

/// The parts of a workbook as they are, not squeezed, so that a spoilt byte reaches what reads it.
fn unsqueezed(bytes: &[u8]) -> Vec<u8> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for at in 0..archive.len() {
        let mut part = archive.by_index(at).unwrap();
        let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
        zip.start_file(part.name().unwrap().into_owned(), stored).unwrap();
        std::io::copy(&mut part, &mut zip).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

proptest! {
    #[test]
    fn a_spoilt_workbook_is_read_without_panic(
        is_ods in any::<bool>(),
        spoils in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
    ) {
        let cell = "<table:table-row><table:table-cell office:value-type=\"float\" \
                    office:value=\"7\"/></table:table-row>";
        let book = if is_ods { ods(cell) } else { workbook(&[("anchors", SOUND)]) };
        let mut bytes = unsqueezed(&book);
        for (at, byte) in spoils {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        let mut faults = Faults::default();
        let grids = read_workbook("s.xlsx", &bytes, &Settings::default(), &mut faults);
        prop_assert!(!grids.anchors.headings().is_empty());
    }
}
