//! The bytes of a raster of elevations: ESRI ASCII grid or GeoTIFF, told apart by what they hold.
//!
//! In: bytes, and the text of the `.prj` file beside an ASCII grid. Out: the raster in its own plan
//! coordinates, or why it cannot be used, in the user's words. Elevations are metres; one that no
//! ground on earth has is taken as missing.
//! Assumes WGS 84 or ETRS89, which differ by less than a metre; other systems are refused by name.
//! Left out: other bands, overviews, units other than metres.
//! Source of the formats: OGC 19-008r4 (GeoTIFF 1.1); Esri's description of its ASCII raster format.

mod ascii;
mod geotiff;
mod system;

use crate::maths::quantity::count_of;
use crate::survey::elevations::ElevationRaster;

/// The longest file, bytes: with the elevations it holds it stays below 300 MB of memory.
pub(super) const LONGEST: u64 = 128 << 20;
/// Most cells: a square of 3 km in cells of 1 m.
const MOST_CELLS: usize = 10_000_000;
/// Elevations on earth, metres, from the shore of the Dead Sea to the summit of Mount Everest.
const ON_EARTH: [f64; 2] = [-500.0, 9000.0];

/// Why a raster cannot be used.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Refused {
    pub(super) found: String,
    pub(super) expected: &'static str,
    pub(super) hint: &'static str,
}

/// What a raster must be.
pub(super) const EXPECTED: &str = "an ESRI ASCII grid or a GeoTIFF";
const EXPECTED_SYSTEM: &str = "WGS 84 or ETRS89, in degrees or in a UTM zone";
const DAMAGED: &str = "was it copied whole? take it from its source again";
const REPROJECT: &str = "a map program saves it in another reference system";

fn refused<T>(
    found: impl Into<String>,
    expected: &'static str,
    hint: &'static str,
) -> Result<T, Refused> {
    Err(Refused { found: found.into(), expected, hint })
}

/// Reads a raster; `prj` names the reference system of an ASCII grid.
pub(super) fn read(bytes: Vec<u8>, prj: Option<&str>) -> Result<ElevationRaster, Refused> {
    let mut raster = if geotiff::is_tiff(&bytes) {
        geotiff::read(bytes)?
    } else if ascii::is_grid(&bytes) {
        ascii::read(&bytes, prj)?
    } else {
        let hint = "a map program saves a raster of elevations as either";
        return refused("neither of the two formats of elevations", EXPECTED, hint);
    };
    if let Some(elevations) = std::sync::Arc::get_mut(&mut raster.elevations) {
        let on_earth = |z: &f64| (ON_EARTH[0]..=ON_EARTH[1]).contains(z);
        elevations.iter_mut().filter(|z| !on_earth(z)).for_each(|z| *z = f64::NAN);
    }
    Ok(raster)
}

/// Columns times rows, where so many can be read and interpolated between.
fn cells([columns, rows]: [usize; 2]) -> Result<usize, Refused> {
    let found = || format!("{} and {}", count_of(columns, "column"), count_of(rows, "row"));
    if columns < 2 || rows < 2 {
        return refused(found(), "at least 2 columns and 2 rows", DAMAGED);
    }
    match columns.checked_mul(rows) {
        Some(cells) if cells <= MOST_CELLS => Ok(cells),
        _ => refused(
            found(),
            "at most 10 million cells, 3 km by 3 km in metres",
            "cut it down to the surroundings of the survey",
        ),
    }
}

/// Sizes of cells, where they have any.
fn sides<const N: usize>(sides: [f64; N]) -> Result<[f64; N], Refused> {
    if sides.iter().all(|side| side.is_finite() && side.abs() > 0.0) {
        return Ok(sides);
    }
    let found = sides.map(|side| side.to_string()).join(" × ");
    refused(format!("cells of {found}"), "cells that have a size", DAMAGED)
}
