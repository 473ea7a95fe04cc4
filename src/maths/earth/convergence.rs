//! The UTM grid: its zones, its coordinates, and how far its north lies from true north.

use super::ellipsoid::{A, E2, F};
use super::frame::Position;
use crate::maths::quantity::{Latitude, Longitude, Turn, wrap_half_turn};

/// The UTM zone of a place, with the exceptions of Norway and Svalbard. A border belongs to the
/// zone east of it, so that 180° east and west are both in zone 1.
/// Source: [`Source::Epsg2019`](crate::survey::sources::Source::Epsg2019).
pub fn utm_zone(latitude: Latitude, longitude: Longitude) -> u8 {
    let (north, east) = (latitude.to_degrees(), longitude.to_degrees());
    let norway = (56.0..64.0).contains(&north) && (3.0..12.0).contains(&east);
    let svalbard = (72.0..=84.0).contains(&north) && (0.0..42.0).contains(&east);
    if norway {
        return 32;
    }
    if svalbard {
        return match east {
            e if e < 9.0 => 31,
            e if e < 21.0 => 33,
            e if e < 33.0 => 35,
            _ => 37,
        };
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 60")]
    let sixth = ((east + 180.0) / 6.0).floor() as u8;
    sixth % 60 + 1
}

/// Longitude of a zone's central meridian, radians.
fn central_meridian(zone: u8) -> f64 {
    Turn::from_degrees(f64::from(zone) * 6.0 - 183.0).to_radians()
}

/// How far grid north lies east of true north: true bearing = grid bearing + convergence.
pub fn utm_convergence(position: Position) -> Turn {
    convergence_in_zone(position, utm_zone(position.latitude, position.longitude))
}

/// The same on the grid of a stated zone, for maps drawn past its borders.
pub fn convergence_in_zone(position: Position, zone: u8) -> Turn {
    let lambda = wrap_half_turn(position.longitude.to_radians() - central_meridian(zone));
    Turn::from_radians(convergence(position.latitude.to_radians(), lambda))
}

/// Scale on the central meridian, and the easting there (DMA TM 8358.2).
const SCALE: f64 = 0.9996;
const FALSE_EASTING: f64 = 500_000.0;
/// What is added to northings that are counted south of the equator.
const FALSE_NORTHING: f64 = 10_000_000.0;

/// Easting and northing on the grid of a zone, metres; `south` adds ten million metres.
/// Source: [`Source::Karney2011`](crate::survey::sources::Source::Karney2011).
///
/// ```text
/// E = 500 km + k₀A (η' + Σ αⱼ cos 2jξ' sinh 2jη'),   N = k₀A (ξ' + Σ αⱼ sin 2jξ' cosh 2jη')
/// ```
/// A the radius of a circle as long as the meridian.
pub fn utm_coordinates(position: Position, zone: u8, south: bool) -> [f64; 2] {
    let lambda = wrap_half_turn(position.longitude.to_radians() - central_meridian(zone));
    let (_, xi, eta) = conformal(position.latitude.to_radians(), lambda);
    let (mut east, mut north) = (eta, xi);
    for (j, alpha) in krueger().into_iter().enumerate() {
        let twice = 2.0 * (j + 1) as f64;
        east += alpha * (twice * xi).cos() * (twice * eta).sinh();
        north += alpha * (twice * xi).sin() * (twice * eta).cosh();
    }
    let n2 = (F / (2.0 - F)).powi(2);
    let radius = A * (2.0 - F) / 2.0 * (1.0 + n2 / 4.0 + n2 * n2 / 64.0); // a / (1 + n) is a (2 − f) / 2
    let from = if south { FALSE_NORTHING } else { 0.0 };
    [FALSE_EASTING + SCALE * radius * east, from + SCALE * radius * north]
}

/// Convergence of the transverse Mercator projection at latitude φ, λ from its meridian, radians.
/// Source: [`Source::Karney2011`](crate::survey::sources::Source::Karney2011), the series in the third
/// flattening n.
///
/// ```text
/// γ' = atan2(τ' tan λ, √(1 + τ'²)),  p + iq = 1 + Σ 2j αⱼ cos 2j(ξ' + iη'),  γ = γ' + atan2(−q, p)
/// ```
fn convergence(phi: f64, lambda: f64) -> f64 {
    let (tau, xi, eta) = conformal(phi, lambda);
    let (mut p, mut q) = (1.0, 0.0);
    for (j, alpha) in krueger().into_iter().enumerate() {
        let twice = 2.0 * (j + 1) as f64;
        p += twice * alpha * (twice * xi).cos() * (twice * eta).cosh();
        q += twice * alpha * (twice * xi).sin() * (twice * eta).sinh();
    }
    (tau * lambda.tan()).atan2(tau.hypot(1.0)) + q.atan2(p)
}

/// The tangent τ' of the conformal latitude, and ξ', η' on the sphere:
///
/// ```text
/// τ = tan φ,  σ = sinh(e atanh(e τ / √(1 + τ²))),  τ' = τ √(1 + σ²) − σ √(1 + τ²)
/// ξ' = atan2(τ', cos λ),  η' = asinh(sin λ / √(τ'² + cos²λ))
/// ```
fn conformal(phi: f64, lambda: f64) -> (f64, f64, f64) {
    let e = E2.sqrt();
    let tau = phi.tan();
    let sigma = (e * (e * tau / tau.hypot(1.0)).atanh()).sinh();
    let conformal = tau * sigma.hypot(1.0) - sigma * tau.hypot(1.0);
    let (sin, cos) = lambda.sin_cos();
    (conformal, conformal.atan2(cos), (sin / conformal.hypot(cos)).asinh())
}

/// The series α₁ … α₄ to the fourth power of n: the next term is below 1e-12.
fn krueger() -> [f64; 4] {
    let n = F / (2.0 - F);
    let (n2, n3, n4) = (n * n, n.powi(3), n.powi(4));
    [
        n / 2.0 - 2.0 / 3.0 * n2 + 5.0 / 16.0 * n3 + 41.0 / 180.0 * n4,
        13.0 / 48.0 * n2 - 3.0 / 5.0 * n3 + 557.0 / 1440.0 * n4,
        61.0 / 240.0 * n3 - 103.0 / 140.0 * n4,
        49_561.0 / 161_280.0 * n4,
    ]
}
