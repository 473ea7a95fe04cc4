//! `archive`: a survey and its results in one file, for a repository.

use super::args::ArchiveArgs;
use super::output::Door;
use super::pack::{Entry, Packed};
use super::terminal::Terminal;
use super::{Failure, check, metadata, options, output, rebuild, summary};
use crate::adjustment::network::DeclinationSource;
use crate::maths::quantity::{Turn, count_of};
use crate::results::Analysis;
use crate::results::findings::verdict::Verdict;
use crate::results::guide::{Guide, guide};
use crate::results::hiding::{Hidden, hide_location};
use crate::results::tables::tables;
use crate::survey::Survey;
use crate::survey::fault::Faults;
use crate::survey::grid::Grid;
use crate::survey::input::source::read_inputs;
use crate::survey::settings::{Declination, FILE, written};
use serde_json::json;

pub(super) fn run(args: &ArchiveArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let door = output::door(&args.survey, &args.out, terminal)?;
    if !door.is_stream() {
        options::is_zip(&args.out)?;
    }
    let mut wanted = options::wanted(&args.wanted, &args.survey)?;
    wanted.hide_location = args.hide_location;
    let mut checked = check::read(&args.survey)?;
    if args.licence.is_some() {
        checked.survey.settings.licence.clone_from(&args.licence);
    }
    let hidden = if args.hide_location && !checked.faults.stop() {
        let hidden = hide_location(&mut checked.survey, &checked.network);
        Some(hidden.map_err(|names| Failure::Lacking(told(&names)))?)
    } else {
        None
    };
    let (mut analysis, faults) = rebuild::computed(checked, &args.survey, wanted, terminal)?;
    if hidden.is_some() {
        round_declinations(&mut analysis);
    }
    let entries = write(&analysis, &faults, hidden.as_ref(), (args, &door))?;
    tell(args, &analysis, hidden.as_ref(), entries, terminal)
}

fn told(names: &[String]) -> String {
    format!(
        "names and words that look like coordinates stand in {}; change them, since a name cannot \
         be left out. Nothing was written",
        names.join("; ")
    )
}

/// To a tenth of a degree: with a date, a declination to the last digit is a line on the map.
fn round_declinations(analysis: &mut Analysis) {
    for trail in &mut analysis.network.trails {
        let degrees = Turn::from_radians(trail.declination.0).to_degrees();
        trail.declination.0 = Turn::from_degrees((degrees * 10.0).round() / 10.0).to_radians();
    }
}

/// Writes the archive, and returns how many files it holds.
fn write(
    analysis: &Analysis,
    faults: &Faults,
    hidden: Option<&Hidden>,
    (args, door): (&ArchiveArgs, &Door),
) -> Result<usize, Failure> {
    let inputs = match hidden {
        None => read_inputs(&args.survey.survey, &analysis.survey)
            .map_err(|error| Failure::Machine(error.to_string()))?,
        Some(_) => hidden_inputs(analysis),
    };
    let tables = tables(analysis);
    let names: Vec<String> = inputs.iter().map(|(name, _)| name.clone()).collect();
    let guide =
        Guide { analysis, tables: &tables, inputs: &names, hidden, version: metadata::VERSION };
    let described = metadata::csv_metadata(&tables, "results/");
    let described = serde_json::to_string_pretty(&described).unwrap_or_default() + "\n";
    let kept_out = hidden.map(|hidden| hidden.coordinates.iter().cloned().collect());
    let mut packed = Packed::for_door(door, kept_out.unwrap_or_default())?;
    packed.add("README.md", Entry::Bytes(self::guide(&guide).into_bytes()))?;
    packed.add("csv-metadata.json", Entry::Bytes(described.into_bytes()))?;
    for (name, bytes) in inputs {
        packed.add(&format!("inputs/{name}"), Entry::Bytes(bytes))?;
    }
    let results = packed.scratch("made/results");
    output::write_results(analysis, &results, Some(faults))?;
    for file in output::files_below(&results)? {
        if file != "csv-metadata.json" {
            packed.add(&format!("results/{file}"), Entry::File(results.join(&file)))?;
        }
    }
    packed.finish()
}

/// The tables and settings as they are left when the place is hidden.
fn hidden_inputs(analysis: &Analysis) -> Vec<(String, Vec<u8>)> {
    let Survey { settings, grids, .. } = &analysis.survey;
    let tables = [
        ("anchors", Some(&grids.anchors)),
        ("animals", grids.animals.as_ref()),
        ("available", grids.available.as_ref()),
        ("controls", grids.controls.as_ref()),
        ("ties", grids.ties.as_ref()),
        ("trails", grids.trails.as_ref()),
    ];
    let tables = tables.into_iter().filter_map(|(name, grid)| Some((name, grid?)));
    let mut inputs: Vec<(String, Vec<u8>)> =
        tables.map(|(name, grid)| (format!("{name}.csv"), as_csv(grid))).collect();
    let mut settings = settings.clone();
    let first = analysis.network.trails.first().map(|trail| trail.declination);
    if let Some((turn, DeclinationSource::Model)) = first {
        settings.declination = Declination::Stated(Turn::from_radians(turn).to_degrees());
    }
    let text =
        written(&settings, &["columns.", "origin.latitude", "origin.longitude", "ground.file"]);
    inputs.push((FILE.to_owned(), text.into_bytes()));
    inputs
}

/// A table with its cells as they were read; semicolons where commas stand for points.
fn as_csv(grid: &Grid) -> Vec<u8> {
    let delimiter = if grid.dialect.decimal_comma { b';' } else { b',' };
    let mut csv = csv::WriterBuilder::new().delimiter(delimiter).from_writer(Vec::new());
    let rows =
        (0..grid.len()).map(|row| (0..grid.headings().len()).map(move |at| grid.cell(row, at)));
    // writing into memory cannot fail
    let _written = csv.write_record(grid.headings().iter().map(|heading| heading.as_bytes()));
    for row in rows {
        let _written = csv.write_record(row);
    }
    csv.into_inner().unwrap_or_default()
}

fn tell(
    args: &ArchiveArgs,
    analysis: &Analysis,
    hidden: Option<&Hidden>,
    files: usize,
    terminal: &mut Terminal,
) -> Result<(), Failure> {
    let licence = &analysis.survey.settings.licence;
    let gone = hidden.map(|hidden| [hidden.columns.clone(), hidden.texts.clone()].concat());
    if args.survey.print.json {
        let result = json!({
            "out": args.out, "files": files, "licence": licence, "left_out": gone,
            "verdict": Verdict::of(analysis).json(),
        });
        terminal.print(&format!("{result}\n"))?;
    } else if !args.survey.print.quiet {
        let out = args.out.display();
        terminal.print(&format!("{} written to {out}\n", count_of(files, "file")))?;
        terminal.print(&summary::verdict(analysis, terminal))?;
        if let Some(gone) = gone {
            terminal.print(&format!("The place is hidden. Left out: {}.\n", gone.join("; ")))?;
        }
        if licence.is_none() {
            terminal.print(
                "No licence is stated, so that nobody may use the data: --licence CC-BY-4.0, or \
                 licence in survey.toml.\n",
            )?;
        }
    }
    terminal.flush()
}
