//! Adjustments small enough to be worked by hand: how turns, heights, rises and sloping ground enter.

use crate::field;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use field::{Rebuilt, Tables};
use perchline::adjustment::Residual;
use perchline::adjustment::observation::Kind;

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

/// The sd of one coordinate of an anchor, metres.
fn sd(ours: &Rebuilt, name: &str, axis: usize) -> f64 {
    ours.adjusted.covariances[ours.node(name)][(axis, axis)].sqrt()
}

/// 4 m of run make 3° 0.2094 m wide; anchors found again within 0.1 m add to it: √(0.2094² + 0.1²)
/// over 4 m is what the turn is known to.
#[test]
fn anchors_found_again_widen_a_turn() {
    let settings = CONSTANT.replace("anchor_m = 0", "anchor_m = 0.1");
    let anchors = "trail,anchor,tape_m,bearing_deg,turn_deg,height_m\n\
                   Bor,0,,,,0\nBor,1,3,0,,0\nBor,2,4,,90,0\nBor,3,2,,,0\n";
    let settings = format!("missing_bearing = 'straight_on'\n{settings}");
    let ours = Tables { anchors: anchors.into(), settings, ..Tables::default() }.rebuild();
    let turns = of_kind(&ours, Kind::Turn);
    let wide = (12.0 * DEGREE).hypot(0.1) / 4.0;
    assert_relative_eq!(turns[0].sd, wide, max_relative = 1e-6);
    // Nobody read the second, which is carried on to 50°.
    assert_relative_eq!(turns[1].sd, (100.0 * DEGREE).hypot(0.1) / 2.0, max_relative = 1e-6);
    assert_eq!([turns[0].assumed, turns[1].assumed], [false, true]);
}

/// 87° up, three of its sd from the vertical: 5 m · cos 87° of run, of which each way 5 m · 2° are
/// not known.
#[test]
fn an_upright_leg_is_known_by_its_clinometer() {
    let anchors = "trail,anchor,tape_m,bearing_deg,incline_deg,height_m\n\
                   Bor,0,,,,0\nBor,1,5,30,87,\n";
    let settings = format!("{CONSTANT}incline_deg = 2\n");
    let ours = Tables { anchors: anchors.into(), settings, ..Tables::default() }.rebuild();
    let run = 5.0 * (3.0 * DEGREE).sin();
    let known = [0.5 * run, 0.75_f64.sqrt() * run, 5.0 * (3.0 * DEGREE).cos()];
    for (found, known) in ours.adjusted.positions[ours.node("1")].into_iter().zip(known) {
        assert_abs_diff_eq!(found, known, epsilon = 1e-4);
    }
    for axis in [0, 1] {
        assert_relative_eq!(sd(&ours, "1", axis), 10.0 * DEGREE, max_relative = 0.01);
    }
}

/// Without a bearing, 3 m up a trunk on 3 m: within 0.2 m each way, and as high as the height says. With a
/// clinometer at 88° in place of the height the tape tells the rise to 0.03 m, and the clinometer
/// to √(0.03² + (3 cos 88° · 2°)² + 0.2²).
#[test]
fn a_plumb_leg_is_known_to_its_offset() {
    let rebuilt = |row: &str| {
        let heading = "trail,anchor,tape_m,bearing_deg,incline_deg,height_m,support";
        let anchors = format!("{heading}\nBor,0,,,,0,\n{row}\n");
        let settings = format!("{CONSTANT}incline_deg = 2\nplumb_m = 0.2\n");
        Tables { anchors, settings, ..Tables::default() }.rebuild()
    };
    let by_height = rebuilt("Bor,1,3,,,3,trunk");
    for axis in [0, 1] {
        assert_relative_eq!(sd(&by_height, "1", axis), 0.2, max_relative = 1e-6);
    }
    let by_clinometer = rebuilt("Bor,1,3,,88,,trunk");
    let lean = 3.0 * (2.0 * DEGREE).sin() * 2.0 * DEGREE;
    let clinometer = squares(&[TAPE, lean, 0.2]);
    let rise = 1.0 / (1.0 / (TAPE * TAPE) + 1.0 / clinometer);
    assert_relative_eq!(
        sd(&by_clinometer, "1", 2),
        (rise + HEIGHT * HEIGHT).sqrt(),
        max_relative = 1e-4
    );
    let read = of_kind(&by_clinometer, Kind::Rise)[0];
    assert_relative_eq!(read.observed, 3.0 * (2.0 * DEGREE).cos(), max_relative = 1e-9);
    assert_relative_eq!(read.sd, clinometer.sqrt(), max_relative = 1e-6);
}

/// No needle anywhere: what lies in the plan is unknown, but not how far and how high.
#[test]
fn a_profile_has_runs_and_heights() {
    let anchors = "trail,anchor,tape_m,height_m\nBor,0,,0\nBor,1,5,3\nBor,2,13,8\n";
    let settings = CONSTANT.into();
    let ours = Tables { anchors: anchors.into(), settings, ..Tables::default() }.rebuild();
    let at = |name: &str| ours.adjusted.positions[ours.node(name)];
    let ([e1, n1, up1], [e2, n2, up2]) = (at("1"), at("2"));
    assert_abs_diff_eq!(e1.hypot(n1), 4.0, epsilon = 1e-6);
    assert_abs_diff_eq!((e2 - e1).hypot(n2 - n1), 12.0, epsilon = 1e-6);
    assert_abs_diff_eq!(up1, 3.0, epsilon = 1e-6);
    assert_abs_diff_eq!(up2, 8.0, epsilon = 1e-6);
    assert!(of_kind(&ours, Kind::Bearing).iter().all(|bearing| bearing.assumed));
}

/// A tape of 2 m to a height of 1.95 m leans some half a metre, towards where the needle points.
#[test]
fn a_steep_leg_leans_where_its_needle_points() {
    let anchors = "trail,anchor,tape_m,bearing_deg,height_m\nBor,0,,,0\nBor,1,2,90,1.95\n";
    let settings = CONSTANT.replace("height_m = 0.05", "height_m = 0.1");
    let ours = Tables { anchors: anchors.into(), settings, ..Tables::default() }.rebuild();
    let [east, north, _] = ours.adjusted.positions[ours.node("1")];
    assert!(0.3 < east && east < 0.8, "{east}");
    assert_abs_diff_eq!(north, 0.0, epsilon = 1e-6);
    let steep = of_kind(&ours, Kind::Steep);
    assert!(steep.len() == 1 && steep[0].assumed, "{steep:?}");
}

/// A leg whose rise nobody measured is taken as level within 30°, or 2.618 m at 5 m. Two rises of 0 and
/// 0.1 ± 0.05 leave ± 0.05 each, which is 2 in all. Of four readings and what is taken for one, three
/// go for the far end, and what is taken is checked nearly wholly: of 800 + 1 / 2.618² per m² its own
/// share is 0.000 182, so that 1.000 182 degrees of freedom remain. Chance makes 2 of one: 15.7 %. With one
/// rise there is no check.
#[test]
fn what_is_taken_for_a_reading_is_no_check() {
    let ties = "trail,from,to,rise_m\nBor,0,1,0\n";
    let rebuilt = |ties: String| {
        let anchors = "trail,anchor,tape_m,bearing_deg\nBor,0,,\nBor,1,5,90\n".into();
        Tables { anchors, ties, settings: CONSTANT.into(), ..Tables::default() }.rebuild()
    };
    let fit = rebuilt(format!("{ties}Bor,0,1,0.1\n")).adjusted.fits.remove(0);
    assert_abs_diff_eq!(fit.statistic, 2.0, epsilon = 1e-3);
    assert_abs_diff_eq!(fit.degrees_of_freedom, 1.000_182, epsilon = 1e-5);
    assert_abs_diff_eq!(fit.p_value.unwrap(), 0.157_3, epsilon = 1e-3);
    let unchecked = rebuilt(ties.into()).adjusted.fits.remove(0);
    assert_eq!((unchecked.degrees_of_freedom, unchecked.p_value), (0.0, None));
}
