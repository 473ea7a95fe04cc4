//! Intervals by resampling, against published and independently computed values. The files under
//! `tests/reference` name their sources.
#![expect(clippy::unwrap_used, reason = "a test fails by panicking, its shared functions too")]

#[path = "reference/numbers.rs"]
mod numbers;
mod reference;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use numbers::{list, number};
use perchline::statistics::bootstrap::{RESAMPLES, Resamples, bca, interval_of_difference};
use perchline::statistics::describe::{mean, quantile_of_sorted};
use perchline::statistics::interval::Z95;
use reference::cases;
use std::cell::RefCell;

/// Statistic of values in rising order, as the resamples hand them over.
fn statistic(name: &str) -> fn(&[f64]) -> f64 {
    match name {
        "mean" => |x| mean(x).unwrap(),
        "median" => |x| quantile_of_sorted(x, 0.5).unwrap(),
        _ => |x| {
            let centre = mean(x).unwrap();
            x.iter().map(|x| (x - centre).powi(2)).sum::<f64>() / x.len() as f64
        },
    }
}

/// Convention: resamples equal to the estimate count half. With 200,000 resamples the ends must
/// meet those of the exact bootstrap distribution within its steps; with as many as the program
/// draws, within what so few can show.
#[test]
fn bca_intervals_agree_with_the_exact_bootstrap_distribution() {
    for case in cases("bootstrap_bca", 7) {
        if case["level"] != 0.95 {
            continue;
        }
        let mut data = list(&case["data"]);
        data.sort_by(f64::total_cmp);
        let of = statistic(case["statistic"].as_str().unwrap());
        let expected = ["low", "high"].map(|end| number(&case["bca"]["half_ties"][end]));
        let width = expected[1] - expected[0];
        for (count, tolerance) in [(200_000, 0.012), (RESAMPLES, 0.06)] {
            let resamples = Resamples::new(data.len(), count, 1);
            let found = resamples.interval(&data, of).unwrap();
            for (found, expected) in found.iter().zip(expected) {
                let off = (found - expected).abs() / width;
                assert!(off < tolerance, "{}: {found} for {expected}", case["id"]);
            }
        }
    }
}

/// The published interval of a variance, at 90 %: Efron and Tibshirani 1993, section 14.3.
#[test]
fn a_published_bca_interval() {
    let case = &cases("bootstrap_bca", 7)[6];
    let data = list(&case["data"]);
    let variance = statistic("variance");
    // Its replicates by an own little generator, so that only the interval is the program's.
    let mut state = 12_345_u64;
    let mut next = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        usize::try_from(state >> 33).unwrap() % data.len()
    };
    let replicates: Vec<f64> = (0..100_000)
        .map(|_| variance(&(0..data.len()).map(|_| data[next()]).collect::<Vec<_>>()))
        .collect();
    let acceleration = number(&case["recomputed"]["acceleration"]);
    let found = bca(variance(&data), replicates, acceleration, 1.644_853_626_951).unwrap();
    for (found, expected) in found.iter().zip(list(&case["recomputed"]["bca"])) {
        assert_relative_eq!(*found, expected, max_relative = 0.012);
    }
}

/// What must hold of any interval of a difference. Against a group that does not vary it is the
/// interval of a mean, moved; with the groups exchanged it is the same seen from the other side.
#[test]
fn an_interval_of_a_difference_is_that_of_a_mean() {
    let (skew, other) = ([1.0, 1.5, 2.0, 2.5, 9.0, 14.0], [3.0, 4.0, 4.5, 7.0, 11.0]);
    let [six, five] = [6, 5].map(|n| Resamples::new(n, RESAMPLES, 1));
    let alone = six.interval(&skew, |x| mean(x).unwrap()).unwrap();
    let moved = interval_of_difference((&skew, &six), (&[4.0; 5], &five)).unwrap();
    let there = interval_of_difference((&skew, &six), (&other, &five)).unwrap();
    let back = interval_of_difference((&other, &five), (&skew, &six)).unwrap();
    for at in 0..2 {
        assert_abs_diff_eq!(moved[at], alone[at] - 4.0, epsilon = 1e-9);
        assert_abs_diff_eq!(there[at], -back[1 - at], epsilon = 1e-9);
    }
    assert!(there[0] < -0.9 && there[1] > -0.9, "5 less 5.9");
    let two = Resamples::new(2, RESAMPLES, 1);
    assert_eq!(interval_of_difference((&[1.0, 2.0], &two), (&other, &five)), None);
    assert_eq!(interval_of_difference((&other, &five), (&[1.0, 2.0], &two)), None);
    let [three, own] = [1, 2].map(|seed| Resamples::new(3, RESAMPLES, seed));
    assert!(interval_of_difference((&[1.0, 2.0, 4.0], &three), (&[3.0, 4.0, 6.0], &own)).is_some());
}

/// Replicates 1 … 999 seen from either end, estimates beyond all of them: the same, mirrored.
#[test]
fn an_estimate_beyond_its_replicates_has_an_interval() {
    let replicates: Vec<f64> = (1..1000_u16).map(f64::from).collect();
    let below = bca(-5.0, replicates.clone(), 0.02, 1.96).unwrap();
    let above = bca(1005.0, replicates, -0.02, 1.96).unwrap();
    for at in 0..2 {
        assert_abs_diff_eq!(below[at], 1000.0 - above[1 - at], epsilon = 1e-6);
        assert!((1.0..=999.0).contains(&below[at]));
    }
    for (sample, some) in [(&[1.0, 2.0, 4.0][..], true), (&[1.0, 2.0], false)] {
        let resamples = Resamples::new(sample.len(), RESAMPLES, 1);
        assert_eq!(resamples.interval(sample, |x| mean(x).unwrap()).is_some(), some);
    }
}

/// Acceleration Σ u³ / 6 (Σ u²)^(3/2), u = (x − mean) / n of the first and −(x − mean) / n of the
/// second group (Efron 1987, the influence of each value), with the very replicates of the program.
#[test]
fn skew_of_both_groups_counts_by_their_sizes() {
    let (skew, other) = ([1.0, 1.5, 2.0, 2.5, 9.0, 14.0], [3.0, 4.0, 9.0]);
    let means = |sample: &[f64], resamples: &Resamples| {
        let met = RefCell::new(Vec::new());
        resamples.interval(sample, |x| {
            met.borrow_mut().push(mean(x).unwrap());
            mean(x).unwrap()
        });
        met.take()[..RESAMPLES].to_vec()
    };
    let (six, three) = (Resamples::new(6, RESAMPLES, 1), Resamples::new(3, RESAMPLES, 2));
    let both = means(&skew, &six).into_iter().zip(means(&other, &three));
    let replicates = both.map(|(a, b)| a - b).collect();
    let (five, less) = (mean(&skew).unwrap(), mean(&other).unwrap());
    let of_first = skew.iter().map(|x| (x - five) / 6.0);
    let u: Vec<f64> = of_first.chain(other.iter().map(|x| (less - x) / 3.0)).collect();
    let power = |k| u.iter().map(|u| u.powi(k)).sum::<f64>();
    let expected = bca(five - less, replicates, power(3) / (6.0 * power(2).powf(1.5)), Z95);
    let found = interval_of_difference((&skew, &six), (&other, &three)).unwrap();
    for (found, expected) in found.iter().zip(expected.unwrap()) {
        assert_abs_diff_eq!(*found, expected, epsilon = 1e-9);
    }
}

#[test]
fn too_few_or_equal_values_have_no_interval() {
    assert_eq!(Resamples::new(4, 99, 1).interval(&[2.0; 4], |x| x[0]), None);
    assert_eq!(Resamples::new(2, 99, 1).interval(&[1.0, 2.0], |x| x[0]), None);
}
