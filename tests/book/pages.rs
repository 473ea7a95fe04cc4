//! The pages of the book that say what the program knows of itself: `docs/tables.md` and
//! `docs/metrics.md` are what stands in the dictionary, the settings, the result tables and the
//! catalogue of metrics. `WRITE_BOOK=1 cargo test --test book pages` writes them anew.

use perchline::measures::metrics::{Entry, METRICS, SYMBOLS};
use perchline::survey::dictionary::{Column, InputTable, TABLES, in_words};
use perchline::survey::input::source::read_survey;
use perchline::survey::settings::SETTINGS;
use perchline::survey::sources::Source;
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::Command;

const MADE: &str = "*This page is made from the program itself; `tests/book/pages.rs` keeps the two equal. \
                    [Contents of the book](README.md)*\n\n";

/// The page stands in the book as it is made here.
fn stands(name: &str, page: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs").join(name);
    if std::env::var_os("WRITE_BOOK").is_some() {
        fs::write(&path, page).unwrap();
    }
    let there = fs::read_to_string(&path).unwrap_or_default();
    for (line, (there, made)) in there.lines().zip(page.lines()).enumerate() {
        assert_eq!(
            there,
            made,
            "docs/{name}, line {}: run WRITE_BOOK=1 cargo test --test book pages",
            line + 1
        );
    }
    assert_eq!(there.lines().count(), page.lines().count(), "docs/{name}");
}

/// A table in Markdown, a column for each heading.
fn table(headings: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let line = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
    let headings: Vec<String> = headings.iter().map(|heading| (*heading).to_owned()).collect();
    let mut text = line(&headings) + &format!("|{}\n", "---|".repeat(headings.len()));
    for row in rows {
        let escaped: Vec<String> = row.iter().map(|cell| cell.replace('|', "\\|")).collect();
        text += &line(&escaped);
    }
    text + "\n"
}

fn code(text: &str) -> String {
    format!("`{text}`")
}

/// A sentence: its first letter large, with a full stop.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    let first: String = letters.next().unwrap().to_uppercase().collect();
    first + letters.as_str() + "."
}

fn unit_in_words(heading: &str) -> &'static str {
    match in_words(heading).1 {
        Some("deg") => "degree",
        Some(unit) => unit,
        None if ["latitude", "longitude"].contains(&heading) => "degree",
        None => "",
    }
}

fn input_table(input: &InputTable) -> String {
    let row = |column: &Column| {
        let name = code(column.heading);
        vec![
            if column.needed { format!("**{name}**") } else { name },
            unit_in_words(column.heading).into(),
            column.kind.accepts(),
            code(column.example),
            column.meaning.into(),
        ]
    };
    let headings = ["column", "unit", "holds", "example", "meaning"];
    format!("### `{}`\n\n{}\n\n", input.name, sentence(input.meaning))
        + &table(&headings, input.columns.iter().map(row))
}

fn settings() -> String {
    let rows = SETTINGS.iter().map(|setting| {
        let default = setting.default().map(|default| code(&default)).unwrap_or_default();
        vec![code(setting.path), setting.accepts(), default, setting.meaning.into()]
    });
    table(&["setting", "takes", "default", "meaning"], rows)
}

/// What the program says of its own result tables.
fn described() -> Value {
    let out = tempfile::tempdir().unwrap();
    let arguments = ["rebuild", "demo/dormice", "--tables-only", "--quiet", "--draws", "0"];
    let mut program = Command::new(env!("CARGO_BIN_EXE_perchline"));
    program.args(arguments).args(["--compare-methods", "--out"]).arg(out.path());
    let status = program.current_dir(env!("CARGO_MANIFEST_DIR")).status().unwrap();
    assert!(status.success());
    let text = fs::read_to_string(out.path().join("csv-metadata.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

fn result_table(described: &Value) -> String {
    let text = |value: &Value, key: &str| value[key].as_str().unwrap_or_default().to_owned();
    let columns = described["tableSchema"]["columns"].as_array().unwrap();
    let is_own = |column: &&Value| column["dc:description"] == "as written in the survey";
    // Beside its metrics no other table has a column of one; `legs` is a count in some.
    let wide = described["url"] == "trails.csv";
    let is_metric = |column: &&Value| {
        let name = text(column, "name");
        let name = name.strip_suffix("_after_escape").unwrap_or(&name);
        wide && METRICS.iter().any(|entry| name == entry.name)
    };
    let listed = columns.iter().filter(|column| !is_own(column) && !is_metric(column));
    let rows = listed.map(|column| {
        vec![
            code(&text(column, "name")),
            text(column, "schema:unitText"),
            text(column, "dc:description"),
        ]
    });
    let mut page = format!(
        "### `{}`\n\n{}\n\n",
        text(described, "url"),
        sentence(&format!("a row is {}", text(described, "dc:description")))
    );
    page += &table(&["column", "unit", "meaning"], rows);
    if columns.iter().any(|column| is_own(&column)) {
        page += "Then your own columns, as written.\n\n";
    }
    if wide {
        page += "Then every metric under its name, for the whole path; and again with \
                 `_after_escape`, without the escape run. [What each is](metrics.md).\n\n";
    }
    page
}

#[test]
fn the_page_of_tables_says_what_the_dictionary_says() {
    let mut page = String::from("# The tables\n\n") + MADE;
    page += "- [What you write](#what-you-write)\n- [Settings](#settings)\n\
             - [What you get](#what-you-get)\n\n## What you write\n\n\
             A folder with these tables as CSV files, or one workbook (`.xlsx`, `.ods`) with sheets \
             of these names. Only `anchors` must be there. The order of columns is free; those in \
             bold must be there. A blank cell means not measured, never zero. Columns of your own \
             are kept and passed on; those of `trails`, `animals` and `available` can be compared \
             by. Your own headings are mapped by `[columns]` in `survey.toml`.\n\n";
    page += &TABLES.into_iter().map(input_table).collect::<String>();
    page += "## Settings\n\nAll of them stand in `survey.toml`, and all may stay out. A name with \
             a point is a key in a section: `precision.tape_m` is `tape_m` under `[precision]`. \
             Precisions are one standard deviation. On the command line: `--set tape_m=0.05`. A \
             part in capitals stands for a name: `[observer.\"K.V.\"]`, \
             `[precision.height_by.pole]`.\n\n";
    page += &settings();
    page += "## What you get\n\nEach is a CSV file with commas, decimal points and UTF-8; a blank \
             cell is not known or not defined. `csv-metadata.json` says for machines what stands \
             here. `results.json` holds all tables but the long ones (positions, legs, residuals, heights), and \
             `results.xlsx` every table as a sheet of one workbook, unit and meaning in the note of each heading.\n\n";
    let described = described();
    page += &described["tables"].as_array().unwrap().iter().map(result_table).collect::<String>();
    stands("tables.md", &(page.trim_end().to_owned() + "\n"));
}

fn metric(entry: &Entry) -> String {
    let explained = entry.metric.explained();
    let symbol = Some(entry.symbol).filter(|symbol| !symbol.is_empty());
    let unit = if entry.unit == "1" { "none" } else { entry.unit };
    let mut text = format!("### {}\n\n{}", entry.name, sentence(entry.meaning));
    if entry.extended {
        text += " With `--metrics all`.";
    }
    text += "\n\n";
    if let Some(symbol) = symbol {
        text += &format!("- *Symbol:* {symbol}\n");
    }
    text += &format!("- *Unit:* {unit}\n- *Formula:* {}\n", explained.formula);
    if let Some(source) = entry.source {
        text += &format!("- *Source:* {}\n", source.in_text());
    }
    text += &format!("- *Needs:* {}\n", entry.needs.words());
    text += &format!("- *95 % interval:* {}\n", entry.rule.words());
    text += &format!("- *Marked at least:* {}\n", entry.bound.words());
    text + &format!("- *Beware:* {}\n\n", explained.pitfall)
}

#[test]
fn the_page_of_metrics_says_what_the_catalogue_says() {
    let mut page = String::from("# The metrics\n\n") + MADE;
    page += "Every metric stands twice in the tables: for the whole path, and after the escape \
             run. Legs across a gap do not count. Formulas without a source are the plain ones that \
             everybody uses. Draws are paths that the readings allow around the adjusted one; \
             [how far the intervals can be trusted](accuracy.md) is measured, rule by rule. \
             No metric knows how animals differ: that is told by comparing animals.\n\n";
    page += &table(
        &["symbol", "stands for"],
        SYMBOLS.map(|(symbol, meaning)| vec![symbol.into(), meaning.into()]),
    );
    let linked = |entry: &Entry| format!("[{0}](#{0})", entry.name);
    page += &(METRICS.iter().map(linked).collect::<Vec<_>>().join(" · ") + "\n\n");
    page += &METRICS.iter().map(metric).collect::<String>();
    page += "## Sources\n\n";
    let sources: BTreeSet<Source> = METRICS.iter().filter_map(|entry| entry.source).collect();
    for source in sources {
        page += &format!("- {}\n", source.citation());
    }
    stands("metrics.md", &page);
}

/// The examples of a table, one cell a column, make a row that is read without a fault.
#[test]
fn every_example_is_a_cell_that_its_column_takes() {
    let folder = tempfile::tempdir().unwrap();
    // A leg has one tape, one bearing and one height; the others are tried in rows of their own.
    let ways: [&[&str]; 3] = [
        &["tape_ft", "height_ft", "bearing_gon", "bearing_point", "turn_deg", "east_m", "north_m"],
        &[
            "tape_m",
            "height_m",
            "bearing_deg",
            "bearing_point",
            "turn_deg",
            "latitude",
            "longitude",
        ],
        &["tape_m", "height_m", "bearing_deg", "bearing_gon", "latitude", "longitude"],
    ];
    for left_out in ways {
        for input in TABLES {
            let columns: Vec<&Column> =
                input.columns.iter().filter(|c| !left_out.contains(&c.heading)).collect();
            let line = |cell: fn(&Column) -> &'static str| {
                columns.iter().map(|column| cell(column)).collect::<Vec<_>>().join(",") + "\n"
            };
            let mut text = line(|column| column.heading) + &line(|column| column.example);
            if input.name == "anchors" {
                // The anchors that the examples name.
                let start = text.find('\n').unwrap() + 1;
                let blanks = ",".repeat(columns.len() - 2);
                let rows = ["3", "5", "14"].map(|anchor| format!("D01,{anchor}{blanks}\n"));
                text.insert_str(start, &rows.concat());
            }
            fs::write(folder.path().join(format!("{}.csv", input.name)), text).unwrap();
        }
        let (_, faults) = read_survey(folder.path(), &[]).unwrap();
        assert!(faults.is_empty(), "{:#?}", faults.sorted());
    }
}

/// Where the headings of a page are found from a link.
fn anchors(page: &str) -> Vec<String> {
    let headings = page.lines().filter(|line| line.starts_with('#'));
    let kept = |c: char| c.is_alphanumeric() || "_- ".contains(c);
    headings
        .map(|line| line.trim_start_matches(['#', ' ']).to_lowercase())
        .map(|text| text.chars().filter(|&c| kept(c)).collect::<String>())
        .map(|text| text.replace(' ', "-"))
        .collect()
}

#[test]
fn no_link_leads_nowhere() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut pages = vec![root.join("README.md")];
    pages.extend(fs::read_dir(root.join("docs")).unwrap().map(|entry| entry.unwrap().path()));
    pages.retain(|path| path.extension().is_some_and(|ending| ending == "md"));
    let mut followed = 0;
    for page in &pages {
        let text = fs::read_to_string(page).unwrap();
        for link in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let (file, place) = link.split_once('#').unwrap_or((link, ""));
            let target = if file.is_empty() { page.clone() } else { page.with_file_name(file) };
            assert!(target.is_file(), "{}: {link}", page.display());
            let there = || anchors(&fs::read_to_string(&target).unwrap());
            assert!(
                place.is_empty() || there().contains(&place.to_owned()),
                "{}: {link}",
                page.display()
            );
            followed += 1;
        }
    }
    assert!(followed > 80, "{followed}");
}
