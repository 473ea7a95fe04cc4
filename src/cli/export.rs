//! `export`: the paths in one file for another program.

use super::args::ExportArgs;
use super::encode::csv_line;
use super::options::{self, Format};
use super::terminal::Terminal;
use super::{Failure, metadata, output, rebuild};
use crate::export::{Layers, csv, geojson, glb, gpkg, gpx, kml};
use crate::quantity::count_of;
use serde_json::json;

pub(super) fn run(args: &ExportArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let door = output::door(&args.survey, &args.out, terminal)?;
    let format = options::format(&args.out, args.format.as_deref(), &door)?;
    let wanted = options::wanted(&args.wanted, &args.survey)?;
    let (analysis, _) = rebuild::analysed(&args.survey, wanted, terminal)?;
    let layers = Layers::of(&analysis);
    let left_out = left_out(&layers, format);
    let written = layers.trails.len() - left_out.len();
    if written == 0 {
        return Err(Failure::Usage(nothing(&layers, format)));
    }
    let bytes = encode(&layers, format)?;
    door.write(&bytes)?;
    if args.survey.print.json {
        let result = json!({"out": args.out, "trails": written, "left_out": left_out});
        terminal.print(&format!("{result}\n"))?;
    } else if !args.survey.print.quiet {
        let trails = count_of(written, "trail");
        terminal.print(&format!("{trails} written to {}\n", args.out.display()))?;
        terminal.print(&why_left_out(&layers, &left_out, format))?;
    }
    terminal.flush()
}

fn encode(layers: &Layers, format: Format) -> Result<Vec<u8>, Failure> {
    match format {
        Format::Gpkg => {
            gpkg::encode(layers).map_err(|error| Failure::Machine(format!("GeoPackage: {error}")))
        }
        Format::Geojson => Ok(geojson::encode(layers).into_bytes()),
        Format::Kml => Ok(kml::encode(layers).into_bytes()),
        Format::Gpx => Ok(gpx::encode(layers).into_bytes()),
        Format::Glb => glb::encode(layers, metadata::VERSION)
            .ok_or_else(|| Failure::Usage(nothing(layers, format))),
        Format::Csv => {
            let mut bytes = Vec::new();
            for row in csv::rows(layers) {
                csv_line(&row, &mut bytes);
            }
            Ok(bytes)
        }
    }
}

/// The trails that a format cannot hold.
fn left_out(layers: &Layers, format: Format) -> Vec<&str> {
    match format {
        Format::Csv => Vec::new(),
        Format::Glb => layers.without_plan(),
        Format::Gpkg | Format::Geojson | Format::Kml | Format::Gpx => layers.unplaced(),
    }
}

fn why_left_out(layers: &Layers, names: &[&str], format: Format) -> String {
    if names.is_empty() {
        return String::new();
    }
    if format.is_map() {
        return format!(
            "Not on the map: {}. --out with .csv or .glb gives local metres.\n",
            reasons(layers)
        );
    }
    format!(
        "Left out, since no plan is known: {} (bearings or turning angles would give it). .csv has \
         them.\n",
        names.join(", ")
    )
}

/// Which trails cannot go on a map, and why.
fn reasons(layers: &Layers) -> String {
    let reasons = layers.why_not_on_map().into_iter();
    let words: Vec<String> =
        reasons.map(|(why, names)| format!("{} ({why})", names.join(", "))).collect();
    words.join("; ")
}

fn nothing(layers: &Layers, format: Format) -> String {
    if format.is_map() {
        format!(
            "no trail can go on a map, and nothing was written: {}. --out with .csv or .glb gives \
             local metres",
            reasons(layers)
        )
    } else {
        "no trail has a plan: bearings or turning angles are needed; nothing was written. --out with \
         .csv gives heights"
            .to_owned()
    }
}
