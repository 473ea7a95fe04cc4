//! What the ending of a file to be written asks for.

use crate::cli::Failure;
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

/// The format that a file's ending asks for.
pub(in crate::cli) fn format(out: &Path) -> Result<Format, Failure> {
    match ending_of(out).as_str() {
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
