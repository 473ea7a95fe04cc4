use super::{MeanVector, deviations, interval_of_direction, two_directions, watson_u2, wrapped};
use crate::maths::statistics::chance::Chance;
use approx::assert_relative_eq;
use serde_json::Value;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

fn radians(degrees: &[f64]) -> Vec<f64> {
    degrees.iter().map(|angle| angle * PI / 180.0).collect()
}

fn cases() -> Vec<Value> {
    let text = include_str!("../../../../tests/reference/circular_two_samples.json");
    let file: Value = serde_json::from_str(text).unwrap();
    file["cases"].as_array().unwrap().clone()
}

fn list(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

/// Printed values of U², F (near t² where directions are concentrated), and the difference.
#[test]
fn two_samples_agree_with_the_reference() {
    let mut compared = 0;
    for case in cases() {
        let (first, second) = (radians(&list(&case["first"])), radians(&list(&case["second"])));
        let number = |kind: &str, key: &str| case[kind][key].as_f64();
        let (u2, both) =
            (watson_u2(&first, &second, 1).unwrap(), two_directions(&first, &second, 1).unwrap());
        assert_relative_eq!(u2.statistic, number("recomputed", "U2").unwrap(), epsilon = 1e-12);
        let t = number("recomputed", "t").unwrap();
        assert_relative_eq!(both.test.statistic, t, max_relative = 1e-9);
        let difference = number("recomputed", "difference_deg").unwrap();
        assert_relative_eq!(both.difference, difference * PI / 180.0, max_relative = 1e-9);
        if let Some(printed) = number("published", "U2") {
            assert_relative_eq!(u2.statistic, printed, epsilon = 1e-4);
            let [low, high] = ["p_low", "p_high"].map(|key| number("published", key).unwrap());
            assert!(low < u2.p() && u2.p() < high, "{}", u2.p());
            compared += 1;
        }
        if let Some(printed) = number("published", "F") {
            assert_relative_eq!(t * t, printed, max_relative = 0.05);
            compared += 1;
        }
        if let Some(all) = case["recomputed"]["arrangements"].as_u64() {
            let as_large = |key: &str| case["recomputed"][key].as_u64().unwrap();
            assert_eq!((u2.as_large, u2.arrangements), (as_large("U2_as_large"), all));
            assert_eq!((both.test.as_large, both.test.arrangements), (as_large("t_as_large"), all));
            compared += 1;
        }
    }
    assert_eq!(compared, 5);
}

/// n (R̄ − C̄) of concentrated directions is an F number: the interval is that of Student's t.
#[test]
fn few_concentrated_directions_have_students_interval() {
    let angles = [0.010, 0.013, 0.021, 0.008, 0.018];
    let [low, high] = interval_of_direction(&angles, 1).unwrap();
    let mean = 0.014;
    let error = (angles.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 20.0).sqrt();
    assert_relative_eq!(high - low, 2.0 * 2.776_445 * error, max_relative = 1e-3);
    assert_relative_eq!(0.5 * (low + high), mean, max_relative = 1e-3);
}

/// Both ends by flips are where the test of signs changes its mind.
#[test]
fn ends_by_flips_are_those_of_the_test_of_signs() {
    use crate::maths::statistics::permutation::signs;
    let angles = radians(&[12.0, 35.0, 41.0, 55.0, 70.0, 88.0, 130.0, 340.0, 62.0]);
    let [low, high] = interval_of_direction(&angles, 1).unwrap();
    let p = |mu: f64| {
        let sines: Vec<f64> = angles.iter().map(|angle| (angle - mu).sin()).collect();
        signs(&sines, 1).unwrap().p()
    };
    for (end, out) in [(low, -1.0), (high, 1.0)] {
        let step = out * 1e-5;
        assert!(p(end - step) > 0.05 && p(end + step) <= 0.05, "{low} {high}");
    }
    let frogs = [
        104.0, 110.0, 117.0, 121.0, 127.0, 130.0, 136.0, 144.0, 152.0, 178.0, 184.0, 192.0, 200.0,
        316.0,
    ];
    let [low, high] = interval_of_direction(&radians(&frogs), 1).unwrap();
    let [low, high] = [low, high].map(|end| end * 180.0 / PI);
    assert!(low > 115.0 && low < 135.0 && high > 155.0 && high < 180.0, "{low} {high}");
}

/// Turning or mirroring all directions does the same to the interval; their order does nothing.
#[test]
fn intervals_turn_with_the_directions() {
    let mut chance = Chance::new(6);
    for n in [4, 6, 9, 14, 24] {
        let angles: Vec<f64> = (0..n).map(|_| 0.001 * chance.below(1900) as f64).collect();
        let Some([low, high]) = interval_of_direction(&angles, 3) else {
            assert!(n < 6);
            continue;
        };
        let mean = MeanVector::of(angles.iter().copied()).direction().unwrap();
        assert!(low < mean && mean < high && high - low < PI);
        assert!(low > mean - FRAC_PI_2 && high < mean + FRAC_PI_2);
        let reversed: Vec<f64> = angles.iter().rev().copied().collect();
        let again = interval_of_direction(&reversed, 3).unwrap();
        assert_relative_eq!(again[0], low, epsilon = 1e-9);
        let turned: Vec<f64> = angles.iter().map(|angle| angle + 2.9).collect();
        let [from, to] = interval_of_direction(&turned, 3).unwrap();
        assert_relative_eq!(wrapped(from - low), 2.9, epsilon = 1e-6);
        assert_relative_eq!(wrapped(to - high), 2.9, epsilon = 1e-6);
        if n < 20 {
            let mirrored: Vec<f64> = angles.iter().map(|angle| -angle).collect();
            let [from, to] = interval_of_direction(&mirrored, 3).unwrap();
            assert_relative_eq!(wrapped(from + high), 0.0, epsilon = 1e-6);
            assert_relative_eq!(wrapped(to + low), 0.0, epsilon = 1e-6);
        }
    }
}

#[test]
fn without_a_preferred_direction_there_is_no_interval() {
    assert_eq!(interval_of_direction(&radians(&[0.0, 10.0, 20.0]), 1), None, "three");
    assert_eq!(interval_of_direction(&[1.0; 9], 1), None, "all the same");
    let round: Vec<f64> = (0..12).map(|at| f64::from(at) * TAU / 12.0 + 0.01).collect();
    assert_eq!(interval_of_direction(&round, 1), None);
    assert_eq!(interval_of_direction(&radians(&[0.0, 90.0, 170.0, 280.0]), 1), None);
    assert_eq!(interval_of_direction(&[], 1), None);
    assert_eq!(interval_of_direction(&[f64::NAN; 5], 1), None);
}

/// Of von Mises directions the interval holds the mean direction in 94 to 98 of 100 samples.
#[test]
fn the_interval_holds_the_mean_direction() {
    let mut chance = Chance::new(14);
    let unit = |chance: &mut Chance| chance.below(1 << 30) as f64 / f64::from(1 << 30);
    for (n, kappa) in [(4, 2.0), (5, 1.0), (8, 2.0), (8, 5.0)] {
        let mut held = 0;
        for _ in 0..2000 {
            let mut one = || loop {
                let angle = PI * (2.0 * unit(&mut chance) - 1.0);
                if unit(&mut chance) < (kappa * (angle.cos() - 1.0)).exp() {
                    return angle;
                }
            };
            let angles: Vec<f64> = (0..n).map(|_| one()).collect();
            let holds = |[low, high]: [f64; 2]| {
                wrapped(f64::midpoint(low, high)).abs() <= 0.5 * (high - low)
            };
            held += usize::from(interval_of_direction(&angles, 1).is_none_or(holds));
        }
        let share = f64::from(u16::try_from(held).unwrap()) / 20.0;
        assert!((94.0..98.0).contains(&share), "{n} {kappa}: {share}");
    }
}

#[test]
fn two_samples_at_the_edges() {
    let same = [0.3; 5];
    assert_eq!(two_directions(&same, &same, 1), None);
    assert_eq!(two_directions(&[0.1, 0.2], &[0.3, 0.4, 0.5], 1), None);
    assert_eq!(watson_u2(&[], &[0.3], 1), None);
    assert_relative_eq!(watson_u2(&same, &same, 1).unwrap().p(), 1.0);
    let opposite = two_directions(&[0.1, 0.0, -0.1], &[3.1, 3.2, 3.0, 3.15], 1).unwrap();
    assert_eq!((opposite.test.as_large, opposite.test.arrangements), (1, 35));
    // across north, and drawn
    let many: Vec<f64> = (0..30).map(|at| wrapped(0.02 * f64::from(at) - 0.3)).collect();
    let other: Vec<f64> = (0..30).map(|at| 0.02 * f64::from(at)).collect();
    let found = two_directions(&many, &other, 1).unwrap();
    assert!(!found.test.exact && found.test.p() < 0.001);
    assert_relative_eq!(found.difference, -0.3, epsilon = 1e-9);
    let reversed: Vec<f64> = many.iter().rev().copied().collect();
    assert_eq!(two_directions(&reversed, &other, 1), Some(found));
}

#[test]
fn deviations_are_wrapped_and_keep_their_order() {
    let pairs = [[350.0, 10.0], [20.0, 350.0], [180.0, 0.0], [0.0, 180.0], [95.0, 95.0]];
    let pairs = pairs.map(|[a, b]: [f64; 2]| [a * PI / 180.0, b * PI / 180.0]);
    let found = deviations(&pairs, 1);
    let degrees: Vec<f64> = found.each.iter().map(|x| (x * 180.0 / PI).round()).collect();
    assert_eq!(degrees, [-20.0, 30.0, 180.0, 180.0, 0.0]);
    assert_eq!(found.interval, None);
    let homing = [66.0, 75.0, 86.0, 88.0, 88.0, 93.0, 97.0, 101.0, 118.0, 130.0];
    let pairs = homing.map(|heading: f64| [heading * PI / 180.0, FRAC_PI_2]);
    let found = deviations(&pairs, 1);
    assert_relative_eq!(found.mean.unwrap() * 180.0 / PI, 4.048_171_157_6, epsilon = 1e-8);
    let [low, high] = found.interval.unwrap();
    assert!(low < 0.0 && high > 0.0, "home lies within: {low} {high}");
    assert_relative_eq!(found.vector.v_test(0.0).unwrap().v, 9.497_611_894_05, epsilon = 1e-8);
    assert_eq!(deviations(&[], 1).mean, None);
}
