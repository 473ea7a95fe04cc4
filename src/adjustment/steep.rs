//! The steep leg: what tape and heights say of a horizontal length that hardly shows in them.
//!
//! A leg with a bearing and no clinometer whose tape barely exceeds its height difference has its
//! likeliest horizontal length at or near zero, where the tape loses its derivative. One weak
//! reading of that length gives it the mean and variance that the noise implies.
//!
//! What the noise implies hangs on how legs lean. Taken as even over the sphere, thirteen legs up
//! one leaning trunk all come out too long, and the error of their sum grows with their number
//! while its standard deviation grows with the root of it. So the legs of a trail tell together
//! how closely they keep to the plumb line, from not at all to within a few degrees, and how many
//! of them do.

use crate::maths::statistics::interval::{normal_cdf, rectified_mean};
use std::f64::consts::PI;
use std::iter;

/// A steep leg as tape and heights show it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct SteepLeg {
    /// Squared horizontal length in its own standard deviations.
    k: f64,
    /// Standard deviation of the squared horizontal length, m².
    s: f64,
    /// The same as a share of the squared tape.
    share: f64,
}

/// A weak reading of the horizontal length of a steep leg, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Steep {
    /// What is read.
    pub(super) value: f64,
    /// Its standard deviation.
    pub(super) sd: f64,
    /// The mean of the length, where the leg is laid to begin with.
    pub(super) mean: f64,
    /// How far the reading moves with one standard deviation of what is unknown of the lean that
    /// the steep legs of a trail share.
    pub(super) shared: f64,
}

/// How many of its standard deviations q must exceed to be left alone.
const FIRM: f64 = 3.0;
/// How many of its standard deviations q must exceed for the direction in plan to be firm: the run
/// is then known to a twentieth of itself, and its far end cannot come round the near one.
const FIRM_DIRECTION: f64 = 10.0;
/// Abscissae of the quadrature; the integrand is smooth and vanishes at the far end.
const POINTS: usize = 64;
/// The reading keeps at least this share of the length's own information.
const LEAST_INFORMATION: f64 = 0.02;
/// How closely legs may keep to the plumb line (κ): not at all; and from hardly to within some 7°,
/// each step twice as closely. A leg closer than that is plumb to the eye.
const CLOSENESS: [f64; 8] = [0.0, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0];
/// The share of a trail's legs that may lean evenly all the same, where the others keep to the
/// plumb line: few or half of them.
const EVEN: [f64; 2] = [0.1, 0.5];

impl SteepLeg {
    /// A leg taped as `tape` (± `sd_tape`) over a rise of `rise` (± `sd_rise`), all metres; `None`
    /// where the tape exceeds the rise firmly.
    ///
    /// ```text
    /// q = d² − Δz²,  s = σ(q) = 2 √( (d σd)² + (Δz σΔz)² ),  k = q / s
    /// ```
    pub(super) fn of(tape: f64, rise: f64, sd_tape: f64, sd_rise: f64) -> Option<Self> {
        let s = 2.0 * (tape * sd_tape).hypot(rise * sd_rise);
        let k = (tape * tape - rise * rise) / s;
        let least = f64::MIN_POSITIVE;
        (s > 0.0 && k < FIRM).then(|| Self { k, s, share: s / (tape * tape).max(least) })
    }

    /// How likely this k is where legs keep to the plumb line with closeness `kappa`, among legs
    /// that are steep at all; what does not hang on κ is left out.
    ///
    /// ```text
    /// p(k) = ∫ exp(−a q) φ(q − k) dq / ∫ exp(−a q) Φ(3 − q) dq          a = κ s / d²,  q ≥ 0
    ///      ∝ Φ(k − a) exp( (k − a)² / 2 ) · a / ( Φ(3) − exp(−3a + a²/2) Φ(3 − a) )
    /// ```
    fn likelihood(&self, kappa: f64) -> f64 {
        let a = kappa * self.share;
        let steep_at_all = if a > 0.0 {
            (normal_cdf(FIRM) - (ln_tail(FIRM - a) - 0.5 * FIRM * FIRM).exp()) / a
        } else {
            rectified_mean(FIRM, 1.0)
        };
        // Its size is lost in a far tail, what matters is the ratio between kinds of legs.
        (ln_tail(self.k - a) - ln_tail(self.k)).exp() / steep_at_all
    }

    /// The weak reading where directions are taken as even, whatever the other legs tell.
    pub(super) fn even(&self) -> Steep {
        let (m, v) = self.moments(0.0);
        self.reading(m, v, 0.0)
    }

    /// Mean and variance of y = length / √s for closeness `kappa`: that of even directions with k
    /// moved down by a.
    fn moments(&self, kappa: f64) -> (f64, f64) {
        moments(self.k - kappa * self.share)
    }

    /// The weak reading of information I and value r that gives y the mean `m` and the variance
    /// `v`, and moves with `shared` so that the mean moves by it. Tape and heights already carry
    /// the information 4 m² at m.
    ///
    /// ```text
    /// cost = (y² − k)² / 2 + I (y − r)² / 2,   its slope is nothing at m
    /// I = 1/v − 4 m², but not under 2 (k − m²): a second minimum would stand near √k
    /// dr/dm = (4 m² + I) / I
    /// ```
    fn reading(&self, m: f64, v: f64, shared: f64) -> Steep {
        let alone = 2.0 * (self.k - m * m);
        let information = (1.0 / v - 4.0 * m * m).max(LEAST_INFORMATION / v).max(alone);
        let root = self.s.sqrt();
        Steep {
            value: (m + 2.0 * m * (m * m - self.k) / information) * root,
            sd: root / information.sqrt(),
            mean: m * root,
            shared: shared * (4.0 * m * m + information) / information * root,
        }
    }
}

/// A way in which the legs of a trail may lean: closeness by index, and the share that is even.
type Kind = (usize, f64);

/// Even directions, or closeness with few or many even ones among them.
fn kinds() -> impl Iterator<Item = (Kind, f64)> {
    // All, half or few of the legs even: equally likely beforehand.
    let third = 1.0 / 3.0;
    let close = (1..CLOSENESS.len()).flat_map(|at| EVEN.map(|even| (at, even)));
    let each = third / (CLOSENESS.len() - 1) as f64;
    iter::once(((0, 1.0), third)).chain(close.map(move |kind| (kind, each)))
}

/// What one leg says of each closeness: how likely it is, and the mean and variance of y under it.
#[derive(Clone, Copy, Debug)]
struct Told([(f64, f64, f64); CLOSENESS.len()]);

impl Told {
    fn by(leg: &SteepLeg) -> Self {
        Self(CLOSENESS.map(|kappa| {
            let (m, v) = leg.moments(kappa);
            (leg.likelihood(kappa), m, v)
        }))
    }

    /// The same of a kind: two normal-like pieces, of an even leg and of a close one.
    ///
    /// ```text
    /// l = ε l₀ + (1 − ε) l₁,   r = ε l₀ / l,   m = r m₀ + (1 − r) m₁,
    /// v = r v₀ + (1 − r) v₁ + r (1 − r) (m₀ − m₁)²
    /// ```
    fn of(&self, (at, even): Kind) -> (f64, f64, f64) {
        let ((l0, m0, v0), (l1, m1, v1)) = (self.0[0], self.0[at]);
        let l = even * l0 + (1.0 - even) * l1;
        let r = even * l0 / l;
        let between = r * (1.0 - r) * (m0 - m1).powi(2);
        (l, r * m0 + (1.0 - r) * m1, r * v0 + (1.0 - r) * v1 + between)
    }
}

/// The weak readings of the steep legs of one trail.
///
/// ```text
/// p(length) ∝ length · exp( −κ (length / d)² )       Watson about the plumb line; κ = 0: even
/// p(y | κ) ∝ y · exp( −(y² − k + a)² / 2 )           a = κ s / d²
/// a leg is even with chance ε, else close with κ
/// mean = Σ w m(κ, ε),   variance = Σ w v(κ, ε),   shared = √( Σ w ( m(κ, ε) − mean )² )
/// ```
/// w is how likely each κ and ε is after all legs. What is unknown of the two moves all legs
/// together, and is kept apart from what is each leg's own.
/// Sources: [`Source::Watson1965`](crate::survey::sources::Source::Watson1965) for the distribution,
/// [`Source::Efron1975`](crate::survey::sources::Source::Efron1975) for legs that inform each other.
pub(super) fn readings(legs: &[SteepLeg]) -> Vec<Steep> {
    let told: Vec<Told> = legs.iter().map(Told::by).collect();
    let ln_weight = |(kind, beforehand): (Kind, f64)| {
        let ln_likelihood: f64 = told.iter().map(|told| told.of(kind).0.ln()).sum();
        (kind, beforehand.ln() + ln_likelihood)
    };
    let ln_weights: Vec<(Kind, f64)> = kinds().map(ln_weight).collect();
    let most = ln_weights.iter().map(|(_, ln)| *ln).fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<(Kind, f64)> =
        ln_weights.into_iter().map(|(kind, ln)| (kind, (ln - most).exp())).collect();
    let total: f64 = weights.iter().map(|(_, weight)| weight).sum();
    let of = |(leg, told): (&SteepLeg, &Told)| {
        let over = |what: &dyn Fn(f64, f64) -> f64| {
            let each = weights.iter().map(|&(kind, weight)| {
                let (_, m, v) = told.of(kind);
                weight * what(m, v)
            });
            each.sum::<f64>() / total
        };
        let mean = over(&|m, _| m);
        leg.reading(mean, over(&|_, v| v), over(&|m, _| (m - mean).powi(2)).sqrt())
    };
    legs.iter().zip(&told).map(of).collect()
}

/// Whether a leg is so steep that its direction in plan is no firm ground for a derivative.
pub(super) fn is_loose(tape: f64, rise: f64, sd_tape: f64, sd_rise: f64) -> bool {
    let s = 2.0 * (tape * sd_tape).hypot(rise * sd_rise);
    tape * tape - rise * rise < FIRM_DIRECTION * s
}

/// Mean and variance of y for a given k, by the midpoint rule up to where the density has fallen
/// by exp(−12.5).
///
/// ```text
/// p(y) ∝ y · exp( −(y² − k)² / 2 )
/// ```
fn moments(k: f64) -> (f64, f64) {
    let root = (k * k + 25.0).sqrt();
    let reach = if k < 0.0 { 25.0 / (root - k) } else { k + root }.sqrt();
    let (mut mass, mut first, mut second) = (0.0, 0.0, 0.0);
    for point in 0..POINTS {
        let y = reach * (point as f64 + 0.5) / POINTS as f64;
        let q = y * y;
        // Expanded, so that k far below zero leaves the exponent near zero.
        let exponent = if k < 0.0 { q * (k - 0.5 * q) } else { -0.5 * (q - k).powi(2) };
        let density = y * exponent.exp();
        mass += density;
        first += density * y;
        second += density * q;
    }
    let mean = first / mass;
    (mean, second / mass - mean * mean)
}

/// ln( Φ(z) exp(z²/2) ), by the first terms of its series where Φ is nothing.
fn ln_tail(z: f64) -> f64 {
    if z > -10.0 {
        return normal_cdf(z).ln() + 0.5 * z * z;
    }
    let square = (z * z).recip();
    (square * (square * (3.0 - 15.0 * square) - 1.0)).ln_1p() - (-z * (2.0 * PI).sqrt()).ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_firm_leg_is_left_alone() {
        assert_eq!(SteepLeg::of(5.0, 1.0, 0.03, 0.1), None);
        // A leg without length has no direction.
        assert_eq!(SteepLeg::of(0.0, 0.0, 0.03, 0.1), None);
    }

    /// At k = 0 the moments are known: with t = y², E[y] = Γ(3/4)·2^(1/4)/√π, E[y²] = √(2/π).
    #[test]
    fn moments_at_zero_have_a_closed_form() {
        let (m, v) = moments(0.0);
        let gamma_three_quarters = 1.225_416_702_465_178;
        let mean = gamma_three_quarters * 2.0_f64.powf(0.25) / PI.sqrt();
        assert!((m - mean).abs() < 2e-4, "{m} {mean}");
        assert!((v + m * m - std::f64::consts::FRAC_2_PI.sqrt()).abs() < 2e-4);
    }

    /// Far below zero y is Rayleigh: E[y] = √(π/4|k|), E[y²] = 1/|k|.
    #[test]
    fn moments_far_below_zero_are_those_of_rayleigh() {
        let (m, v) = moments(-1e6);
        assert!((m / (PI / 4e6).sqrt() - 1.0).abs() < 1e-3, "{m}");
        assert!(((v + m * m) * 1e6 - 1.0).abs() < 1e-3, "{v}");
    }

    #[test]
    fn the_two_forms_of_the_tail_meet() {
        assert!((ln_tail(-10.0) - ln_tail(-9.999_999)).abs() < 1e-5);
    }

    /// Both integrals of the likelihood, summed by brute force.
    #[test]
    fn the_likelihood_is_the_ratio_of_its_integrals() {
        let leg = SteepLeg { k: 0.7, s: 0.5, share: 0.2 };
        let ratio = |kappa: f64| {
            let a = kappa * leg.share;
            let (mut above, mut below) = (0.0, 0.0);
            for step in 0..200_000 {
                let q = (f64::from(step) + 0.5) * 1e-4;
                above += (-a * q - 0.5 * (q - leg.k).powi(2)).exp();
                below += (-a * q).exp() * normal_cdf(FIRM - q);
            }
            above / below
        };
        let size = ratio(0.0) / leg.likelihood(0.0);
        for kappa in CLOSENESS {
            let quotient = ratio(kappa) / leg.likelihood(kappa) / size;
            assert!((quotient - 1.0).abs() < 1e-4, "{kappa}: {quotient}");
        }
    }

    /// d = 5, Δz = 4: q = 25 − 16 = 9, s = 2 √( (5 · 0.3)² + (4 · 0.5)² ) = 5, k = 1.8, s/d² = 0.2.
    #[test]
    fn a_steep_leg_in_its_own_deviations() {
        let leg = SteepLeg::of(5.0, -4.0, 0.3, 0.5).unwrap();
        let near = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-12, "{found}");
        near(leg.k, 1.8);
        near(leg.s, 5.0);
        near(leg.share, 0.2);
        // Three deviations are firm, ten make the direction firm as well: q = 9 is 10 s where s = 0.9.
        assert!(
            SteepLeg::of(5.0, 4.0, 0.29, 0.0).is_none()
                && SteepLeg::of(5.0, 4.0, 0.31, 0.0).is_some()
        );
        assert!(is_loose(5.0, 4.0, 0.0905, 0.0) && !is_loose(5.0, 4.0, 0.0895, 0.0));
        assert!(is_loose(5.0, 4.0, 0.0, 0.1130) && !is_loose(5.0, 4.0, 0.0, 0.1120));
    }

    /// k = ½, m = ½, v = 0.2: I = 5 − 1 = 4 is more than 2 (½ − ¼), r = ½ + (¼ − ½) / 4.
    /// k = 3, m = ½, v = 1: 2 (3 − ¼) = 5.5 is the most, r = ½ + (¼ − 3) / 5.5 = 0.
    /// k = m = 1, v = ¼: nothing is left of 4 − 4, a fiftieth of 4 is kept.
    #[test]
    fn the_weak_reading_leaves_mean_and_variance_as_they_are() {
        let of = |k: f64, s: f64, m: f64, v: f64| SteepLeg { k, s, share: 1.0 }.reading(m, v, 0.1);
        let near = |found: Steep, [value, sd, mean, shared]: [f64; 4]| {
            for (found, expected) in
                [(found.value, value), (found.sd, sd), (found.mean, mean), (found.shared, shared)]
            {
                assert!((found - expected).abs() < 1e-12, "{found} for {expected}");
            }
        };
        near(of(0.5, 1.0, 0.5, 0.2), [0.4375, 0.5, 0.5, 0.125]);
        near(of(3.0, 1.0, 0.5, 1.0), [0.0, 5.5_f64.sqrt().recip(), 0.5, 0.1 * 6.5 / 5.5]);
        near(of(1.0, 4.0, 1.0, 0.25), [2.0, 2.0 / 0.08_f64.sqrt(), 2.0, 0.2 * 4.08 / 0.08]);
    }

    /// l = ½ · 0.2 + ½ · 0.6 = 0.4, of which the even leg is a quarter: m = 2.5, and
    /// v = ¼ · 0.5 + ¾ · 0.1 + 3/16 · 2² = 0.95.
    #[test]
    fn an_even_and_a_close_leg_are_mixed() {
        let mut told = Told([(0.6, 3.0, 0.1); CLOSENESS.len()]);
        told.0[0] = (0.2, 1.0, 0.5);
        let (l, m, v) = told.of((2, 0.5));
        assert!((l - 0.4).abs() < 1e-12 && (m - 2.5).abs() < 1e-12 && (v - 0.95).abs() < 1e-12);
    }

    /// Beforehand a third for all even; the rest in equal parts. They make one.
    #[test]
    fn kinds_are_equally_likely_beforehand() {
        let all: Vec<(Kind, f64)> = kinds().collect();
        assert_eq!((all.len(), all[0]), (15, ((0, 1.0), 1.0 / 3.0)));
        assert!((all.iter().map(|(_, chance)| chance).sum::<f64>() - 1.0).abs() < 1e-12);
        let few: f64 = all.iter().filter(|((_, even), _)| *even < 0.2).map(|(_, c)| c).sum();
        assert!((few - 1.0 / 3.0).abs() < 1e-12);
    }

    /// On either side of nothing, summed by brute force.
    #[test]
    fn moments_are_those_of_a_finer_sum() {
        for k in [-3.0_f64, 0.4, 2.5] {
            let (mut mass, mut first, mut second) = (0.0, 0.0, 0.0);
            for step in 0..400_000 {
                let y = (f64::from(step) + 0.5) * 1e-5;
                let density = y * (-0.5 * ((y * y - k).powi(2) - k.min(0.0).powi(2))).exp();
                (mass, first) = (mass + density, first + density * y);
                second += density * y * y;
            }
            let (m, v) = moments(k);
            assert!((m - first / mass).abs() < 1e-4, "{k}: {m}");
            assert!((v + m * m - second / mass).abs() < 1e-4, "{k}: {v}");
        }
    }

    /// Many legs up one trunk are laid at its lean, on average; one alone as more even directions
    /// would have it. Readings of the rise are spread over the quantiles of their noise.
    #[test]
    fn legs_that_lean_alike_tell_so() {
        let leg = |noise: f64| SteepLeg::of(2.0, 1.95 + 0.15 * noise, 0.03, 0.15);
        let lean = (2.0_f64.powi(2) - 1.95_f64.powi(2)).sqrt();
        let alone = readings(&[leg(0.0).unwrap()])[0].mean;
        assert!(alone > 1.2 * lean, "{alone} {lean}");
        let quantile = |at: i32| {
            let below = |z: &f64| normal_cdf(*z) < (f64::from(at) + 0.5) / 40.0;
            (-300..300).map(|z| f64::from(z) / 100.0).take_while(below).last()
        };
        let legs: Vec<SteepLeg> = (0..40).filter_map(quantile).filter_map(leg).collect();
        assert_eq!(legs.len(), 40);
        let mean = readings(&legs).iter().map(|steep| steep.mean).sum::<f64>() / 40.0;
        assert!((mean / lean - 1.0).abs() < 0.15, "{mean} {lean}");
    }
}
