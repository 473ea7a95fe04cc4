//! The von Mises distribution: how likely a resultant is at its best concentration.
//!
//! ```text
//! density exp( κ cos(θ − μ) ) / 2π I₀(κ)        A(κ) = I₁(κ) / I₀(κ) = mean resultant length
//! ```
//! Source: [`Source::Fisher1993`](crate::survey::sources::Source::Fisher1993).

use std::f64::consts::TAU;

/// Above this the asymptotic series are good to nine digits, below it the power series are short.
const LARGE: f64 = 30.0;

/// ℓ(r) = max over κ of κ r − ln I₀(κ): the log likelihood, less a constant, of a direction whose
/// mean cosine from the mean direction is r. Rises with r; 0 from r = 0 down, where κ = 0 is best.
pub(super) fn profile(r: f64) -> f64 {
    if r <= 0.0 {
        return 0.0;
    }
    let kappa = concentration(r);
    kappa * r - ln_i0(kappa)
}

/// κ of A(κ) = r, by halving; r from 0 to 1.
fn concentration(r: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    while ratio(high) < r && high < 1e15 {
        (low, high) = (high, 2.0 * high);
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        *(if ratio(middle) < r { &mut low } else { &mut high }) = middle;
    }
    0.5 * (low + high)
}

/// A(κ).
fn ratio(kappa: f64) -> f64 {
    if kappa < LARGE {
        let [i0, half] = series(kappa);
        return 0.5 * kappa * half / i0;
    }
    // (1 − A) by powers of 1/κ
    let x = kappa.recip();
    1.0 - x * (0.5 + x * (0.125 + x * (0.125 + x * (25.0 / 128.0 + x * 13.0 / 32.0))))
}

fn ln_i0(kappa: f64) -> f64 {
    if kappa < LARGE {
        return series(kappa)[0].ln();
    }
    let x = (8.0 * kappa).recip();
    let tail = x * (1.0 + x * (4.5 + x * (37.5 + x * (459.375 + x * 7_441.875))));
    kappa - 0.5 * (TAU * kappa).ln() + tail.ln_1p()
}

/// I₀(κ) and 2 I₁(κ) / κ.
///
/// ```text
/// I₀ = Σ (κ²/4)ʲ / j!²        2 I₁/κ = Σ (κ²/4)ʲ / j! (j + 1)!
/// ```
fn series(kappa: f64) -> [f64; 2] {
    let x = 0.25 * kappa * kappa;
    let (mut term, mut sums, mut j) = (1.0, [0.0; 2], 0.0);
    while term > 1e-17 * sums[0] {
        sums = [sums[0] + term, sums[1] + term / (j + 1.0)];
        j += 1.0;
        term *= x / (j * j);
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// scipy 1.17: `special.iv(1, k) / special.iv(0, k)` and `log(special.ive(0, k)) + k`.
    #[test]
    fn bessel_functions_agree_with_the_reference() {
        let known = [
            (0.5, 0.242_499_612_580_801_9, 0.061_549_719_185_481_36),
            (2.0, 0.697_774_657_964_008_1, 0.823_993_541_482_956_2),
            (29.0, 0.982_604_564_921_205_2, 26.401_801_037_150_23),
            (31.0, 0.983_736_472_001_299_8, 28.368_167_462_366_415),
        ];
        for (kappa, a, ln) in known {
            assert_relative_eq!(ratio(kappa), a, max_relative = 1e-8);
            assert_relative_eq!(ln_i0(kappa), ln, max_relative = 1e-8);
        }
    }

    /// The slope of ℓ is κ.
    #[test]
    fn the_slope_of_the_profile_is_the_concentration() {
        for r in [0.05, 0.3, 0.8, 0.97, 0.99, 0.9999] {
            let h = 1e-5 * (1.0 - r);
            let slope = (profile(r + h) - profile(r - h)) / (2.0 * h);
            assert_relative_eq!(slope, concentration(r), max_relative = 1e-5);
        }
        assert!(profile(-0.2).abs() < 1e-300);
    }
}
