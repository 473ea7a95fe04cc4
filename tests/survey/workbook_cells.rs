//! Cells of workbooks: dates, formulas, numbers kept as text, merged cells; each fault with its cell.

use perchline::survey::fault::{Code, Severity};
use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook};

use crate::disk;
use crate::workbook;
use disk::{expect, folder, read};
use workbook::{anchors, edited, ods, survey_of, workbook};

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
