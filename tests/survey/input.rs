//! Surveys on disk: each fault that reading can find, each way of writing a table, each limit.

use perchline::survey::Survey;
use perchline::survey::dictionary::{ANCHORS, TIES};
use perchline::survey::fault::{Code, Faults, Severity};
use perchline::survey::grid::{Dialect, Grid};
use perchline::survey::input::csv::read_grid;
use perchline::survey::input::source::read_survey;
use proptest::prelude::{Just, Strategy, any, prop, prop_assert_eq, prop_oneof, proptest};
use std::fs;
use std::time::{Duration, Instant};

use crate::disk;
use disk::{expect, folder, read};

const SOUND: &str = "trail,anchor,tape_m\nBor,0,\nBor,1,2.5\n";

fn survey_of(files: &[(&str, &[u8])], set: &[(&str, &str)]) -> (Survey, Faults) {
    read(folder(files).path(), set)
}

fn grid_of(bytes: &[u8]) -> (Grid, Faults) {
    let mut faults = Faults::default();
    let grid = read_grid("anchors.csv", bytes, &ANCHORS, 1000, &mut faults);
    (grid, faults)
}

fn cells(grid: &Grid) -> Vec<Vec<String>> {
    let row = |index| (0..grid.headings().len()).map(move |at| grid.cell(index, at).to_owned());
    (0..grid.len()).map(|index| row(index).collect()).collect()
}

fn rows(grid: &Grid) -> Vec<usize> {
    (0..grid.len()).map(|index| grid.row(index)).collect()
}

#[test]
fn a_sound_survey_has_no_fault() {
    let settings = b"\xef\xbb\xbfname = 'Dormice of Bor'\n";
    let (survey, faults) =
        survey_of(&[("anchors.csv", SOUND.as_bytes()), ("survey.toml", settings)], &[]);
    assert!(faults.is_empty(), "{:#?}", faults.sorted());
    assert_eq!(survey.anchors.len(), 2);
    assert_eq!(survey.settings.name.as_deref(), Some("Dormice of Bor"));
}

#[test]
fn a_path_that_is_no_folder_is_no_survey() {
    let there = folder(&[("field.csv", b"")]);
    for name in ["nowhere", "field.csv", "field.csv/deeper"] {
        let path = there.path().join(name);
        let (_, faults) = read(&path, &[]);
        expect(&faults, Code::NotASurvey, Severity::Error, &path.display().to_string());
    }
}

#[test]
fn a_folder_in_place_of_a_table_is_no_survey() {
    let there = folder(&[("anchors.csv", SOUND.as_bytes())]);
    fs::create_dir(there.path().join("ties.csv")).unwrap();
    let (_, faults) = read(there.path(), &[]);
    expect(&faults, Code::NotASurvey, Severity::Error, "ties.csv");
}

#[test]
fn a_missing_table_of_anchors_is_an_error_and_a_look_alike_is_named() {
    let (_, faults) = survey_of(&[], &[]);
    expect(&faults, Code::MissingTable, Severity::Error, "anchors.csv");
    for name in ["Anchors.CSV", "anchors.txt", "anchor.csv", "anchors.csv.txt"] {
        let (_, faults) = survey_of(&[(name, SOUND.as_bytes())], &[]);
        let fault = expect(&faults, Code::MissingTable, Severity::Error, "anchors.csv");
        assert_eq!(fault.found, name);
    }
}

#[test]
fn any_other_table_may_be_missing_but_a_look_alike_is_warned_of() {
    let sound = ("anchors.csv", SOUND.as_bytes());
    let (_, faults) = survey_of(&[sound, ("Ties.csv", b"trail,from,to\n")], &[]);
    expect(&faults, Code::MissingTable, Severity::Warning, "ties.csv");
    let (_, faults) = survey_of(&[sound, ("trails.gpx", b""), ("survey.pdf", b"")], &[]);
    assert!(faults.is_empty());
    let (_, faults) = survey_of(&[sound, ("Survey.toml", b"name = 'Bor'")], &[]);
    expect(&faults, Code::UnreadableSettings, Severity::Warning, "survey.toml");
}

#[test]
fn settings_must_be_utf_8_and_short() {
    let sound = ("anchors.csv", SOUND.as_bytes());
    let (_, faults) = survey_of(&[sound, ("survey.toml", b"name = 'Bor'\nsite = 'Go\xe8e'")], &[]);
    expect(&faults, Code::UnreadableSettings, Severity::Error, "survey.toml, row 2");
    let long = vec![b'#'; (1 << 20) + 1];
    let (survey, faults) = survey_of(&[sound, ("survey.toml", &long)], &[("site", "'Bor'")]);
    expect(&faults, Code::FileTooLarge, Severity::Error, "survey.toml");
    assert_eq!(survey.settings.site.as_deref(), Some("Bor"));
}

#[test]
fn an_empty_table_is_an_error_only_where_it_is_needed() {
    for (empty, severity) in [
        ("", Severity::Warning),
        ("\n\n# nothing yet\n", Severity::Warning),
        ("trail,anchor\n", Severity::Note),
        ("trail,anchor\n , \n", Severity::Note),
    ] {
        let (_, faults) = survey_of(&[("anchors.csv", empty.as_bytes())], &[]);
        expect(&faults, Code::EmptyTable, Severity::Error, "anchors.csv");
        let (_, faults) =
            survey_of(&[("anchors.csv", SOUND.as_bytes()), ("ties.csv", empty.as_bytes())], &[]);
        expect(&faults, Code::EmptyTable, severity, "ties.csv");
    }
}

#[test]
fn a_file_beyond_the_limit_is_not_read() {
    let files: &[(&str, &[u8])] =
        &[("anchors.csv", SOUND.as_bytes()), ("survey.toml", b"limits.bytes = 30")];
    let (survey, faults) = survey_of(files, &[]);
    let fault = expect(&faults, Code::FileTooLarge, Severity::Error, "anchors.csv");
    assert!(fault.hint.contains("--set limits.bytes="));
    assert!(survey.anchors.is_empty());
    let (_, faults) = survey_of(files, &[("limits.bytes", "1000")]);
    assert!(faults.is_empty());
}

#[test]
fn rows_beyond_the_limit_are_not_read() {
    let files: &[(&str, &[u8])] = &[("anchors.csv", SOUND.as_bytes())];
    let (survey, faults) = survey_of(files, &[("limits.rows", "1")]);
    let fault = expect(&faults, Code::TooManyRows, Severity::Error, "anchors.csv, row 3");
    assert!(fault.hint.contains("--set limits.rows="));
    assert!(survey.anchors.is_empty());
    let (_, faults) = survey_of(files, &[("limits.rows", "2")]);
    assert!(faults.is_empty());
    let lines = b"# Bor\n\ntrail,anchor,note\n\n# x\nBor,0,\"a\nb\nc\"\n\nBor,1,\n,,\n# y\n";
    let (survey, faults) = survey_of(&[("anchors.csv", lines)], &[("limits.rows", "2")]);
    assert!(faults.is_empty(), "lines are no rows: {:?}", faults.sorted());
    assert_eq!(survey.anchors.len(), 2);
    let (_, faults) = survey_of(&[("anchors.csv", lines)], &[("limits.rows", "1")]);
    expect(&faults, Code::TooManyRows, Severity::Error, "anchors.csv, row 8");
}

#[test]
fn bytes_that_are_no_text_are_refused() {
    let utf_16 = b"\xff\xfet\0r\0a\0i\0l\0";
    for bytes in [&utf_16[..], b"\xfe\xff\0t", b"trail,\0", b"PK\x03\x04", b"trail\n\x9d\n"] {
        let (survey, faults) = survey_of(&[("anchors.csv", bytes)], &[]);
        expect(&faults, Code::NotText, Severity::Error, "anchors.csv");
        assert!(survey.anchors.is_empty());
    }
}

#[test]
fn a_cell_longer_than_any_note_is_an_error() {
    let text = format!("trail,anchor,note\nBor,0,\nBor,1,{}\n", "x".repeat(65_537));
    let (grid, faults) = grid_of(text.as_bytes());
    expect(&faults, Code::CellTooLong, Severity::Error, "anchors.csv, row 3, column note");
    assert_eq!(cells(&grid)[1], ["Bor", "1", ""]);
    let (_, faults) = grid_of(format!("trail\n{}\n", "x".repeat(65_536)).as_bytes());
    assert!(faults.is_empty());
}

#[test]
fn a_huge_cell_is_refused_quickly() {
    let text = format!("trail,anchor,note\nBor,0,\"{}\"", "x".repeat(100_000_000));
    let start = Instant::now();
    let (_, faults) = grid_of(text.as_bytes());
    expect(&faults, Code::CellTooLong, Severity::Error, "anchors.csv, row 2, column note");
    assert!(start.elapsed() < Duration::from_secs(60), "{:?}", start.elapsed());
}

#[test]
fn an_open_quote_is_reported_where_it_opened() {
    let text = "trail,anchor,note\nBor,0,\"two\nlines\"\nBor,1,\"beech\nBor,2,\nBor,3,\n";
    let (grid, faults) = grid_of(text.as_bytes());
    let place = "anchors.csv, row 3, column note";
    let fault = expect(&faults, Code::OpenQuote, Severity::Error, place);
    assert!(fault.found.starts_with("beech"));
    assert_eq!(rows(&grid), [2]);
    let (_, faults) = grid_of(b"trail,\"anchor\nBor,0\n");
    expect(&faults, Code::OpenQuote, Severity::Error, "anchors.csv, row 1");
    for closed in
        ["trail,note\nBor,\"x\"", "trail,note\nBor,\"x\"\n", "trail,note\nBor,\"\"\"\"\r\n"]
    {
        assert!(grid_of(closed.as_bytes()).1.is_empty(), "{closed}");
    }
}

#[test]
fn a_row_of_another_length_than_the_heading_is_an_error() {
    let (grid, faults) = grid_of(b"trail,anchor,tape_m\nBor,0\n");
    let fault = expect(&faults, Code::RaggedRow, Severity::Error, "anchors.csv, row 2");
    assert_eq!((fault.found.as_str(), fault.expected.as_str()), ("2 cells", "3 cells"));
    assert_eq!(cells(&grid), [["Bor", "0", ""]]);
    let (_, faults) = grid_of(b"trail,anchor,tape_m\nBor,0,1,5\n");
    let fault = expect(&faults, Code::RaggedRow, Severity::Error, "anchors.csv, row 2");
    assert!(fault.hint.contains("decimal comma"));
    let (_, faults) = grid_of(b"trail,anchor,tape_m\nBor,\"0\nBor,\"1\n");
    let fault = expect(&faults, Code::RaggedRow, Severity::Error, "anchors.csv, row 2");
    assert!(fault.hint.contains("not closed"));
    let (grid, faults) = grid_of(b"trail,anchor,tape_m\nBor,0,1.5,, ,\n");
    assert!(faults.is_empty());
    assert_eq!(cells(&grid), [["Bor", "0", "1.5"]]);
}

#[test]
fn a_table_out_of_all_shape_is_given_up() {
    let (_, faults) = grid_of("x,".repeat(1000).as_bytes());
    expect(&faults, Code::NotASurvey, Severity::Error, "anchors.csv, row 1");
    let mut faults = Faults::default();
    let text = format!("trail,from,to\n{}", "Bor\n".repeat(2000));
    let grid = read_grid("ties.csv", text.as_bytes(), &TIES, 10_000, &mut faults);
    let sorted = faults.sorted();
    let given_up = sorted.iter().find(|fault| fault.code == Code::NotASurvey).unwrap();
    assert_eq!((grid.len(), sorted.len(), given_up.place.row), (1000, 1001, Some(1001)));
}

#[test]
fn blank_rows_and_saved_comments_above_the_headings_are_passed_over() {
    let (grid, faults) = grid_of(b"\"# one row; an anchor\",\n,\n  \ntrail,anchor\nBor,#1\n");
    assert!(faults.is_empty(), "{:?}", faults.sorted());
    assert_eq!(cells(&grid), [["Bor", "#1"]]);
    assert_eq!(rows(&grid), [5]);
    let (_, faults) = grid_of(b"trail,anchor\nBor,0\n\"\n\n");
    expect(&faults, Code::OpenQuote, Severity::Error, "anchors.csv, row 3, column trail");
}

#[cfg(unix)]
#[test]
fn a_link_that_leads_nowhere_is_told() {
    let folder = tempfile::tempdir().unwrap();
    std::os::unix::fs::symlink("nowhere", folder.path().join("anchors.csv")).unwrap();
    let (_, faults) = read_survey(folder.path(), &[]).unwrap();
    expect(&faults, Code::UnreadableFile, Severity::Error, "anchors.csv");
}

#[test]
fn windows_1252_is_noted_where_it_first_matters() {
    let text = b"trail,anchor,plant\nBor,0,oak\n\n# \xb0\nBor,1,wild hru\x9aka\n";
    let (grid, faults) = grid_of(text);
    let fault = expect(&faults, Code::Windows1252, Severity::Note, "anchors.csv, row 5");
    assert_eq!(fault.found, "\u{b0}");
    assert_eq!(cells(&grid)[1], ["Bor", "1", "wild hruška"]);
    let (_, faults) = grid_of(b"trail,anchor,plant\nBor,0,wild hru\x9aka\n");
    let fault = expect(&faults, Code::Windows1252, Severity::Note, "anchors.csv, row 2");
    assert_eq!(fault.found, "hruška");
}

#[test]
fn semicolons_and_tabs_are_read_and_noted() {
    let comma = Dialect { decimal_comma: true, comma_proven: true };
    for (separator, word) in [(";", "semicolons"), ("\t", "tabs")] {
        let text = "trail;anchor;\"tape, or;less\";tape_m\nBor;0;1,5;\nBor;1;;2,75\n";
        let (grid, faults) = grid_of(text.replace(';', separator).as_bytes());
        let fault = expect(&faults, Code::OtherSeparator, Severity::Note, "anchors.csv");
        assert!(fault.found.contains(word) && fault.found.contains("decimal commas"));
        assert_eq!(cells(&grid)[1], ["Bor", "1", "", "2,75"]);
        assert_eq!(grid.dialect, comma);
    }
}

#[test]
fn only_a_number_in_a_column_of_numbers_proves_the_decimal_comma() {
    let proven = |text: &str| grid_of(text.as_bytes()).0.dialect.comma_proven;
    assert!(!proven("trail;anchor;tape_m\nBor;1,5;1,234\n"));
    assert!(proven("trail;anchor;tape_m\nBor;1;1,25\n"));
    assert!(!proven("trail,anchor,tape_m\nBor,1,\"1,25\"\n"));
    let table = b"trail;anchor;trak\nBor;0;\nBor;1;2,125\nBor;2;2,5\n";
    let settings = b"columns = { tape_m = \"trak\" }";
    let (survey, faults) = survey_of(&[("anchors.csv", table), ("survey.toml", settings)], &[]);
    expect(&faults, Code::OtherSeparator, Severity::Note, "anchors.csv");
    let tape = survey.anchors[1].readings.tape.unwrap().to_metres();
    assert!((tape - 2.125).abs() < 1e-12);
}

#[test]
fn rows_are_numbered_as_in_a_spreadsheet() {
    let text = "\u{feff}trail, anchor ,note\nBor,0,\"one\ntwo\r\nthree\"\n\n# a \"comment, of field\n\
                #,another\nBor,1,\n,,\n   \nBor,2,\"#\"\n\"#7\",3,";
    let breaks = ["\n", "\r\n", "\r"];
    for line_break in breaks {
        let (grid, faults) =
            grid_of(text.replace("\r\n", "\n").replace('\n', line_break).as_bytes());
        expect(&faults, Code::CommentRow, Severity::Note, "anchors.csv, row 4");
        assert_eq!(grid.headings()[1].as_ref(), "anchor");
        assert_eq!(rows(&grid), [2, 6, 9, 10], "{line_break:?}");
        assert_eq!(cells(&grid)[0][2], "one\ntwo\nthree".replace('\n', line_break));
        assert_eq!(cells(&grid)[3], ["#7", "3", ""]);
    }
}

/// A name that begins with # must not vanish without a word.
#[test]
fn a_row_taken_as_a_comment_is_noted() {
    let (grid, faults) = grid_of(b"# a, b\ntrail,anchor\nBor,0\n# x\n#7,1\nBor,1\n#7,2");
    let fault = expect(&faults, Code::CommentRow, Severity::Note, "anchors.csv, row 5");
    assert_eq!(fault.found, "2 rows that begin with #");
    assert_eq!(rows(&grid), [3, 6]);
    let (grid, faults) = grid_of(b"trail,anchor\n\"#7\",1\n");
    assert!(faults.is_empty());
    assert_eq!(cells(&grid), [["#7", "1"]]);
}

/// Headings are compared with every known one; a long one took minutes.
#[test]
fn long_headings_are_judged_quickly() {
    let headings: Vec<String> =
        (0..300).map(|at| format!("{}{at}", "hight".repeat(10_000))).collect();
    let text = format!("trail,anchor,{}\nBor,0{}\n", headings.join(","), ",".repeat(300));
    let start = Instant::now();
    let (survey, faults) = survey_of(&[("anchors.csv", text.as_bytes())], &[]);
    assert!(faults.is_empty(), "{:#?}", faults.sorted().len());
    assert_eq!(survey.anchors.len(), 1);
    assert!(start.elapsed() < Duration::from_secs(60), "{:?}", start.elapsed());
}

#[test]
fn comments_may_stand_before_the_heading_and_at_the_end() {
    for line_break in ["\n", "\r\n", "\r"] {
        let text = "# wood; of, Bor\n\ntrail;anchor\n# x\nBor;0\n# end".replace('\n', line_break);
        let (grid, faults) = grid_of(text.as_bytes());
        expect(&faults, Code::OtherSeparator, Severity::Note, "anchors.csv");
        assert_eq!((rows(&grid), cells(&grid)[0].join(" ")), (vec![5], "Bor 0".to_owned()));
    }
}

#[test]
#[cfg(unix)]
fn a_failure_of_the_machine_names_the_file() {
    use std::os::unix::fs::symlink;
    let there = folder(&[]);
    symlink("anchors.csv", there.path().join("anchors.csv")).unwrap(); // a link to itself
    let error = read_survey(there.path(), &[]).unwrap_err();
    assert!(
        error.to_string().starts_with("cannot read ") && error.to_string().contains("anchors.csv")
    );
}

/// A cell that is awkward to read, as it is meant and as it is written.
fn awkward_cell() -> impl Strategy<Value = (String, bool)> {
    ("[a-z ,;\t\"\n\r#.0-9čß]{0,12}", any::<bool>())
}

fn written(cell: &str, quoted: bool) -> String {
    if quoted || cell.contains([',', ';', '\t', '"', '\n', '\r', '#']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

proptest! {
    #[test]
    fn any_bytes_are_read_without_panic(bytes in prop::collection::vec(
        prop_oneof![any::<u8>(), prop::sample::select(b"\"\",;\t\r\n#a\xef\xbb\xbf".to_vec())],
        0..300,
    )) {
        let (grid, _) = grid_of(&bytes);
        let breaks = bytes.iter().filter(|byte| matches!(byte, b'\r' | b'\n')).count();
        prop_assert_eq!(rows(&grid).iter().all(|&row| row >= 2 && row <= breaks + 1), true);
        prop_assert_eq!(rows(&grid).is_sorted_by(|a, b| a < b), true);
    }

    #[test]
    fn a_table_reads_back_as_it_was_written(
        table in (2..6_usize).prop_flat_map(|width| prop::collection::vec(
            prop::collection::vec(awkward_cell(), width), 0..8,
        )),
        separator in prop_oneof![Just(","), Just(";"), Just("\t")],
        line_break in prop_oneof![Just("\n"), Just("\r\n"), Just("\r")],
    ) {
        let width = table.first().map_or(2, Vec::len);
        let headings = (0..width).map(|at| format!("column {at}")).collect::<Vec<_>>();
        let mut text = headings.join(separator);
        for row in &table {
            let row: Vec<_> = row.iter().map(|(cell, quoted)| written(cell, *quoted)).collect();
            text = text + line_break + &row.join(separator);
        }
        let (grid, faults) = grid_of(text.as_bytes());
        prop_assert_eq!(faults.count(Severity::Error), usize::from(grid.is_empty()));
        let is_filled = |row: &&Vec<(String, bool)>| row.iter().any(|(cell, _)| !cell.trim().is_empty());
        let kept = table.iter().filter(is_filled);
        let meant: Vec<Vec<String>> =
            kept.map(|row| row.iter().map(|(cell, _)| cell.clone()).collect()).collect();
        prop_assert_eq!(cells(&grid), meant);
    }
}
