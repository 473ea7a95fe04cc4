//! Adjustments and closures small enough to be worked by hand: where turns, heights, sloping ground,
//! names of the compass and plumb legs enter, and with what weight.
#![expect(clippy::disallowed_methods, reason = "tests lay out surveys on disk")]
#![expect(clippy::unwrap_used, reason = "a test that cannot lay out its survey has failed")]

mod field;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use field::{Rebuilt, Tables};
use perchline::adjust::Residual;
use perchline::adjust::closure::Verdict;
use perchline::adjust::observation::Kind;

/// Nothing grows with length, and the ground is smooth.
const CONSTANT: &str = "bearings.north = 'true'\n[precision]\ntape_m = 0.03\ntape_per_m = 0\n\
    bearing_deg = 1\nturn_deg = 3\nheight_m = 0.05\nheight_per_m = 0\nanchor_m = 0\nground_m = 0\n\
    plumb_m = 0.2\n";
const TAPE: f64 = 0.03;
const HEIGHT: f64 = 0.05;
/// A degree in radians, one standard deviation of a bearing.
const DEGREE: f64 = 0.017_453_292_52;

fn rebuilt(anchors: &str, ties: &str) -> Rebuilt {
    let headings =
        "trail,anchor,tape_m,bearing_deg,bearing_point,back_bearing_deg,turn_deg,height_m";
    Tables {
        anchors: format!("{headings}\n{anchors}"),
        ties: format!("trail,from,to,tape_m,bearing_deg\n{ties}"),
        settings: CONSTANT.into(),
        ..Tables::default()
    }
    .rebuild()
}

fn of_kind(ours: &Rebuilt, kind: Kind) -> Vec<Residual> {
    ours.adjusted.residuals.iter().filter(|residual| residual.kind == kind).copied().collect()
}

fn squares(parts: &[f64]) -> f64 {
    parts.iter().map(|part| part * part).sum()
}

/// 3 m north, then by a right turn of 90° 4 m east.
const BY_TURN: &str = "Bor,0,,,,,,0\nBor,1,3,0,,,,0\nBor,2,4,,,,90,0\n";

/// How far 2 lies from 0 hangs on the tapes by 0.6 and 0.8, and on the turn by −4 · 0.6 m a radian;
/// the bearing turns all together and is checked by nothing. So of the misclosure w of a tape from 0
/// to 2, with σw² = σt² (0.36 + 0.64 + 1) + (2.4 σ)², each reading a takes (a σa / σw)².
#[test]
fn a_tape_across_checks_the_turn() {
    let ours = rebuilt(BY_TURN, "Bor,0,2,5.01,\n");
    let turn_sd = 3.0 * DEGREE;
    let variance = squares(&[0.6 * TAPE, 0.8 * TAPE, TAPE, 2.4 * turn_sd]);
    let tapes = of_kind(&ours, Kind::Tape);
    let turn = of_kind(&ours, Kind::Turn)[0];
    let shares = [0.6 * TAPE, 0.8 * TAPE, TAPE, 2.4 * turn_sd].map(|part| part * part / variance);
    // The adjusted walk is a little longer than the raw one, which changes shares by a percent.
    for (found, share) in tapes.iter().chain([&turn]).zip(shares) {
        assert_relative_eq!(found.redundancy, share, max_relative = 0.02);
        let detectable = 4.132_148 * found.sd / share.sqrt();
        assert_relative_eq!(found.detectable.unwrap(), detectable, max_relative = 0.01);
    }
    assert_relative_eq!(turn.sd, turn_sd, max_relative = 1e-9);
    assert_relative_eq!(turn.observed, 90.0 * DEGREE, max_relative = 1e-9);
    // 5 for 5.01: the walk is made longer, the tie shorter, the turn less.
    let standardised = 0.01 / variance.sqrt();
    for (found, sign) in tapes.iter().chain([&turn]).zip([1.0, 1.0, -1.0, -1.0]) {
        assert_relative_eq!(found.standardised.unwrap(), sign * standardised, max_relative = 0.01);
    }
    let residual = -0.01 * 2.4 * turn_sd * turn_sd / variance;
    assert_relative_eq!(turn.residual, residual, max_relative = 0.01);
    let bearing = of_kind(&ours, Kind::Bearing)[0];
    assert_eq!((bearing.redundancy, bearing.standardised, bearing.detectable), (0.0, None, None));
    let fit = &ours.adjusted.fits[0];
    assert_abs_diff_eq!(fit.degrees_of_freedom, 1.0, epsilon = 1e-6);
    assert_relative_eq!(fit.statistic, 1e-4 / variance, max_relative = 0.01);
    // erfc √(0.0056846 / 2)
    assert_abs_diff_eq!(fit.p_value.unwrap(), 0.939_90, epsilon = 1e-3);
}

/// The same closure before any adjustment. Along (0.8, 0.6) the turn counts by 2.4 m, the bearing
/// of the first leg not at all; across it by 3.2 m and 5 m, as does the bearing of the tie.
#[test]
fn a_turn_carries_the_errors_of_those_before_it() {
    let by_tape = rebuilt(BY_TURN, "Bor,0,2,5,\n");
    let turn_sd = 3.0 * DEGREE;
    let along = squares(&[TAPE, TAPE, 2.4 * turn_sd]);
    assert_relative_eq!(by_tape.closure().expected, along.sqrt(), max_relative = 1e-6);
    let whole = rebuilt(BY_TURN, "Bor,0,2,5,53.130102354\n");
    let both = squares(&[TAPE, TAPE, TAPE, 4.0 * turn_sd, 5.0 * DEGREE, 5.0 * DEGREE]);
    assert_relative_eq!(whole.closure().expected, both.sqrt(), max_relative = 1e-6);
    assert_eq!(whole.closure().verdict, Verdict::Closes);
}

/// One of 16 points is read to 6.5°; a needle read at both ends to a degree over √2.
#[test]
fn a_needle_counts_as_it_was_read() {
    let expected = |first: &str, second: &str| {
        let anchors = format!("Bor,0,,,,,,0\nBor,1,3,{first},,0\nBor,2,4,{second},,0\n");
        rebuilt(&anchors, "Bor,0,2,5,\n").closure().expected
    };
    let of = |first: f64, second: f64| {
        squares(&[TAPE, TAPE, 2.4 * first * DEGREE, 2.4 * second * DEGREE]).sqrt()
    };
    let twice = 0.5_f64.sqrt();
    for (first, second, by) in [
        ("0,,", "90,,", [1.0, 1.0]),
        (",N,", "90,,", [6.5, 1.0]),
        (",,180", "90,,270", [1.0, twice]),
        (",N,180", ",E,", [twice, 6.5]),
    ] {
        assert_relative_eq!(expected(first, second), of(by[0], by[1]), max_relative = 1e-6);
    }
}

/// Up 3 m on a tape of 5 m, 4 m east, then 3 m north on the level; the tie of √34 m is 5 m long in
/// plan. Along (0.8, 0.6) the tapes count by 0.8 · 5/4, 0.6 and √34/5, the heights of the first leg
/// by ∓ 0.8 · 3/4, those of the tie by ± 3/5: that of the release cancels. Each bearing counts 2.4 m.
#[test]
fn a_height_moves_the_run_under_the_tape() {
    let anchors = "Bor,0,,,,,,0\nBor,1,5,90,,,,3\nBor,2,3,0,,,,3\n";
    let ours = rebuilt(anchors, "Bor,0,2,5.830951895,\n");
    let expected = squares(&[
        TAPE,
        0.6 * TAPE,
        34.0_f64.sqrt() / 5.0 * TAPE,
        0.6 * HEIGHT,
        0.6 * HEIGHT,
        2.4 * DEGREE,
        2.4 * DEGREE,
    ]);
    let closure = ours.closure();
    assert_relative_eq!(closure.expected, expected.sqrt(), max_relative = 1e-6);
    assert!(closure.horizontal() < 1e-6, "{closure:?}");
}

/// A plumb leg between two level ones: its end lies within 0.2 m either way.
#[test]
fn a_plumb_leg_adds_its_offset() {
    let anchors = "Bor,0,,,,,,0\nBor,1,3,0,,,,0\nBor,2,2,,,,,2\nBor,3,4,90,,,,2\n";
    let ours = rebuilt(anchors, "Bor,0,3,5.385164807,\n"); // √(25 + 4)
    let tie = 29.0_f64.sqrt() / 5.0 * TAPE;
    // The tie rests on the heights of its ends by 2/5.
    let heights = [0.4 * HEIGHT, 0.4 * HEIGHT];
    let walk = squares(&[0.6 * TAPE, 0.8 * TAPE, tie, 2.4 * DEGREE, 2.4 * DEGREE, 0.2]);
    let expected = walk + squares(&heights);
    assert_relative_eq!(ours.closure().expected, expected.sqrt(), max_relative = 1e-6);
}

/// Uphill to the east by 3 in 4: a tape of 5 m along the ground ends 4 m east and 3 m up.
///
/// ```text
/// x² + (h₁ − h₀ + ¾x)² = d²      δx = (5 δd − 3 (δh₁ − δh₀)) / (4 + ¾ · 3)      δz = δh₁ + ¾ δx
/// ```
#[test]
fn heights_on_a_slope_carry_into_the_plan() {
    let slope = "[ground]\nmodel = 'slope'\nangle_deg = 36.86989764584402\ndirection_deg = 270\n";
    let ours = Tables {
        anchors: "trail,anchor,tape_m,bearing_deg,height_m\nBor,0,,,0\nBor,1,5,90,0\n".into(),
        settings: format!("{CONSTANT}{slope}"),
        ..Tables::default()
    }
    .rebuild();
    let node = ours.node("1");
    for (found, known) in ours.adjusted.positions[node].into_iter().zip([4.0, 0.0, 3.0]) {
        assert_abs_diff_eq!(found, known, epsilon = 1e-6);
    }
    let by = |east: [f64; 3], up: [f64; 3]| -> f64 {
        let sds = [TAPE, HEIGHT, HEIGHT];
        east.iter().zip(up).zip(sds).map(|((a, b), sd)| a * b * sd * sd).sum()
    };
    let east = [5.0, -3.0, 3.0].map(|part| part / 6.25);
    let up = [0.75 * east[0], 1.0 + 0.75 * east[1], 0.75 * east[2]];
    let covariance = ours.adjusted.covariances[node];
    assert_relative_eq!(covariance[(0, 0)], by(east, east), max_relative = 1e-6);
    assert_relative_eq!(covariance[(2, 2)], by(up, up), max_relative = 1e-6);
    assert_relative_eq!(covariance[(0, 2)], by(east, up), max_relative = 1e-6);
    assert_relative_eq!(covariance[(1, 1)], (4.0 * DEGREE).powi(2), max_relative = 1e-6);
    let release = ours.adjusted.covariances[ours.node("0")];
    assert_relative_eq!(release[(2, 2)], HEIGHT * HEIGHT, max_relative = 1e-6);
    assert_eq!((release[(0, 0)], release[(1, 1)]), (0.0, 0.0));
}

/// Two heights tell no rise, a third reading of the same sd tells 0.3 m: a third of it falls to each.
#[test]
fn a_rise_and_two_heights_share_what_they_disagree_by() {
    let anchors = "trail,anchor,tape_m,bearing_deg,height_m\nBor,0,,,2\nBor,1,3,0,2\n";
    let ties = "trail,from,to,rise_m\nBor,0,1,0.3\n";
    let settings = format!("{CONSTANT}rise_m = 0.05\n");
    let [anchors, ties] = [anchors, ties].map(String::from);
    let ours = Tables { anchors, ties, settings, ..Tables::default() }.rebuild();
    for (name, up) in [("0", 1.9), ("1", 2.1)] {
        assert_abs_diff_eq!(ours.adjusted.positions[ours.node(name)][2], up, epsilon = 1e-3);
    }
    for height in of_kind(&ours, Kind::Height) {
        assert_relative_eq!(height.redundancy, 1.0 / 3.0, max_relative = 0.01);
        assert_relative_eq!(height.residual.abs(), 0.1, max_relative = 0.02);
        assert_relative_eq!(
            height.standardised.unwrap().abs(),
            2.0 * 3.0_f64.sqrt(),
            max_relative = 0.01
        );
    }
}
