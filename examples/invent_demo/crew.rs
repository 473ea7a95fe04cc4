//! The instruments: who measures, with what, and how well.

use crate::chance::Chance;
use crate::study::{DECLINATION_DEG, ORIGIN};
use crate::wood::Anchor;

pub(crate) fn tape_sd(metres: f64) -> f64 {
    0.03_f64.hypot(0.002 * metres)
}

/// By eye, one is worse than the default says; `survey.toml` states it.
pub(crate) fn height_sd(metres: f64) -> f64 {
    if metres < EYE_M { 0.05_f64.hypot(0.02 * metres) } else { 0.2_f64.hypot(0.05 * metres) }
}

/// Above this, heights are judged by eye.
const EYE_M: f64 = 6.0;
const BEARING_SD: f64 = 2.0;
const TURN_SD: f64 = 3.0;
const INCLINE_SD: f64 = 1.5;
pub(crate) const RISE_SD: f64 = 0.05;
const POINTS: [&str; 16] = [
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW",
    "NNW",
];

/// `value` to the nearest `step`.
pub(crate) fn rounded(value: f64, step: f64) -> f64 {
    (value / step).round() * step + 0.0 // never -0
}

/// Who measures, with what.
pub(crate) struct Crew {
    pub(crate) chance: Chance,
    pub(crate) observer: (&'static str, f64),
}

impl Crew {
    pub(crate) fn tape(&mut self, from: &Anchor, to: &Anchor) -> f64 {
        let true_length = from.distance_to(to);
        rounded((true_length + self.chance.error(tape_sd(true_length))).max(0.0), 0.01)
    }

    /// The height and how it was measured.
    pub(crate) fn height(&mut self, anchor: &Anchor) -> (f64, &'static str) {
        let h = anchor.height;
        if h == 0.0 {
            return (0.0, "tape");
        }
        let (step, by) = match h {
            h if h < 2.0 => (0.05, "tape"),
            h if h < EYE_M => (0.1, "pole"),
            _ => (0.5, "eye"),
        };
        // The rounding is part of the error that is stated.
        let spread = (height_sd(h).powi(2) - step * step / 12.0).sqrt();
        (rounded(h + self.chance.error(spread), step).max(0.0), by)
    }

    /// The needle pointed along a true azimuth.
    pub(crate) fn needle(&mut self, azimuth: f64) -> f64 {
        let exact = azimuth - DECLINATION_DEG - self.observer.1;
        rounded(exact + self.chance.error(BEARING_SD), 1.0).rem_euclid(360.0)
    }

    /// The needle there and back, read again where the two do not fit.
    pub(crate) fn needle_both_ways(&mut self, azimuth: f64) -> (f64, f64) {
        loop {
            let (there, back) = (self.needle(azimuth), self.needle(azimuth + 180.0));
            if half_turn(back - there + 180.0).abs() <= 5.0 {
                return (there, back);
            }
        }
    }

    pub(crate) fn point(&mut self, azimuth: f64) -> &'static str {
        POINTS[rounded(self.needle(azimuth) / 22.5, 1.0) as usize % 16]
    }

    pub(crate) fn incline(&mut self, from: &Anchor, to: &Anchor) -> f64 {
        let read = from.incline_to(to) + self.chance.error(INCLINE_SD);
        rounded(read, 1.0).clamp(-90.0, 90.0)
    }

    pub(crate) fn turn(&mut self, before: f64, azimuth: f64) -> f64 {
        rounded(half_turn(azimuth - before + self.chance.error(TURN_SD)), 1.0)
    }

    /// A position by satellite, one standard deviation `accuracy` on each axis.
    pub(crate) fn fix(&mut self, east: f64, north: f64) -> [(&'static str, String); 3] {
        let accuracy = rounded(self.chance.between(4.0, 8.0), 1.0);
        let (east, north) =
            (east + self.chance.error(accuracy), north + self.chance.error(accuracy));
        let [latitude, longitude] = position(east, north);
        [
            ("latitude", format!("{latitude:.5}")),
            ("longitude", format!("{longitude:.5}")),
            ("accuracy_m", format!("{accuracy}")),
        ]
    }
}

/// An angle between −180° and 180°.
fn half_turn(degrees: f64) -> f64 {
    (degrees + 180.0).rem_euclid(360.0) - 180.0
}

/// Latitude and longitude, by the radii of curvature of WGS 84 at the origin.
///
/// ```text
/// N = a / √(1 − e² sin²φ),   M = N (1 − e²) / (1 − e² sin²φ)
/// ```
fn position(east: f64, north: f64) -> [f64; 2] {
    let (a, e2, latitude) = (6_378_137.0, 0.006_694_379_990_14, ORIGIN.0.to_radians());
    let w2 = 1.0 - e2 * latitude.sin().powi(2);
    let n = a / w2.sqrt();
    let m = n * (1.0 - e2) / w2;
    let degrees = [north / m, east / (n * latitude.cos())].map(f64::to_degrees);
    [ORIGIN.0 + degrees[0], ORIGIN.1 + degrees[1]]
}
