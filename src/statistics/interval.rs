//! What intervals and tests need of the normal and the chi-squared distribution.

use statrs::function::erf::erfc;
use statrs::function::gamma::checked_gamma_ur;
use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// Two-sided 95 % point of the standard normal.
pub const Z95: f64 = 1.959_963_984_540_054;

/// Standard normal density.
pub fn normal_density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Standard normal distribution function.
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * erfc(-z * FRAC_1_SQRT_2)
}

/// The chance of a standard normal at least as far from zero as `z`.
pub fn normal_two_sided(z: f64) -> f64 {
    erfc(z.abs() * FRAC_1_SQRT_2)
}

/// The chance of a chi-squared number at least as large as `statistic`; 1 without any degree of
/// freedom.
pub fn chi_square_upper(statistic: f64, degrees_of_freedom: usize) -> f64 {
    if degrees_of_freedom == 0 || statistic.is_nan() || statistic <= 0.0 {
        return 1.0;
    }
    checked_gamma_ur(0.5 * degrees_of_freedom as f64, 0.5 * statistic).unwrap_or(0.0)
}

/// Mean of a normal number cut at zero: what noise of `sd` makes of a climb of `mu`.
/// Source: [`Source::Johnson1994`](crate::sources::Source::Johnson1994).
///
/// ```text
/// E max(0, N(μ, σ)) = μ Φ(μ/σ) + σ φ(μ/σ)
/// ```
pub fn rectified_mean(mu: f64, sd: f64) -> f64 {
    if sd <= 0.0 {
        return mu.max(0.0);
    }
    mu * normal_cdf(mu / sd) + sd * normal_density(mu / sd)
}
