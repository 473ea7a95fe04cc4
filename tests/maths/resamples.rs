//! Intervals by resampling, against published and independently computed values. The files under
//! `tests/reference` name their sources.

use crate::numbers;
use crate::reference;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use numbers::{list, number};
use perchline::maths::statistics::bootstrap::{RESAMPLES, Resamples, bca};
use perchline::maths::statistics::describe::{mean, quantile_of_sorted};
use reference::cases;

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

#[test]
fn too_few_or_equal_values_have_no_interval() {
    assert_eq!(Resamples::new(4, 99, 1).interval(&[2.0; 4], |x| x[0]), None);
    assert_eq!(Resamples::new(2, 99, 1).interval(&[1.0, 2.0], |x| x[0]), None);
}
