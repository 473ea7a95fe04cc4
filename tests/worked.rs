//! Adjustments small enough to be worked by hand: how turns, heights, rises and sloping ground enter.
#![expect(clippy::disallowed_methods, reason = "tests lay out surveys on disk")]
#![expect(clippy::unwrap_used, reason = "a test that cannot lay out its survey has failed")]

mod field;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use field::{Rebuilt, Tables};
use perchline::adjust::Residual;
use perchline::adjust::observation::Kind;

/// Nothing grows with length, and the ground is smooth.
const CONSTANT: &str = "bearings.north = 'true'\n[precision]\ntape_m = 0.03\ntape_per_m = 0\n\
    bearing_deg = 1\nturn_deg = 3\nheight_m = 0.05\nheight_per_m = 0\nanchor_m = 0\nground_m = 0\n";
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
