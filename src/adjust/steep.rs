//! The steep leg: what tape and heights say of a horizontal length that hardly shows in them.
//!
//! A leg with a bearing and no clinometer whose tape barely exceeds its height difference has its
//! likeliest horizontal length at or near zero, where the tape loses its derivative. One weak
//! reading of that length gives it the mean and variance that the noise implies.

/// A weak reading of the horizontal length of a steep leg, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Steep {
    /// What is read.
    pub(super) value: f64,
    /// Its standard deviation.
    pub(super) sd: f64,
    /// The mean of the length, where the leg is laid to begin with.
    pub(super) mean: f64,
}

/// How many of its standard deviations q must exceed to be left alone.
const FIRM: f64 = 3.0;
/// How many of its standard deviations q must exceed for the direction in plan to be firm: the run
/// is then known to a twentieth of itself, and its far end cannot come round the near one.
const FIRM_DIRECTION: f64 = 10.0;
/// Abscissae of the quadrature; the integrand is smooth and vanishes at the far end.
const POINTS: usize = 256;
/// The reading keeps at least this share of the length's own information.
const LEAST_INFORMATION: f64 = 0.02;

/// The weak reading of a leg taped as `tape` (± `sd_tape`) over a rise of `rise` (± `sd_rise`),
/// all metres; `None` where the tape exceeds the rise firmly.
///
/// ```text
/// q = d² − Δz²,  s = σ(q) = 2 √( (d σd)² + (Δz σΔz)² ),  k = q / s,  y = length / √s
/// p(y) ∝ y · exp( −(y² − k)² / 2 )          leg directions isotropic: p(length) ∝ length
/// ```
/// With mean m and variance v of y, the reading has information 1/v − 4 m² (what tape and heights
/// already carry at m is 4 m²) and the value that puts the minimum at m.
pub(super) fn steep(tape: f64, rise: f64, sd_tape: f64, sd_rise: f64) -> Option<Steep> {
    let s = 2.0 * (tape * sd_tape).hypot(rise * sd_rise);
    let k = (tape * tape - rise * rise) / s;
    if s <= 0.0 || k >= FIRM {
        return None;
    }
    let (m, v) = moments(k);
    let information = (1.0 / v - 4.0 * m * m).max(LEAST_INFORMATION / v);
    let root = s.sqrt();
    Some(Steep {
        value: (m + 2.0 * m * (m * m - k) / information) * root,
        sd: root / information.sqrt(),
        mean: m * root,
    })
}

/// Whether a leg is so steep that its direction in plan is no firm ground for a derivative.
pub(super) fn is_loose(tape: f64, rise: f64, sd_tape: f64, sd_rise: f64) -> bool {
    let s = 2.0 * (tape * sd_tape).hypot(rise * sd_rise);
    tape * tape - rise * rise < FIRM_DIRECTION * s
}

/// Mean and variance of y for a given k, by the rectangle rule.
fn moments(k: f64) -> (f64, f64) {
    let reach = (k.max(0.0) + 5.0).sqrt();
    let lift = 0.5 * k.min(0.0).powi(2); // keeps the exponent near zero for k far below zero
    let (mut mass, mut first, mut second) = (0.0, 0.0, 0.0);
    for point in 1..=POINTS {
        let y = reach * point as f64 / POINTS as f64;
        let density = y * (lift - 0.5 * (y * y - k).powi(2)).exp();
        mass += density;
        first += density * y;
        second += density * y * y;
    }
    let mean = first / mass;
    (mean, second / mass - mean * mean)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_firm_leg_is_left_alone() {
        assert_eq!(steep(5.0, 1.0, 0.03, 0.1), None);
        assert_eq!(steep(0.0, 0.0, 0.03, 0.1), None); // a leg without length has no direction
    }

    /// At k = 0 the moments are known: with t = y², E[y] = Γ(3/4)·2^(1/4)/√π, E[y²] = √(2/π).
    #[test]
    fn moments_at_zero_have_a_closed_form() {
        let (m, v) = moments(0.0);
        let gamma_three_quarters = 1.225_416_702_465_178;
        let mean = gamma_three_quarters * 2.0_f64.powf(0.25) / std::f64::consts::PI.sqrt();
        assert!((m - mean).abs() < 2e-4, "{m} {mean}");
        assert!((v + m * m - std::f64::consts::FRAC_2_PI.sqrt()).abs() < 2e-4);
    }
}
