//! What intervals and tests need of the normal and the chi-squared distribution.
//!
//! Tail probabilities of the normal are good to ten digits, relatively, however far out.

use statrs::distribution::{ContinuousCDF, StudentsT};
use statrs::function::beta::checked_beta_reg;
use statrs::function::erf::{erfc, erfc_inv};
use statrs::function::gamma::checked_gamma_ur;
use std::f64::consts::{FRAC_1_SQRT_2, PI, SQRT_2};

/// Two-sided 95 % point of the standard normal.
pub const Z95: f64 = 1.959_963_984_540_054;

/// How many standard deviations `sd` an interval reaches beyond bounds that lie `width` apart, to
/// hold with 95 % a number that may lie anywhere between them: 1.96 where the bounds meet, 1.64
/// where they lie so far apart that it can be missed on one side alone.
/// Source: [`Source::Imbens2004`](crate::survey::sources::Source::Imbens2004).
///
/// ```text
/// Φ(c + width / sd) − Φ(−c) = 0.95
/// ```
pub fn reach_beyond_bounds(width: f64, sd: f64) -> f64 {
    let apart = width.max(0.0) / sd;
    if apart.is_nan() {
        return Z95;
    }
    let (mut low, mut high) = (1.6, 2.0);
    while high - low > 1e-9 {
        let c = 0.5 * (low + high);
        let held = normal_cdf(c + apart) - normal_cdf(-c);
        (low, high) = if held < 0.95 { (c, high) } else { (low, c) };
    }
    0.5 * (low + high)
}

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

/// What the largest of n standard normal numbers, signs aside, stays below with at least 95 %
/// (Bonferroni).
///
/// ```text
/// n P( |z| > c ) = 0.05
/// ```
pub fn largest_of_normal(n: usize) -> f64 {
    let each = 0.05 / n.max(1) as f64;
    let (mut low, mut high) = (0.0, 40.0);
    while high - low > 1e-6 {
        let c = 0.5 * (low + high);
        (low, high) = if normal_two_sided(c) > each { (c, high) } else { (low, c) };
    }
    high
}

/// The point below which a standard normal number falls with this chance.
pub fn normal_quantile(chance: f64) -> f64 {
    -SQRT_2 * erfc_inv(2.0 * chance)
}

/// The point that a Student's t number of so many degrees of freedom exceeds with this chance;
/// `None` without a degree of freedom.
pub fn student_upper(chance: f64, degrees_of_freedom: usize) -> Option<f64> {
    let t = StudentsT::new(0.0, 1.0, degrees_of_freedom as f64).ok()?;
    Some(t.inverse_cdf(1.0 - chance))
}

/// The chance of a chi-squared number at least as large as `statistic`; 1 without any degree of
/// freedom. NaN stays NaN, so that a failed sum of squares does not pass for a perfect fit.
pub fn chi_square_upper(statistic: f64, degrees_of_freedom: f64) -> f64 {
    if statistic.is_nan() {
        return f64::NAN;
    }
    if degrees_of_freedom <= 0.0 || statistic <= 0.0 {
        return 1.0;
    }
    checked_gamma_ur(0.5 * degrees_of_freedom, 0.5 * statistic).unwrap_or(0.0)
}

/// The point that a chi-squared number exceeds with this chance; 0 without any degree of freedom.
///
/// ```text
/// P( χ² > x ) = chance
/// ```
pub fn chi_square_point(chance: f64, degrees_of_freedom: f64) -> f64 {
    if degrees_of_freedom.is_nan() || degrees_of_freedom <= 0.0 {
        return 0.0;
    }
    let exceeded = |x: f64| chi_square_upper(x, degrees_of_freedom) > chance;
    let mut high = degrees_of_freedom + 10.0;
    while exceeded(high) && high.is_finite() {
        high *= 2.0;
    }
    let mut low = 0.0;
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        (low, high) = if exceeded(middle) { (middle, high) } else { (low, middle) };
    }
    0.5 * (low + high)
}

/// The chance of a number of the beta distribution, of these two shape parameters, at most as large as
/// `share`; `None` where they are no shape parameters.
pub fn beta_lower(share: f64, [a, b]: [f64; 2]) -> Option<f64> {
    let chance = checked_beta_reg(a, b, share.clamp(0.0, 1.0)).ok()?;
    chance.is_finite().then_some(chance)
}

/// Two-sided 95 % point of Student's t with so many degrees of freedom; infinite with none.
pub fn student_975(degrees_of_freedom: usize) -> f64 {
    let student = StudentsT::new(0.0, 1.0, degrees_of_freedom as f64);
    student.map_or(f64::INFINITY, |student| student.inverse_cdf(0.975))
}

/// Mean of a normal number cut at zero: what noise of `sd` makes of a climb of `mu`.
/// Source: [`Source::Johnson1994`](crate::survey::sources::Source::Johnson1994).
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

/// Standard deviation of a normal number cut at zero.
/// Source: [`Source::Johnson1994`](crate::survey::sources::Source::Johnson1994).
///
/// ```text
/// Var = σ² ( Φ(z) + m ( z Φ(−z) − φ(z) ) )      m = z Φ(z) + φ(z)      z = μ/σ
/// ```
pub fn rectified_sd(mu: f64, sd: f64) -> f64 {
    if sd <= 0.0 {
        return 0.0;
    }
    let z = mu / sd;
    let m = rectified_mean(z, 1.0);
    // Not E(X²) − m²: for a sure climb (z large) that difference loses all digits.
    let variance = normal_cdf(z) + m * (z * normal_cdf(-z) - normal_density(z));
    sd * variance.sqrt()
}

#[cfg(test)]
mod tests {
    use super::{Z95, chi_square_upper, largest_of_normal, reach_beyond_bounds, rectified_sd};
    use approx::assert_relative_eq;
    use serde_json::Value;

    /// The spread of a rectified normal number, printed to 14 digits.
    #[test]
    fn rectified_spread_agrees_with_the_reference() {
        let text = include_str!("../../../tests/reference/phantom_climb.json");
        let file: Value = serde_json::from_str(text).unwrap();
        let cases = file["cases"].as_array().unwrap();
        assert_eq!(cases.len(), 9);
        for case in cases {
            let [mu, sd, expected] = ["mu", "sd", "SD_max_0_N"].map(|k| case[k].as_f64().unwrap());
            assert_relative_eq!(rectified_sd(mu, sd), expected, max_relative = 2e-10);
        }
    }

    #[test]
    fn rectified_spread_at_the_edges() {
        assert_eq!(rectified_sd(1.0, 0.0).to_bits(), 0.0_f64.to_bits());
        assert_relative_eq!(rectified_sd(1e9, 1.0), 1.0);
        for z in 1..50 {
            let spread = rectified_sd(-f64::from(z), 1.0);
            assert!((0.0..1.0).contains(&spread), "{z}: {spread}");
        }
    }

    #[test]
    fn the_reach_goes_from_two_sides_to_one() {
        assert_relative_eq!(reach_beyond_bounds(0.0, 1.0), Z95, epsilon = 1e-8);
        assert_relative_eq!(reach_beyond_bounds(9.0, 1.0), 1.644_853_627, epsilon = 1e-8);
        assert_relative_eq!(reach_beyond_bounds(0.0, 0.0), Z95);
    }

    #[test]
    fn the_largest_of_one_is_the_two_sided_point() {
        assert_relative_eq!(largest_of_normal(1), Z95, epsilon = 1e-6);
        assert!(largest_of_normal(1_000_000) < 6.0);
    }

    #[test]
    fn an_undefined_sum_of_squares_is_no_perfect_fit() {
        assert!(chi_square_upper(f64::NAN, 3.0).is_nan());
    }
}
