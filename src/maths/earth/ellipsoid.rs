//! The WGS 84 ellipsoid and earth-centred coordinates.

/// Semi-major axis, metres (defining constant of WGS 84).
pub const A: f64 = 6_378_137.0;
/// Flattening (defining constant of WGS 84).
pub const F: f64 = 1.0 / 298.257_223_563;
/// First eccentricity squared.
pub const E2: f64 = F * (2.0 - F);

/// Radius of curvature in the prime vertical at this latitude (radians), metres.
pub fn prime_vertical(latitude: f64) -> f64 {
    A / (1.0 - E2 * latitude.sin().powi(2)).sqrt()
}

/// Earth-centred coordinates of a geodetic position (radians, metres).
///
/// ```text
/// X = (ν + h) cos φ cos λ,   Y = (ν + h) cos φ sin λ,   Z = ((1 − e²) ν + h) sin φ
/// ```
pub fn cartesian(latitude: f64, longitude: f64, height: f64) -> [f64; 3] {
    let nu = prime_vertical(latitude);
    let (sin_phi, cos_phi) = latitude.sin_cos();
    let (sin_lambda, cos_lambda) = longitude.sin_cos();
    [
        (nu + height) * cos_phi * cos_lambda,
        (nu + height) * cos_phi * sin_lambda,
        ((1.0 - E2) * nu + height) * sin_phi,
    ]
}

/// Geodetic latitude, longitude (radians) and height (metres) of earth-centred coordinates.
///
/// The latitude is the fixed point of φ = atan2(Z + e² ν sin φ, p): near the earth's surface each
/// round gains two to three digits, so that ten reach the last bit.
pub fn geodetic([x, y, z]: [f64; 3]) -> [f64; 3] {
    let p = x.hypot(y);
    let mut phi = z.atan2(p * (1.0 - E2));
    for _ in 0..10 {
        phi = (z + E2 * prime_vertical(phi) * phi.sin()).atan2(p);
    }
    let (sin, cos) = phi.sin_cos();
    // p cos φ + Z sin φ − ν (1 − e² sin²φ): firm at the poles and at the equator alike.
    let height = p * cos + z * sin - prime_vertical(phi) * (1.0 - E2 * sin * sin);
    [phi, y.atan2(x), height]
}
