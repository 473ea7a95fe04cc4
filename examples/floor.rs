//! The floor under a rebuild: merely reading the survey's rows and writing as many result rows.
//!
//! `cargo run --release --example floor -- SURVEY RESULTS` loads the rows of every table in RESULTS
//! (not timed), then reads SURVEY's anchors and writes those rows again as CSV and as JSON: with the
//! csv crate and the standard library's formatting, as anyone would without care for speed. Its
//! numbers are text already, so that it turns none into text.

#![expect(clippy::print_stdout, clippy::disallowed_methods, reason = "a measuring program")]

use std::error::Error;
use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::Path;
use std::time::Instant;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [survey, results] = arguments.as_slice() else {
        return Err("usage: floor SURVEY RESULTS".into());
    };
    let mut tables = Vec::new();
    for entry in fs::read_dir(results)? {
        let path = entry?.path();
        if path.extension().is_some_and(|ending| ending == "csv") {
            let mut reader = csv::Reader::from_path(&path)?;
            let heading = reader.headers()?.clone();
            tables.push((heading, reader.records().collect::<Result<Vec<_>, _>>()?));
        }
    }
    let start = Instant::now();
    let mut anchors = csv::Reader::from_path(Path::new(survey).join("anchors.csv"))?;
    let read = anchors.records().flatten().count();
    let scratch = std::env::temp_dir().join(format!("floor-{}", std::process::id()));
    let mut json = BufWriter::new(File::create(scratch.with_extension("json"))?);
    let mut writer =
        csv::WriterBuilder::new().flexible(true).from_path(scratch.with_extension("csv"))?;
    let mut written = 0;
    for (heading, rows) in &tables {
        for row in rows {
            writer.write_record(row)?;
            json.write_all(b"{")?;
            for (key, cell) in heading.iter().zip(row) {
                write!(json, "\"{key}\":\"{cell}\",")?;
            }
            json.write_all(b"}\n")?;
            written += 1;
        }
        writer.flush()?;
    }
    json.flush()?;
    let seconds = start.elapsed().as_secs_f64();
    println!("read {read} rows, wrote {written} rows as CSV and JSON in {seconds:.3} s");
    for ending in ["csv", "json"] {
        fs::remove_file(scratch.with_extension(ending))?;
    }
    Ok(())
}
