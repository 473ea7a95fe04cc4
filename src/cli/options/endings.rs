//! What the ending of a file to be written asks for.

use crate::cli::Failure;
use crate::cli::output::Door;
use std::path::Path;

/// The ending of a file, in small letters.
pub(super) fn ending_of(out: &Path) -> String {
    out.extension().and_then(|ending| ending.to_str()).unwrap_or("").to_ascii_lowercase()
}

/// That an archive is named so.
pub(in crate::cli) fn is_zip(out: &Path) -> Result<(), Failure> {
    if ending_of(out) == "zip" {
        return Ok(());
    }
    Err(Failure::Usage(format!("{}: the ending of an archive is .zip", out.display())))
}

/// The formats of an export, by ending.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::cli) enum Format {
    Gpkg,
    Geojson,
    Kml,
    Gpx,
    Csv,
    Glb,
}

impl Format {
    /// Whether it knows places on the globe only.
    pub(in crate::cli) const fn is_map(self) -> bool {
        matches!(self, Self::Gpkg | Self::Geojson | Self::Kml | Self::Gpx)
    }
}

/// The endings of an export; what is printed without one is the first.
pub(in crate::cli) const EXPORTS: [&str; 6] = ["csv", "gpkg", "geojson", "kml", "gpx", "glb"];
/// The endings of a figure; what is printed without one is the first.
pub(in crate::cli) const FIGURES: [&str; 3] = ["svg", "pdf", "png"];

/// The ending that says the format: the file's own, what `--format` states, or for what is printed
/// the first of those `known`.
fn ending(
    out: &Path,
    stated: Option<&str>,
    door: &Door,
    known: &[&str],
) -> Result<String, Failure> {
    let own = ending_of(out);
    let is_known = known.contains(&own.as_str());
    match stated {
        Some(stated) if is_known && own != stated => Err(Failure::Usage(format!(
            "{}: the ending says .{own}, and --format says {stated}; choose one",
            out.display()
        ))),
        Some(stated) => Ok(stated.to_owned()),
        None if door.is_stream() && !is_known => {
            Ok(known.first().map_or_else(String::new, |first| (*first).to_owned()))
        }
        None => Ok(own),
    }
}

/// The ending that says the format of a figure.
pub(in crate::cli) fn figure_ending(
    out: &Path,
    stated: Option<&str>,
    door: &Door,
) -> Result<String, Failure> {
    ending(out, stated, door, &FIGURES)
}

/// The format of an export.
pub(in crate::cli) fn format(
    out: &Path,
    stated: Option<&str>,
    door: &Door,
) -> Result<Format, Failure> {
    match ending(out, stated, door, &EXPORTS)?.as_str() {
        "geojson" => Ok(Format::Geojson),
        "kml" => Ok(Format::Kml),
        "gpx" => Ok(Format::Gpx),
        "csv" => Ok(Format::Csv),
        "glb" => Ok(Format::Glb),
        "gpkg" => Ok(Format::Gpkg),
        _ => Err(Failure::Usage(format!(
            "{}: the ending says the format, and must be .gpkg, .geojson, .kml, .gpx, .csv or .glb",
            out.display()
        ))),
    }
}
