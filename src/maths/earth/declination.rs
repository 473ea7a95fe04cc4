//! Declination by the geomagnetic reference field IGRF-14, 1900 to 2030.
//!
//! The field is minus the gradient of a potential in spherical harmonics; degrees up to 13.
//! Sources: [`Source::Igrf14`](crate::survey::sources::Source::Igrf14) for the coefficients,
//! [`Source::Alken2021`](crate::survey::sources::Source::Alken2021) for the synthesis.

use super::coefficients::{APART, COEFFICIENTS, DEGREE, EPOCHS, FIRST};
use super::ellipsoid::cartesian;
use super::frame::Position;
use crate::maths::quantity::Turn;
use jiff::civil::Date;

/// The reference radius of the model, metres.
const RADIUS: f64 = 6_371_200.0;

/// The geomagnetic field in the local geodetic frame, nanotesla.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    /// Towards true north.
    pub north: f64,
    /// Towards east.
    pub east: f64,
    /// Downward.
    pub down: f64,
}

impl Field {
    /// Magnetic north seen from true north, east positive.
    pub fn declination(&self) -> Turn {
        Turn::from_radians(self.east.atan2(self.north))
    }
}

/// Year and the share of it gone at the start of the day.
pub fn decimal_year(date: Date) -> f64 {
    let days = f64::from(date.days_in_year());
    f64::from(date.year()) + f64::from(date.day_of_year() - 1) / days
}

/// Declination at a place and date; `None` before 1 January 1900 and after 1 January 2030.
pub fn declination(position: Position, date: Date) -> Option<Turn> {
    field(position, decimal_year(date)).map(|field| field.declination())
}

/// The field at a place and decimal year; `None` outside 1900 to 2030.
pub fn field(position: Position, year: f64) -> Option<Field> {
    let last = FIRST + APART * (EPOCHS - 1) as f64;
    if !(FIRST..=last).contains(&year) {
        return None;
    }
    let (phi, lambda) = (position.latitude.to_radians(), position.longitude.to_radians());
    let [x, y, z] = cartesian(phi, lambda, position.elevation.to_metres());
    let r = x.hypot(y).hypot(z);
    let geocentric = z.atan2(x.hypot(y));
    let [radial, south, east] = spherical(r, geocentric, lambda, &gauss(year));
    // From the geocentric to the geodetic vertical.
    let (sin, cos) = (phi - geocentric).sin_cos();
    Some(Field { north: -south * cos - radial * sin, east, down: south * sin - radial * cos })
}

/// g (order m ≥ 0) and h of each degree and order.
type Gauss = [[(f64, f64); DEGREE + 1]; DEGREE + 1];

/// The coefficients at a year, linear between epochs.
fn gauss(year: f64) -> Gauss {
    let place = (year - FIRST) / APART;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 26")]
    let epoch = (place.floor() as usize).min(EPOCHS - 2);
    let share = place - epoch as f64;
    let mut gauss = [[(0.0, 0.0); DEGREE + 1]; DEGREE + 1];
    for (degree, order, values) in &COEFFICIENTS {
        let value = values[epoch] + share * (values[epoch + 1] - values[epoch]);
        let entry = &mut gauss[*degree][order.unsigned_abs() as usize];
        if *order < 0 { entry.1 = value } else { entry.0 = value }
    }
    gauss
}

/// The field at radius r (metres), geocentric latitude and longitude (radians): outward, southward
/// and eastward, nanotesla.
///
/// ```text
/// V = a Σₙ (a/r)ⁿ⁺¹ Σₘ (gₙₘ cos mλ + hₙₘ sin mλ) Pₙₘ(sin φ),   B = −∇V
/// ```
/// Pₙₘ are Schmidt quasi-normal, by recursion over the degree; P/cos φ is carried beside P so
/// that the eastward part stays finite at the poles.
fn spherical(r: f64, latitude: f64, longitude: f64, gauss: &Gauss) -> [f64; 3] {
    let (sin, cos) = latitude.sin_cos();
    let cos = cos.max(1e-10); // at a pole, north is along the meridian that was asked for
    let legendre = Legendre::at(sin, cos);
    let (mut outward, mut southward, mut eastward) = (0.0, 0.0, 0.0);
    let mut scale = (RADIUS / r).powi(2);
    for (n, degree) in gauss.iter().enumerate().skip(1) {
        scale *= RADIUS / r;
        for (m, (g, h)) in degree[..=n].iter().enumerate() {
            let (sin_m, cos_m) = (m as f64 * longitude).sin_cos();
            let along = g * cos_m + h * sin_m;
            outward += scale * (n + 1) as f64 * along * legendre.p[n][m];
            southward -= scale * along * legendre.by_colatitude[n][m];
            eastward += scale * m as f64 * (g * sin_m - h * cos_m) * legendre.p[n][m] / cos;
        }
    }
    [outward, southward, eastward]
}

/// Schmidt quasi-normal associated Legendre functions of the sine of latitude, and their
/// derivatives by colatitude.
struct Legendre {
    p: [[f64; DEGREE + 1]; DEGREE + 1],
    by_colatitude: [[f64; DEGREE + 1]; DEGREE + 1],
}

impl Legendre {
    /// With x = cos θ and s = sin θ (θ colatitude):
    ///
    /// ```text
    /// Pₘₘ = s Pₘ₋₁,ₘ₋₁ √((2m−1)/(2m))   (P₁₁ = s)
    /// Pₙₘ = ((2n−1) x Pₙ₋₁,ₘ − √((n−1)² − m²) Pₙ₋₂,ₘ) / √(n² − m²)
    /// ```
    fn at(x: f64, s: f64) -> Self {
        let mut p = [[0.0; DEGREE + 1]; DEGREE + 1];
        let mut d = [[0.0; DEGREE + 1]; DEGREE + 1];
        p[0][0] = 1.0;
        for n in 1..=DEGREE {
            for m in 0..=n {
                if m == n {
                    let k = if n == 1 { 1.0 } else { (1.0 - 0.5 / n as f64).sqrt() };
                    p[n][n] = k * s * p[n - 1][n - 1];
                    d[n][n] = k * (x * p[n - 1][n - 1] + s * d[n - 1][n - 1]);
                } else {
                    let (n_, m_) = (n as f64, m as f64);
                    let whole = (n_ * n_ - m_ * m_).sqrt();
                    let before =
                        if n >= 2 { ((n_ - 1.0).powi(2) - m_ * m_).max(0.0).sqrt() } else { 0.0 };
                    let (p2, d2) = if n >= 2 { (p[n - 2][m], d[n - 2][m]) } else { (0.0, 0.0) };
                    let twice = 2.0 * n_ - 1.0;
                    p[n][m] = (twice * x * p[n - 1][m] - before * p2) / whole;
                    d[n][m] = (twice * (x * d[n - 1][m] - s * p[n - 1][m]) - before * d2) / whole;
                }
            }
        }
        Self { p, by_colatitude: d }
    }
}
