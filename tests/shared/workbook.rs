//! Workbooks made for a test: sheets of text, the demo, parts packed by hand.

use crate::disk::{folder, read};
use perchline::survey::Survey;
use perchline::survey::fault::Faults;
use rust_xlsxwriter::{Workbook, Worksheet};
use std::fs;
use std::io::{Cursor, Write};
use std::path::Path;
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

/// Two anchors, the second without a readable tape.
pub(crate) const TWO_ANCHORS: &str = "trail,anchor,tape_m\nA,0,\nA,1,x\n";

/// A workbook of these sheets, each a list of rows; every cell is text.
pub(crate) fn workbook(sheets: &[(&str, &str)]) -> Vec<u8> {
    let mut book = Workbook::new();
    for (name, rows) in sheets {
        fill(book.add_worksheet().set_name(*name).unwrap(), rows, false);
    }
    book.save_to_buffer().unwrap()
}

/// Writes rows of a file of text into a sheet, numbers as numbers if asked.
pub(crate) fn fill(sheet: &mut Worksheet, rows: &str, numbers: bool) {
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

/// The survey in a folder with this workbook alone.
pub(crate) fn survey_of(bytes: &[u8]) -> (Survey, Faults) {
    read(folder(&[("survey.xlsx", bytes)]).path(), &[])
}

/// A sheet of anchors into which a test writes its own cells.
pub(crate) fn anchors(write: impl FnOnce(&mut Worksheet)) -> Vec<u8> {
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
pub(crate) fn demo_workbook(survey: &str, numbers: bool) -> Vec<u8> {
    let mut book = Workbook::new();
    for table in DEMO {
        let rows = demo(survey, table);
        if !rows.is_empty() {
            fill(book.add_worksheet().set_name(table).unwrap(), &rows, numbers);
        }
    }
    book.save_to_buffer().unwrap()
}

/// A packed file of these parts.
pub(crate) fn packed(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in parts {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// A workbook with one part changed.
pub(crate) fn edited(bytes: &[u8], part: &str, edit: impl FnOnce(String) -> String) -> Vec<u8> {
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
pub(crate) fn ods(rows: &str) -> Vec<u8> {
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
