//! The room of statistics against published and independently computed values.

use crate::reference;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use perchline::maths::statistics::describe::{
    mean, median, moments, quantile, quantile_of_sorted, sd,
};
use perchline::maths::statistics::interval::{
    Z95, chi_square_upper, normal_cdf, normal_density, normal_two_sided, rectified_mean,
    student_975, student_upper,
};
use proptest::collection::vec;
use proptest::{prop_assert, prop_assert_eq, proptest};
use reference::cases;
use serde_json::Value;
use std::f64::consts::PI;

/// The complementary error function beneath Φ is good to ten digits, relatively, in both tails.
const OF_NORMAL: f64 = 2e-10;

fn number(case: &Value, key: &str) -> f64 {
    case[key].as_f64().unwrap()
}

#[test]
fn phantom_climb_of_one_leg() {
    for case in cases("phantom_climb", 9) {
        let (mu, sd) = (number(&case, "mu"), number(&case, "sd"));
        let (up, down) = (rectified_mean(mu, sd), rectified_mean(-mu, sd));
        assert_relative_eq!(up, number(&case, "E_max_0_N"), max_relative = OF_NORMAL);
        assert_relative_eq!(up + down, number(&case, "E_abs_N"), max_relative = OF_NORMAL);
        // The bias is printed from a difference, so it is compared in metres.
        assert_abs_diff_eq!(up - mu, number(&case, "bias_over_true_climb"), epsilon = 1e-10);
    }
}

#[test]
fn phantom_climb_of_a_level_trail() {
    for case in cases("phantom_climb_level_trail", 3) {
        let (legs, height) = (number(&case, "legs"), number(&case, "sd_height"));
        let leg = rectified_mean(0.0, height * 2.0_f64.sqrt());
        let share = number(&case, "per_leg_ascent_over_sd_height");
        assert_relative_eq!(leg / height, share, max_relative = 1e-11);
        let ascent = number(&case, "expected_phantom_ascent");
        assert_relative_eq!(legs * leg, ascent, max_relative = 1e-11);
        let total = number(&case, "expected_phantom_total");
        assert_relative_eq!(2.0 * legs * leg, total, max_relative = 1e-11);
    }
}

/// E[D; D > k] of a standard normal difference is its density at k.
#[test]
fn level_differences_beyond_a_reversal_threshold() {
    for case in cases("reversal_threshold", 4) {
        let k = number(&case, "threshold_in_sd_of_difference");
        for (found, key) in [
            (normal_two_sided(k), "p_one_level_difference_exceeds"),
            (normal_cdf(-k), "p_exceeds_one_way"),
            (normal_density(k), "E_of_D_where_D_exceeds_k"),
        ] {
            assert_relative_eq!(found, number(&case, key), max_relative = OF_NORMAL);
        }
    }
}

#[test]
fn probability_of_a_misclosure() {
    for case in cases("closure_probability", 3) {
        let p = chi_square_upper(number(&case, "chi2"), number(&case, "dof"));
        assert_relative_eq!(p, number(&case, "p_upper"), max_relative = 1e-10);
    }
}

/// With 2 degrees of freedom the tail is exp(-x/2), with 1 that of the normal squared.
#[test]
fn the_far_tail_of_chi_square() {
    for x in [0.1, 3.0, 40.0, 200.0, 1000.0] {
        assert_relative_eq!(chi_square_upper(x, 2.0), (-0.5 * x).exp(), max_relative = 1e-10);
        assert_relative_eq!(
            chi_square_upper(x, 1.0),
            normal_two_sided(x.sqrt()),
            max_relative = OF_NORMAL
        );
    }
    for (x, degrees_of_freedom, p) in
        [(0.0, 3.0, 1.0), (5.0, 0.0, 1.0), (1e5, 3.0, 0.0), (f64::INFINITY, 3.0, 0.0)]
    {
        assert_abs_diff_eq!(chi_square_upper(x, degrees_of_freedom), p);
    }
}

#[test]
fn the_95_percent_point() {
    assert_relative_eq!(normal_two_sided(Z95), 0.05, max_relative = OF_NORMAL);
    assert_relative_eq!(normal_cdf(Z95), 0.975, max_relative = OF_NORMAL);
}

/// In closed form: with 1 degree of freedom t = tan(π (p − ½)), with 2 it is
/// (2p − 1) / √(2p (1 − p)).
#[test]
fn points_of_student() {
    let one = (PI * 0.475).tan();
    let two = 0.95 / (2.0 * 0.975 * 0.025_f64).sqrt();
    for (degrees_of_freedom, t) in [(1, one), (2, two)] {
        assert_relative_eq!(student_975(degrees_of_freedom), t, max_relative = 1e-9);
        let upper = student_upper(0.025, degrees_of_freedom).unwrap();
        assert_relative_eq!(upper, t, max_relative = 1e-9);
    }
    assert_eq!(student_upper(0.025, 0), None);
    assert!(student_975(0).is_infinite());
}

#[test]
fn a_climb_without_noise_is_the_climb() {
    assert_abs_diff_eq!(rectified_mean(1.5, 0.0), 1.5);
    assert_abs_diff_eq!(rectified_mean(-1.5, 0.0), 0.0);
}

/// By hand; convention: Hyndman and Fan type 7, place q (n - 1) counted from 0.
#[test]
fn quantiles_of_small_samples() {
    let sorted = [1.0, 2.0, 4.0, 8.0];
    for (q, expected) in [(0.0, 1.0), (0.25, 1.75), (0.5, 3.0), (0.75, 5.0), (0.9, 6.8), (1.0, 8.0)]
    {
        assert_abs_diff_eq!(quantile_of_sorted(&sorted, q).unwrap(), expected, epsilon = 1e-12);
        let mut unsorted = [8.0, 1.0, 4.0, 2.0];
        assert_abs_diff_eq!(quantile(&mut unsorted, q).unwrap(), expected, epsilon = 1e-12);
    }
    assert_eq!(quantile_of_sorted(&[7.0], 0.975), Some(7.0));
    assert_eq!(quantile_of_sorted(&[], 0.5), None);
    assert_eq!(median(&[9.0, 1.0, 5.0]), Some(5.0));
    assert_eq!((median(&[4.0, 1.0]), median(&[])), (Some(2.5), None));
}

/// 2, 4, 4, 4, 5, 5, 7, 9: mean 5, squared deviations 32 over 7.
#[test]
fn mean_and_spread_of_a_small_sample() {
    let sample = [2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0];
    assert_eq!(mean(&sample), Some(5.0));
    assert_relative_eq!(sd(&sample).unwrap(), (32.0_f64 / 7.0).sqrt());
    assert_eq!((mean(&[]), sd(&[]), sd(&[3.0])), (None, None, None));
}

#[test]
fn too_few_numbers_have_no_spread() {
    let ((nothing, none), (one, alone)) = (moments(&[]), moments(&[3.0]));
    assert!(nothing.is_nan() && none.is_nan() && alone.is_nan(), "{nothing} {none} {alone}");
    assert_relative_eq!(one, 3.0);
}

/// The whole numbers from 1 to n have the mean (n + 1) / 2 and the variance n (n + 1) / 12.
#[test]
fn moments_of_whole_numbers() {
    for n in [2_u8, 7, 8, 9, 20] {
        let sample: Vec<f64> = (1..=n).map(f64::from).collect();
        let (mean, sd) = moments(&sample);
        let n = f64::from(n);
        assert_relative_eq!(mean, 0.5 * (n + 1.0), max_relative = 1e-14);
        assert_relative_eq!(sd, (n * (n + 1.0) / 12.0).sqrt(), max_relative = 1e-14);
    }
}

proptest! {
    #[test]
    fn quantiles_rise_within_the_sample(
        mut sample in vec(-1e3..1e3_f64, 1..40),
        q in 0.0..=1.0_f64,
        step in 0.0..=1.0_f64,
    ) {
        sample.sort_by(f64::total_cmp);
        let (low, high) = (quantile_of_sorted(&sample, q), quantile_of_sorted(&sample, q + step));
        prop_assert!(low <= high);
        prop_assert!(sample.first().copied() <= low && high <= sample.last().copied());
        prop_assert_eq!(median(&sample), quantile_of_sorted(&sample, 0.5));
    }

    /// Noise never lowers the expected climb, and up less down is the true climb.
    #[test]
    fn rectified_mean_adds_to_the_climb(mu in -5.0..5.0_f64, sd in 0.0..2.0_f64) {
        let (up, down) = (rectified_mean(mu, sd), rectified_mean(-mu, sd));
        prop_assert!(up >= mu.max(0.0) - 1e-14);
        prop_assert!((up - down - mu).abs() < 1e-12);
    }
}
