//! Formulas of metrics against exact and published values; the sources stand in each file.

use crate::reference;

use perchline::adjustment::path::equal_steps::{dimension, slope, stepped};
use perchline::adjustment::path::moving_steps::moving_steps;
use perchline::adjustment::path::strata::{LengthByHeight, Stretch};
use perchline::measures::metrics::climb::between_reversals;
use perchline::measures::metrics::tortuosity::{
    expected_squared_net, msd_slope, sinuosity, sinuosity_general,
};
use perchline::measures::metrics::{hull_area, hull_volume};
use reference::cases;
use serde_json::Value;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

fn close(found: f64, expected: f64, what: &str) {
    assert!((found - expected).abs() < 1e-9 * (1.0 + expected.abs()), "{what}: {found} {expected}");
}

#[test]
fn metres_per_stratum_and_heights_by_length() {
    let mut compared = 0;
    for case in cases("height_strata", 3) {
        let legs = case["legs"].as_array().unwrap();
        let stretch = |leg: &Value| Stretch {
            length: number(&leg["length"]),
            from: number(&leg["height_from"]),
            to: number(&leg["height_to"]),
        };
        let spread: LengthByHeight = legs.iter().map(stretch).collect();
        let id = case["id"].as_str().unwrap();
        // The file's bands end at its last edge; ours begin below the first and stay open above.
        let metres: Vec<f64> = spread.by_stratum(&numbers(&case["edges"])).collect();
        let expected = numbers(&case["metres_per_stratum"]);
        for (found, expected) in metres[1..].iter().zip(&expected) {
            close(*found, *expected, id);
        }
        close(spread.mean(), number(&case["mean_height"]), id);
        let quartiles = [0.25, 0.5, 0.75].map(|share| spread.quantile(share, f64::NAN));
        for (key, found) in ["q25", "median_height", "q75"].iter().zip(quartiles) {
            if let Some(expected) = case[*key].as_f64() {
                close(found, expected, id);
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 7);
}

/// Two lumps and nothing between: the median is the lower one, where half is first reached.
#[test]
fn a_quantile_is_the_lowest_height_that_reaches_its_share() {
    let level = |height| Stretch { length: 1.0, from: height, to: height };
    let spread: LengthByHeight = [level(3.0), level(1.0)].into_iter().collect();
    close(spread.quantile(0.5, f64::NAN), 1.0, "half");
    close(spread.quantile(0.51, f64::NAN), 3.0, "more than half");
    assert!(LengthByHeight::<f64>::default().quantile(0.5, f64::NAN).is_nan());
}

#[test]
fn ascent_between_reversals() {
    for case in cases("ascent_with_threshold", 4) {
        let heights = numbers(&case["heights"]);
        let [up, down] = between_reversals(&heights.into_iter(), number(&case["threshold"]));
        let id = case["id"].as_str().unwrap();
        close(up, number(&case["ascent"]), id);
        close(down, number(&case["descent"]), id);
    }
}

#[test]
fn sinuosity_in_both_forms() {
    for case in cases("sinuosity", 5) {
        let at = |key: &str| number(&case[key]);
        let (p, c, s, b) = (at("mean_step"), at("mean_cos"), at("mean_sin"), at("cv_step"));
        let general = sinuosity_general(p, c, s, b).unwrap();
        close(general, at("sinuosity_general"), "general");
        let simple = case["sinuosity"].as_f64();
        let simple = simple.unwrap_or_else(|| at("sinuosity_if_sine_ignored"));
        close(sinuosity(p, c, b).unwrap(), simple, "simple");
    }
}

/// No step, a straight path, steps that turn back more than they spread: (1 + c) / (1 − c) + b² = 0
/// at c = −1, b = 0.
#[test]
fn sinuosity_where_there_is_none() {
    for (p, c, b) in [(0.0, 0.5, 0.3), (1.0, 1.0, 0.3), (1.0, -1.0, 0.0), (0.0, -1.0, 0.0)] {
        assert_eq!(sinuosity(p, c, b), None, "{p} {c} {b}");
        assert_eq!(sinuosity_general(p, c, 0.0, b), None, "{p} {c} {b}");
    }
}

/// A straight line goes lag² far, squared: slope 2. A zigzag of one metre goes 2, 4 and 10 m²
/// within 1, 2 and 3 steps, and the line through (ln 1, ln 2), (ln 2, ln 4), (ln 3, ln 10) has the
/// slope Σ (x − x̄) y / Σ (x − x̄)² = 0.873379 / 0.617273.
#[test]
fn slope_of_squared_displacement() {
    let straight: Vec<[f64; 2]> = (0..20_u8).map(|k| [3.0 + f64::from(k), 5.0]).collect();
    close(msd_slope(&straight).unwrap(), 2.0, "straight");
    close(msd_slope(&straight[..12]).unwrap(), 2.0, "of as few points as may be");
    assert_eq!(msd_slope(&straight[..11]), None);
    let zigzag: Vec<[f64; 2]> = (0..12_u8).map(|k| [f64::from(k), f64::from(k % 2)]).collect();
    close(msd_slope(&zigzag).unwrap(), 1.414_904_225_293_170_3, "zigzag");
    let to_and_fro: Vec<[f64; 2]> = (0..12_u8).map(|k| [0.0, f64::from(k % 2)]).collect();
    assert_eq!(msd_slope(&to_and_fro), None, "every second point is the same: two lags are left");
}

/// y = 5 − 2x, and of it a point moved by 3 at an end of −1, 0, 1: xy changes by 3, xx is 2.
#[test]
fn slope_of_a_line() {
    close(slope(&[(1.0, 3.0), (2.0, 1.0), (4.0, -3.0)]), -2.0, "exact");
    close(slope(&[(9.0, 7.0), (10.0, 5.0), (11.0, 6.0)]), -2.0 + 3.0 / 2.0, "moved");
}

/// An L of 3 m east and 4 m north. Opened to 5 m the dividers meet its end at once; opened to √5 m
/// they leave the first leg after √5, and the second where (3 − √5)² + y² = 5.
#[test]
fn dividers_around_a_corner() {
    let corner = [[0.0, 0.0], [3.0, 0.0], [3.0, 4.0]];
    assert_eq!(stepped(&corner, 5.0), [[0.0, 0.0], [3.0, 4.0]]);
    let ruler = 5.0_f64.sqrt();
    let met = stepped(&corner, ruler);
    assert_eq!(met.len(), 3);
    close(met[1][0], ruler, "along the first leg");
    close(met[2][1], (5.0 - (3.0 - ruler).powi(2)).sqrt(), "up the second");
    assert_eq!(stepped(&corner, f64::NAN).len(), 1);
    assert_eq!((stepped(&corner, 0.0).len(), stepped(&corner, -5.0).len()), (1, 1));
}

/// A straight line is as long under every ruler that goes up in it; too few rulers say nothing.
#[test]
fn dimension_where_there_is_none() {
    let line: Vec<[f64; 2]> = (0..=64_u8).map(|k| [f64::from(k), 0.0]).collect();
    for (smallest, largest) in
        [(f64::NAN, 9.0), (1.0, f64::NAN), (0.0, 9.0), (-1.0, 9.0), (5.0, 9.9), (100.0, 900.0)]
    {
        assert_eq!(dimension(&line, smallest, largest), None, "{smallest} {largest}");
    }
    assert!(dimension(&line, 4.0, 8.0).is_some(), "twice as far is far enough");
    close(dimension(&line, 1.0, 32.0).unwrap(), 1.0, "rulers 1, 2, 4 … 32 all go up in 64");
}

/// A line in plan has a dimension from 1 to 2. Dividers that leave the rest of this winding walk of
/// 12 anchors away under their larger rulers once made it 3.05; with the rest it is 2.33, and that
/// is none. Of 6 anchors they made 2.51 where there is 1.95. A walk that lengthens by chance under
/// a longer ruler is a straight one.
#[test]
fn no_line_has_a_dimension_over_two() {
    let winding = [
        [0.0, 0.0],
        [-0.1, -0.8],
        [-1.8, -0.8],
        [-1.2, 0.8],
        [-0.2, 1.8],
        [0.5, 2.3],
        [1.3, 4.0],
        [2.2, 3.9],
        [2.6, 2.1],
        [1.1, 1.6],
        [0.0, 1.1],
        [-0.8, 1.1],
    ];
    assert_eq!(dimension(&winding, 2.0_f64.sqrt(), 6.171_709_65 / 2.0), None);
    let short = [[0.0, 0.0], [0.8, 0.6], [2.1, -0.2], [1.9, -1.6], [0.3, -1.8], [-4.7, -1.7]];
    let found = dimension(&short, 1.526_433_75, 6.963_476_14 / 2.0).unwrap();
    assert!((found - 1.948_87).abs() < 1e-4, "{found}");
    let straight = [[0.0, 0.0], [1.0, 0.0], [2.0, 0.01], [3.0, 0.0], [4.3, 0.0]];
    let found = dimension(&straight, 1.0, 2.15).unwrap();
    assert!((1.0..1.001).contains(&found), "{found}");
}

#[test]
fn expected_net_displacement_of_a_correlated_random_walk() {
    let mut compared = 0;
    for case in cases("crw_expected_nsd", 5) {
        let at = |key: &str| number(&case[key]);
        let moments = [at("mean_step"), at("mean_square_step")];
        for moves in case["moves"].as_array().unwrap() {
            let n = usize::try_from(moves["n"].as_u64().unwrap()).unwrap();
            let found = expected_squared_net(n, moments, [at("mean_cos"), at("mean_sin")]);
            close(found.unwrap(), number(&moves["E_R2"]), "E_R2");
            compared += 1;
        }
    }
    assert_eq!(compared, 30);
}

#[test]
fn hulls_of_known_bodies() {
    let (mut bodies, mut plans) = (0, 0);
    for case in cases("convex_hulls", 7) {
        let points = case["points"].as_array().unwrap();
        let id = case["id"].as_str().unwrap();
        if let Some(volume) = case["volume"].as_f64() {
            let place = |p: &Value| <[f64; 3]>::try_from(numbers(p)).unwrap();
            close(hull_volume(&points.iter().map(place).collect::<Vec<_>>()), volume, id);
            bodies += 1;
        } else {
            let place = |p: &Value| <[f64; 2]>::try_from(numbers(p)).unwrap();
            let plan: Vec<[f64; 2]> = points.iter().map(place).collect();
            close(hull_area(&plan), number(&case["area"]), id);
            plans += 1;
        }
    }
    assert_eq!((bodies, plans), (4, 3));
}

/// The Koch curve: each segment becomes four of a third, the bump to the left.
fn koch(level: usize) -> Vec<[f64; 2]> {
    let mut points = vec![[0.0, 0.0], [1.0, 0.0]];
    for _ in 0..level {
        let mut finer = vec![points[0]];
        for pair in points.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let third = [(b[0] - a[0]) / 3.0, (b[1] - a[1]) / 3.0];
            let (sin, cos) = (3.0_f64.sqrt() / 2.0, 0.5);
            let first = [a[0] + third[0], a[1] + third[1]];
            let bump = [
                first[0] + cos * third[0] - sin * third[1],
                first[1] + sin * third[0] + cos * third[1],
            ];
            finer.extend([first, bump, [b[0] - third[0], b[1] - third[1]], b]);
        }
        points = finer;
    }
    points
}

#[test]
fn dividers_on_the_koch_curve() {
    let mut compared = 0;
    for case in cases("divider_dimension", 2) {
        let level = usize::try_from(case["level"].as_u64().unwrap()).unwrap();
        let points = koch(level);
        for count in case["divider_counts"].as_array().unwrap() {
            // The ruler meets a vertex exactly; rounding must not push the walker past it.
            let ruler = number(&count["ruler"]) * (1.0 - 1e-9);
            let steps = stepped(&points, ruler).len() - 1;
            assert_eq!(steps as u64, count["steps"].as_u64().unwrap(), "ruler {ruler}");
            compared += 1;
        }
    }
    assert_eq!(compared, 10);
    let found = dimension(&koch(5), 1.0 / 81.0, 0.5).unwrap();
    assert!((found - 4.0_f64.ln() / 3.0_f64.ln()).abs() < 0.01, "{found}");
}

/// The plan of a walk of ten legs east and north in turn, 2 m each.
fn stairs() -> Vec<[f64; 2]> {
    (0..=10).map(|at| [f64::from((at + 1) / 2) * 2.0, f64::from(at / 2) * 2.0]).collect()
}

/// Steps of 4 m along stairs of 2 m: every chord leads 2 m east and 2 m north, none turns.
#[test]
fn equal_steps_along_stairs_go_straight() {
    let steps = moving_steps(&stairs(), 4.0).unwrap();
    assert!((steps.mean_chord - 8.0_f64.sqrt()).abs() < 1e-12, "{}", steps.mean_chord);
    assert!(steps.variation < 1e-6 && (steps.turns.mean_cos().unwrap() - 1.0).abs() < 1e-12);
    assert!((steps.length - 20.0).abs() < 1e-12);
    assert!(moving_steps(&stairs(), 7.0).is_none(), "fewer than three steps");
}

/// Steps of 2 m: of the chord that has gone t of its way round a corner the ends lie √(t² + (2 − t)²)
/// apart: the mean over t is √2/2 (√2 + asinh 1) = 1.623 225. The step after has gone as far round the
/// next corner: both turn from (2 − t, t) to (t, 2 − t), whose cosine is 2 t (2 − t) / (t² + (2 − t)²).
#[test]
fn equal_steps_round_corners_as_worked_by_hand() {
    let steps = moving_steps(&stairs(), 2.0).unwrap();
    let chord = 0.5_f64.sqrt() * (2.0_f64.sqrt() + 1.0_f64.asinh());
    assert!((steps.mean_chord - chord).abs() < 1e-3, "{} for {chord}", steps.mean_chord);
    // ∫ of the cosine over t from 0 to 2, halved: π/2 − 1.
    let cosine = std::f64::consts::FRAC_PI_2 - 1.0;
    assert!((steps.turns.mean_cos().unwrap() - cosine).abs() < 1e-3);
}

/// A trunk climbed half way leaves the plan, and so the equal steps, as they are; a coordinate that
/// changes by a ten-billionth of a metre changes them by no more.
#[test]
fn equal_steps_do_not_jump() {
    let plan = stairs();
    let of = |plan: &[[f64; 2]]| {
        let steps = moving_steps(plan, 2.0).unwrap();
        [steps.mean_chord, steps.variation, steps.turns.mean_cos().unwrap()]
    };
    let known = of(&plan);
    let mut nudged = plan.clone();
    nudged.iter_mut().enumerate().for_each(|(at, p)| p[at % 2] += 1e-10 * (at as f64).sin());
    let mut standing = plan.clone();
    standing.insert(5, plan[5]);
    for (found, within) in [(of(&nudged), 1e-8), (of(&standing), 1e-3)] {
        for (found, known) in found.into_iter().zip(known) {
            assert!((found - known).abs() < within, "{found} for {known}");
        }
    }
}
