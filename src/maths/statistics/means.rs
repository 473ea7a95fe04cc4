//! The 95 % interval of the mean of a few values, skewed or not.
//!
//! In: one value an animal. Out: both ends, or `None` of fewer than [`FEWEST`] values or of values without
//! spread. Student's t misses the mean of skewed values on one side: of twelve exponential ones in nine
//! of 100 samples. Its skewness is taken off by a transformation that never turns back, so that every
//! sample has an interval. Source: [`Source::Hall1992`](crate::survey::sources::Source::Hall1992).
//!
//! ```text
//! T = (x̄ − μ) / (s / √n)        γ the skewness of the values
//! g(T) = T + γ (T²/3 + 1/6) / √n + γ² T³ / 27 n        is nearly Student's t
//! μ from x̄ − g⁻¹(t) s/√n to x̄ − g⁻¹(−t) s/√n
//! ```

use super::describe::{mean, sd};
use super::interval::student_975;

/// Fewest values of which a mean has an interval.
pub const FEWEST: usize = 3;

/// The 95 % interval of the mean of a sample.
pub fn interval_of_mean(sample: &[f64]) -> Option<[f64; 2]> {
    let (centre, spread) = (mean(sample)?, sd(sample)?);
    if sample.len() < FEWEST || spread <= 1e-12 * centre.abs() || !spread.is_finite() {
        return None;
    }
    let (n, t) = (sample.len() as f64, student_975(sample.len() - 1));
    let gamma = skewness(sample, centre, spread);
    let end = |t: f64| centre - untransformed(t, gamma, n) * spread / n.sqrt();
    Some([end(t), end(-t)])
}

/// g⁻¹, by its cube root.
pub(super) fn untransformed(t: f64, gamma: f64, n: f64) -> f64 {
    let by = gamma / (3.0 * n.sqrt());
    if by.abs() < 1e-6 {
        return t;
    }
    ((1.0 + 3.0 * by * (t - gamma / (6.0 * n.sqrt()))).cbrt() - 1.0) / by
}

/// The skewness of values of this mean and standard deviation, freed of most of its bias where there
/// are more than three; of three that correction is larger than what it corrects.
///
/// ```text
/// Σ (x − x̄)³ / n s³ · n² / ((n − 1)(n − 2))
/// ```
pub fn skewness(sample: &[f64], centre: f64, spread: f64) -> f64 {
    let n = sample.len() as f64;
    let third = sample.iter().map(|x| ((x - centre) / spread).powi(3)).sum::<f64>() / n;
    if sample.len() > 3 {
        third * n * n / ((n - 1.0) * (n - 2.0))
    } else {
        third * (n / (n - 1.0)).powf(1.5)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::statistics::chance::Chance;

    /// 1, 2, 3, 4, 5 are not skewed: Student's t, 2.776445 · 0.7071068 either way.
    #[test]
    fn values_without_skew_have_students_interval() {
        let [low, high] = interval_of_mean(&[1.0, 2.0, 3.0, 4.0, 5.0]).unwrap();
        assert!((low - (3.0 - 1.963_243)).abs() < 1e-5, "{low}");
        assert!((high - (3.0 + 1.963_243)).abs() < 1e-5, "{high}");
    }

    /// Both ends meet g(T) = ∓ t; a long tail to the right stretches the interval that way.
    #[test]
    fn ends_are_where_the_transformed_t_says() {
        let sample = [1.0, 1.2, 1.3, 1.9, 2.0, 6.5];
        let [low, high] = interval_of_mean(&sample).unwrap();
        let (centre, spread, n) = (mean(&sample).unwrap(), sd(&sample).unwrap(), 6.0_f64);
        let gamma = skewness(&sample, centre, spread);
        let g = |mu: f64| {
            let t = (centre - mu) / (spread / n.sqrt());
            t + gamma * (t * t / 3.0 + 1.0 / 6.0) / n.sqrt()
                + (gamma * gamma * t.powi(3)) / (27.0 * n)
        };
        assert!((g(low) - 2.570_582).abs() < 1e-5, "{}", g(low));
        assert!((g(high) + 2.570_582).abs() < 1e-5, "{}", g(high));
        assert!(high - centre > 1.5 * (centre - low), "{low} {centre} {high}");
    }

    #[test]
    fn too_few_values_or_none_of_them_apart_have_none() {
        assert_eq!(interval_of_mean(&[1.0, 2.0]), None);
        assert_eq!(interval_of_mean(&[2.0; 5]), None);
        assert_eq!(interval_of_mean(&[1.0, f64::NAN, 2.0]), None);
    }

    /// Of exponential values the mean lies within in 92 to 96 of 100 samples of 5, 8 and 12 (chance: 0.3),
    /// where Student's t holds it in 88 to 91; of uniform ones in 93 to 98.
    #[test]
    fn skewed_values_hold_their_mean() {
        const SAMPLES: usize = 5_000;
        let mut chance = Chance::new(11);
        let mut unit = || (chance.below(1 << 30) as f64 + 0.5) / f64::from(1 << 30);
        for n in [5, 8, 12] {
            let mut held = [0; 2];
            for _ in 0..SAMPLES {
                let even: Vec<f64> = (0..n).map(|_| unit()).collect();
                let skewed: Vec<f64> = even.iter().map(|u| -u.ln()).collect();
                for (held, (sample, mu)) in held.iter_mut().zip([(&skewed, 1.0), (&even, 0.5)]) {
                    let [low, high] = interval_of_mean(sample).unwrap();
                    *held += usize::from((low..=high).contains(&mu));
                }
            }
            let [skewed, even] = held.map(|held| 100.0 * held as f64 / SAMPLES as f64);
            assert!((91.5..96.0).contains(&skewed), "{n}: {skewed}");
            assert!((93.0..98.5).contains(&even), "{n}: {even}");
        }
    }
}
