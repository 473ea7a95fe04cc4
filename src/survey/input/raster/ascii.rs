//! ESRI ASCII grid: a heading of names and numbers, then the rows from the north.

use super::{DAMAGED, Refused, cells, refused, sides, system};
use crate::survey::elevations::ElevationRaster;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The missing elevation where the heading names none.
const MISSING: f64 = -9999.0;

/// Whether the bytes begin as such a grid does.
pub(super) fn is_grid(bytes: &[u8]) -> bool {
    bytes.trim_ascii_start().get(..5).is_some_and(|word| word.eq_ignore_ascii_case(b"ncols"))
}

pub(super) fn read(bytes: &[u8], prj: Option<&str>) -> Result<ElevationRaster, Refused> {
    let Some(prj) = prj else {
        let hint = "put the .prj file beside it under the same name, or save it as GeoTIFF";
        return refused("a grid that says nowhere where on earth it lies", "a .prj file", hint);
    };
    let system = system::of_wkt(prj)?;
    let Ok(text) = std::str::from_utf8(bytes) else {
        return refused("bytes that are no text", "names and numbers", DAMAGED);
    };
    let mut words = text.split_ascii_whitespace().peekable();
    let mut heading = BTreeMap::new();
    while let Some(name) = words.next_if(|word| word.starts_with(is_letter_of_name)) {
        heading.insert(name.to_lowercase(), number(words.next().unwrap_or(""))?);
    }
    let needed = |name: &'static str| match heading.get(name) {
        Some(value) => Ok(*value),
        None => refused(format!("no {name}"), "a heading that says it", DAMAGED),
    };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "it saturates")]
    let size = [needed("ncols")? as usize, needed("nrows")? as usize];
    let count = cells(size)?;
    let [width, height] = match (heading.get("dx"), heading.get("dy")) {
        (Some(width), Some(height)) => sides([*width, *height])?,
        _ => sides([needed("cellsize")?; 2])?,
    };
    // of the centre of the south-western cell
    let first = |centre: &str, corner: &'static str, side: f64| match heading.get(centre) {
        Some(at) => Ok(*at),
        None => Ok(needed(corner)? + side / 2.0),
    };
    let west = first("xllcenter", "xllcorner", width)?;
    let south = first("yllcenter", "yllcorner", height)?;
    let missing = heading.get("nodata_value").copied().unwrap_or(MISSING);
    let mut elevations = Vec::with_capacity(count);
    for word in words {
        let z = number(word)?;
        elevations.push(if z.total_cmp(&missing).is_eq() { f64::NAN } else { z });
        if elevations.len() > count {
            break;
        }
    }
    if elevations.len() != count {
        let found = match elevations.len() {
            few if few < count => format!("{few} elevations in {count} cells"),
            _ => format!("more elevations than {count} cells"),
        };
        return refused(found, "one elevation a cell", DAMAGED);
    }
    let first = [west, south + height * (size[1] - 1) as f64];
    let (to_column, to_row) = ([width, 0.0], [0.0, -height]);
    Ok(ElevationRaster { system, size, first, to_column, to_row, elevations: Arc::new(elevations) })
}

/// Names of the heading begin so; `nan` is a number, and no name begins with it.
const fn is_letter_of_name(letter: char) -> bool {
    matches!(letter.to_ascii_lowercase(), 'n' | 'x' | 'y' | 'c' | 'd')
}

fn number(word: &str) -> Result<f64, Refused> {
    word.parse().or_else(|_| {
        let word: String = word.chars().take(20).collect();
        refused(
            format!("{word:?} where a number should stand"),
            "a number",
            "a decimal comma, or a file that breaks off?",
        )
    })
}
