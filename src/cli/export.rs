//! `export`: the paths in one file for another program.

use super::args::ExportArgs;
use super::options::{self, Format};
use super::terminal::Terminal;
use super::{Failure, metadata, output, rebuild, summary};
use crate::maths::quantity::count_of;
use crate::products::export::{Layers, Trail, csv, geojson, glb, gpkg, gpx, kml};
use crate::results::Analysis;
use crate::results::cell::csv_line;
use crate::results::findings::verdict::Verdict;
use serde_json::{Value, json};
use std::collections::BTreeMap;

pub(super) fn run(args: &ExportArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let door = output::door(&args.survey, &args.out, terminal)?;
    let format = options::format(&args.out, args.format.as_deref(), &door)?;
    let wanted = options::wanted(&args.wanted, &args.survey)?;
    let (analysis, _) = rebuild::analysed(&args.survey, wanted, terminal)?;
    let layers = Layers::of(&analysis);
    let left_out = left_out(&layers, format);
    let written = layers.trails.len() - left_out.len();
    if args.survey.print.json {
        terminal.print(&format!("{}\n", told(args, written, &left_out, &analysis)))?;
    }
    if written == 0 {
        return Err(Failure::Usage(nothing(&left_out, format)));
    }
    door.write(&encode(&layers, format)?)?;
    if !args.survey.print.json && !args.survey.print.quiet {
        let trails = count_of(written, "trail");
        terminal.print(&format!("{trails} written to {}\n", args.out.display()))?;
        terminal.print(&why_left_out(&left_out, format))?;
        terminal.print(&summary::verdict(&analysis, terminal))?;
    }
    terminal.flush()
}

/// What was written, and the reason for each trail that was not.
fn told(args: &ExportArgs, written: usize, left_out: &[LeftOut<'_>], analysis: &Analysis) -> Value {
    let names: Vec<&str> = left_out.iter().map(|(name, _)| *name).collect();
    let reason = |(name, why): &LeftOut<'_>| json!({"trail": name, "reason": why});
    let reasons: Vec<Value> = left_out.iter().map(reason).collect();
    json!({"out": args.out, "trails": written, "left_out": names, "reasons": reasons,
           "verdict": Verdict::of(analysis).json()})
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
            .ok_or_else(|| Failure::Usage(nothing(&left_out(layers, format), format))),
        Format::Csv => {
            let mut bytes = Vec::new();
            for row in csv::rows(layers) {
                csv_line(&row, &mut bytes);
            }
            Ok(bytes)
        }
    }
}

/// A trail that a format cannot hold, and why.
type LeftOut<'a> = (&'a str, &'static str);

fn left_out(layers: &Layers, format: Format) -> Vec<LeftOut<'_>> {
    match format {
        Format::Csv => Vec::new(),
        Format::Glb => layers.left_out(Trail::why_not_in_space),
        Format::Gpkg | Format::Geojson | Format::Kml | Format::Gpx => {
            layers.left_out(Trail::why_not_on_map)
        }
    }
}

fn why_left_out(left_out: &[LeftOut<'_>], format: Format) -> String {
    match (left_out, format.is_map()) {
        ([], _) => String::new(),
        (_, true) => format!(
            "Not on the map: {}. --out with .csv or .glb gives local metres.\n",
            reasons(left_out)
        ),
        (_, false) => format!("Left out: {}. .csv has them.\n", reasons(left_out)),
    }
}

/// The trails that were left out, reason by reason.
fn reasons(left_out: &[LeftOut<'_>]) -> String {
    let mut by_reason: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (name, why) in left_out {
        by_reason.entry(why).or_default().push(name);
    }
    let words: Vec<String> =
        by_reason.into_iter().map(|(why, names)| format!("{} ({why})", names.join(", "))).collect();
    words.join("; ")
}

fn nothing(left_out: &[LeftOut<'_>], format: Format) -> String {
    if format.is_map() {
        format!(
            "no trail can go on a map, and nothing was written: {}. --out with .csv or .glb gives \
             local metres",
            reasons(left_out)
        )
    } else {
        "no trail has a plan: bearings or turning angles are needed; nothing was written. --out with \
         .csv gives heights"
            .to_owned()
    }
}
