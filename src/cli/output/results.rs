//! The results of a survey written into a folder: tables, and what a paper is made of.

use super::file::{create, misplaced, named, write_file};
use super::place::MARKS;
use crate::cli::replace::Fresh;
use crate::cli::{Failure, metadata, printed};
use crate::maths::parallel;
use crate::products::figure;
use crate::products::figure::encode::encode_all;
use crate::products::report::{self, Figure, Report};
use crate::products::tables::xlsx;
use crate::results::Analysis;
use crate::results::answer::study_answer;
use crate::results::cell;
use crate::results::findings::verdict::Verdict;
use crate::results::methods::methods;
use crate::results::printed::printed;
use crate::results::tables::{self as result, Table, tables};
use crate::survey::fault::Faults;
use rust_xlsxwriter::XlsxError;
use std::fs;
use std::io::{self, Write};
use std::path::Path;

/// The folder of the printed tables.
const PRINTED: &str = "tables";

/// The folder of the figures, and the file of their captions.
const FIGURES: &str = "figures";
const CAPTIONS: &str = "captions.md";
/// The report.
const REPORT: &str = "report.html";

/// All tables in one workbook.
const WORKBOOK: &str = "results.xlsx";

/// The methods text and its references.
const METHODS: [&str; 2] = ["methods.md", "references.bib"];

/// Writes the results of an analysis into the folder `target`, or its tables only where there are no
/// `faults` to report: wholly, or not at all. A link is followed, and stays a link.
///
/// # Errors
/// The machine's, with the path at which it failed.
pub(in crate::cli) fn write_results(
    analysis: &Analysis,
    target: &Path,
    faults: Option<&Faults>,
) -> Result<(), Failure> {
    let place = fs::canonicalize(target).unwrap_or_else(|_| target.to_path_buf());
    let tables = tables(analysis);
    let names: Vec<String> = tables
        .iter()
        .map(|table| format!("{}.csv", table.name))
        .chain(MARKS.map(str::to_owned))
        .chain(METHODS.map(str::to_owned))
        .chain(["methods_compared.csv".to_owned()]) // not in every run, and a result all the same
        .chain([PRINTED, FIGURES, REPORT, WORKBOOK].map(str::to_owned))
        .collect();
    let fresh = Fresh::beside(&place, &names).map_err(misplaced)?;
    write_into(analysis, &tables, fresh.path())?;
    if let Some(faults) = faults {
        write_for_a_paper(analysis, faults, fresh.path())?;
    }
    fresh.put_in_place().map_err(misplaced)
}

fn write_into(analysis: &Analysis, tables: &[Table], folder: &Path) -> Result<(), Failure> {
    let mut json = create(folder, "results.json")?;
    let head = format!(
        "{{\"version\": {}, \"settings\": {}, \"frame\": {}, \"verdict\": {}, \"tables\": {{",
        serde_json::Value::from(metadata::VERSION),
        metadata::settings(analysis),
        metadata::frame(analysis),
        Verdict::of(analysis).json(),
    );
    json.write(head.as_bytes())?;
    let mut before = "\n";
    for table in tables {
        if table.is_long() {
            write_table(table, analysis, folder, &mut io::sink())?;
            continue;
        }
        json.write(format!("{before}\"{}\": ", table.name).as_bytes())?;
        before = ",\n";
        write_table(table, analysis, folder, &mut json.file)?;
    }
    json.write(b"}}\n")?;
    json.finish()?;
    let mut described = create(folder, "csv-metadata.json")?;
    let text = serde_json::to_string_pretty(&metadata::csv_metadata(tables, ""));
    described.write(text.unwrap_or_default().as_bytes())?;
    described.write(b"\n")?;
    described.finish()
}

fn write_table(
    table: &Table,
    analysis: &Analysis,
    folder: &Path,
    json: &mut impl Write,
) -> Result<(), Failure> {
    let mut csv = create(folder, &format!("{}.csv", table.name))?;
    let written = cell::table(table, analysis, &mut csv.file, json);
    written.map_err(|error| named(folder, &error))?;
    csv.finish()
}

/// The tables of a paper, its methods, its figures, and the report.
fn write_for_a_paper(analysis: &Analysis, faults: &Faults, folder: &Path) -> Result<(), Failure> {
    let own = folder.join(PRINTED);
    fs::create_dir(&own).map_err(|error| named(&own, &error))?;
    let tables = printed(analysis);
    for table in &tables {
        write_file(&own, &format!("{}.csv", table.stem), &printed::csv(table))?;
    }
    write_file(&own, "tables.md", printed::markdown(&tables).as_bytes())?;
    let methods = methods(analysis, metadata::VERSION);
    write_file(folder, METHODS[0], methods.text.as_bytes())?;
    write_file(folder, METHODS[1], methods.bibtex.as_bytes())?;
    let book = xlsx(analysis, &result::tables(analysis)).map_err(|error| unwritten(&error))?;
    write_file(folder, WORKBOOK, &book)?;
    let figures = figure::all(analysis);
    write_figures(&figures, folder)?;
    let page = report::html(&Report {
        analysis,
        faults,
        answer: &study_answer(analysis),
        tables: &tables,
        figures: &figures,
        methods: &methods.text,
        settings: &metadata::settings(analysis),
        frame: &metadata::frame(analysis),
        version: metadata::VERSION,
    });
    write_file(folder, REPORT, page.as_bytes())
}

fn unwritten(error: &XlsxError) -> Failure {
    Failure::Machine(format!("{WORKBOOK}: {error}"))
}

/// Every figure that the survey has the data for, in every format, with the captions.
fn write_figures(figures: &[Figure], folder: &Path) -> Result<(), Failure> {
    let own = folder.join(FIGURES);
    fs::create_dir(&own).map_err(|error| named(&own, &error))?;
    let mut captions = String::from("# Captions\n");
    let mut missing = String::new();
    for (name, drawn) in figures {
        match drawn {
            Ok(drawing) => {
                captions += &format!("\n**{name}.** {}\n", printed::plain(&drawing.caption));
            }
            Err(why) => missing += &format!("- {name}: {}\n", printed::plain(&why.reason)),
        }
    }
    for (name, bytes) in encoded(figures).map_err(Failure::Machine)? {
        write_file(&own, &name, &bytes)?;
    }
    if !missing.is_empty() {
        captions += &format!("\nNot drawn:\n\n{missing}");
    }
    write_file(&own, CAPTIONS, captions.as_bytes())
}

/// The files of all figures that are drawn, by name, in the order of the figures.
fn encoded(figures: &[Figure]) -> Result<Vec<(String, Vec<u8>)>, String> {
    let files = |(name, drawn): &Figure| -> Result<Vec<(String, Vec<u8>)>, String> {
        let Ok(drawing) = drawn else { return Ok(Vec::new()) };
        let files = encode_all(drawing)?.into_iter();
        Ok(files.map(|(format, bytes)| (format!("{name}.{}", format.ending()), bytes)).collect())
    };
    let done = parallel::each(figures, files).into_iter();
    Ok(done.collect::<Result<Vec<_>, _>>()?.into_iter().flatten().collect())
}
