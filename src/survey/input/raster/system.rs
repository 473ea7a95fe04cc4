//! The names of reference systems: WGS 84 and ETRS89, in degrees or in UTM zones.
//! Source of the numbers: the EPSG registry, <https://epsg.org>.

use super::{EXPECTED_SYSTEM, REPROJECT, Refused, refused};
use crate::survey::elevations::PlanSystem;

/// The system with this number of the EPSG registry.
pub(super) fn of_epsg(code: u16) -> Result<PlanSystem, Refused> {
    let utm = |first: u16, south| utm(u8::try_from(code - first + 1).unwrap_or(0), south);
    match code {
        4326 | 4979 | 4258 | 4937 => Ok(PlanSystem::Geographic),
        32601..=32660 => Ok(utm(32601, false)),
        32701..=32760 => Ok(utm(32701, true)),
        25828..=25838 => Ok(utm(25801, false)),
        _ => other(&format!("EPSG:{code}")),
    }
}

/// The system that a `.prj` file names: the first quoted text of its well-known text.
pub(super) fn of_wkt(text: &str) -> Result<PlanSystem, Refused> {
    let name = text.split('"').nth(1).unwrap_or(text).trim();
    let plain = name.to_lowercase().replace(['_', '/'], " ");
    let words: Vec<&str> = plain.split_whitespace().filter(|word| *word != "gcs").collect();
    match words.as_slice() {
        ["wgs", "1984" | "84"] | ["wgs84" | "etrs89"] | ["etrs", "1989"] => {
            Ok(PlanSystem::Geographic)
        }
        ["wgs", "1984" | "84", "utm", "zone", zone]
        | ["wgs84" | "etrs89", "utm", "zone", zone]
        | ["etrs", "1989", "utm", "zone", zone] => in_zone(zone).map_or_else(|| other(name), Ok),
        _ => other(name),
    }
}

/// A zone as it is written: `33n`.
fn in_zone(text: &str) -> Option<PlanSystem> {
    let (number, half) = text.split_at_checked(text.len().checked_sub(1)?)?;
    let zone = number.parse().ok().filter(|zone| (1..=60).contains(zone))?;
    matches!(half, "n" | "s").then(|| utm(zone, half == "s"))
}

const fn utm(zone: u8, south: bool) -> PlanSystem {
    PlanSystem::Utm { zone, south }
}

/// The refusal of a system by its name.
pub(super) fn other<T>(name: &str) -> Result<T, Refused> {
    let name: String = name.chars().take(80).collect();
    refused(format!("the reference system {name}"), EXPECTED_SYSTEM, REPROJECT)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn systems_are_known_by_number_and_by_name() {
        assert_eq!(of_epsg(32633), Ok(utm(33, false)));
        assert_eq!(of_epsg(32738), Ok(utm(38, true)));
        assert_eq!(of_epsg(25833), Ok(utm(33, false)));
        assert_eq!(of_epsg(3794).unwrap_err().found, "the reference system EPSG:3794");
        let of = |name: &str| of_wkt(&format!("PROJCS[\"{name}\",GEOGCS[\"x\"]]"));
        assert_eq!(of("WGS_1984_UTM_Zone_33N"), Ok(utm(33, false)));
        assert_eq!(of("WGS 84 / UTM zone 1S"), Ok(utm(1, true)));
        assert_eq!(of("ETRS_1989_UTM_Zone_32N"), Ok(utm(32, false)));
        assert_eq!(of("GCS_WGS_1984"), Ok(PlanSystem::Geographic));
        for name in ["WGS_1984_UTM_Zone_61N", "WGS 84 / UTM zone é", "MGI 1901 / Slovene Grid"] {
            let found = of(name).unwrap_err().found;
            assert_eq!(found, format!("the reference system {name}"));
        }
        assert_eq!(of_wkt("Projection LAMBERT").unwrap_err().expected, EXPECTED_SYSTEM);
    }
}
