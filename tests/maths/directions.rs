//! Directions and their tests, against published and independently computed values.

use crate::reference;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use perchline::maths::quantity::{Bearing, Turn};
use perchline::maths::statistics::chance::Chance;
use perchline::maths::statistics::circular::MeanVector;
use proptest::collection::vec;
use proptest::{prop_assert, proptest};
use reference::cases;
use serde_json::Value;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

fn number(case: &Value, key: &str) -> f64 {
    case[key].as_f64().unwrap()
}

/// The directions of a case, in degrees, repeated by their counts where the case is in classes.
fn directions(case: &Value) -> MeanVector {
    let mut vector = MeanVector::default();
    for (k, degrees) in case["angles_deg"].as_array().unwrap().iter().enumerate() {
        let (sin, cos) = Bearing::from_degrees(degrees.as_f64().unwrap()).to_radians().sin_cos();
        let count = case["counts"][k].as_u64().unwrap_or(1);
        for _ in 0..count {
            vector.push(cos, sin);
        }
    }
    vector
}

/// Convention: Rayleigh p is the Greenwood-Durand form as in Zar, not the series of Fisher, which
/// is negative for two of these cases.
#[test]
fn circular_statistics_agree_with_the_reference() {
    for case in cases("circular_statistics", 7) {
        let (vector, expected) = (directions(&case), &case["recomputed"]);
        assert_eq!(Some(vector.n()), expected["n"].as_f64());
        let bearing = Bearing::from_radians(vector.direction().unwrap()).to_degrees();
        assert_abs_diff_eq!(bearing, number(expected, "mean_direction_deg"), epsilon = 1e-9);
        for (found, key) in [
            (vector.mean_cos(), "mean_cos"),
            (vector.mean_sin(), "mean_sin"),
            (vector.resultant(), "mean_resultant_length_r"),
            (vector.rayleigh_p(), "p_zar_greenwood_durand"),
        ] {
            assert_relative_eq!(found.unwrap(), number(expected, key), max_relative = 1e-10);
        }
    }
}

/// How far the approximation is from the exact integral, where that is known: within 12 %, always
/// on the careful side below 0.05.
#[test]
fn rayleigh_p_is_near_the_exact_integral() {
    let mut compared = 0;
    for case in cases("circular_statistics", 7) {
        let Some(exact) = case["recomputed"]["p_exact_integral"].as_f64() else { continue };
        let p = directions(&case).rayleigh_p().unwrap();
        assert_relative_eq!(p, exact, max_relative = 0.12);
        assert!(p > exact || exact > 0.05, "{p} {exact}");
        compared += 1;
    }
    assert_eq!(compared, 4);
}

#[test]
fn directions_that_say_nothing() {
    let none = MeanVector::default();
    assert_eq!((none.direction(), none.resultant(), none.rayleigh_p()), (None, None, None));
    assert_eq!((none.mean_cos(), none.mean_sin()), (None, None));
    let opposite = MeanVector::of([0.0, FRAC_PI_2, PI, 3.0 * FRAC_PI_2]);
    assert_eq!(opposite.direction(), None);
    assert_abs_diff_eq!(opposite.rayleigh_p().unwrap(), 1.0, epsilon = 1e-12);
    let one = MeanVector::of([1.0]);
    assert_abs_diff_eq!(one.direction().unwrap(), 1.0, epsilon = 1e-12);
    assert_eq!(one.rayleigh_p(), None);
}

/// V = 2 of n directions, by the series beside the formula. n = 2: u = 2,
/// p = 0.022750 + 0.053991 ((6 − 8)/32 + (30 + 2440 − 4000 + 1152)/18432). n = 4: u = √2.
#[test]
fn the_series_of_the_v_test() {
    let of = |n: f64| MeanVector::of_sums([n, 2.0, 0.0]).v_test(0.0);
    assert_relative_eq!(of(2.0).unwrap().u, 2.0, max_relative = 1e-12);
    assert_relative_eq!(of(2.0).unwrap().p, 0.018_268_459_923_158_724, max_relative = 1e-9);
    assert_relative_eq!(of(4.0).unwrap().p, 0.082_447_211_042_099_37, max_relative = 1e-9);
    assert_eq!(of(1.0), None);
}

#[test]
fn the_v_test_agrees_with_zar() {
    let case = &cases("circular_statistics", 7)[1];
    let test = directions(case).v_test(FRAC_PI_2).unwrap();
    let expected = &case["recomputed"]["V_test_90deg"];
    assert_relative_eq!(test.v, number(expected, "V"), epsilon = 1e-9);
    assert_relative_eq!(test.u, number(expected, "u"), epsilon = 1e-9);
    assert!(test.p < 0.0005, "published: p < 0.0005");
}

/// The series of the V-test against made-up directions without preference, as few as animals are.
#[test]
fn the_v_test_is_right_for_a_handful_of_directions() {
    const TIMES: usize = 100_000;
    let mut chance = Chance::new(7);
    let mut direction = || TAU * chance.below(1 << 40) as f64 / (1_u64 << 40) as f64;
    for n in [5, 8] {
        for level in [0.01, 0.05, 0.2] {
            let hits = (0..TIMES).filter(|_| {
                let vector = MeanVector::of((0..n).map(|_| direction()));
                vector.v_test(1.0).unwrap().p <= level
            });
            let share = hits.count() as f64 / TIMES as f64;
            let error = (level * (1.0 - level) / TIMES as f64).sqrt();
            assert!((share - level).abs() < 4.0 * error + 0.02 * level, "{n} {level} {share}");
        }
    }
}

proptest! {
    #[test]
    fn rotation_leaves_the_resultant(angles in vec(0.0..TAU, 1..60), by in -720.0..720.0_f64) {
        let turn = Turn::from_degrees(by).to_radians();
        let before = MeanVector::of(angles.iter().copied());
        let after = MeanVector::of(angles.iter().map(|angle| angle + turn));
        let (r, rotated) = (before.resultant().unwrap(), after.resultant().unwrap());
        prop_assert!((r - rotated).abs() < 1e-12);
        if r > 1e-3 {
            let moved = after.direction().unwrap() - before.direction().unwrap() - turn;
            prop_assert!(moved.sin().hypot(moved.cos() - 1.0) < 1e-9);
        }
    }

    #[test]
    fn rayleigh_p_is_a_probability(
        angles in vec(0.0..TAU, 2..60),
        narrow in 0.0..1.0_f64,
    ) {
        let p = MeanVector::of(angles.iter().map(|angle| angle * narrow)).rayleigh_p().unwrap();
        prop_assert!(p > 0.0 && p <= 1.0, "{p}");
    }
}
