//! What a closure is expected to miss by, and the verdict on it, worked by hand from the readings.

use crate::field;

use approx::assert_relative_eq;
use field::{Rebuilt, Tables};
use perchline::adjustment::closure::Verdict;

/// Nothing grows with length, and the ground is smooth.
const CONSTANT: &str = "bearings.north = 'true'\n[precision]\ntape_m = 0.03\ntape_per_m = 0\n\
    bearing_deg = 1\nturn_deg = 3\nincline_deg = 2\nheight_m = 0.05\nheight_per_m = 0\nrise_m = 0.04\n\
    anchor_m = 0\nground_m = 0\nplumb_m = 0.2\n";
const TAPE: f64 = 0.03;
const HEIGHT: f64 = 0.05;
const RISE: f64 = 0.04;
/// A degree in radians, one standard deviation of a bearing.
const DEGREE: f64 = 0.017_453_292_52;
/// One of a turn.
const TURN: f64 = 3.0 * DEGREE;

fn tables(anchors: &str, ties: &str) -> Tables {
    let headings = "trail,anchor,tape_m,bearing_deg,bearing_point,back_bearing_deg,turn_deg,incline_deg,height_m";
    let ties = if ties.is_empty() {
        String::new()
    } else {
        format!("trail,from,to,tape_m,bearing_deg,incline_deg,rise_m\n{ties}")
    };
    let anchors = format!("{headings}\n{anchors}");
    Tables { anchors, ties, settings: CONSTANT.into(), ..Tables::default() }
}

fn rebuilt(anchors: &str, ties: &str) -> Rebuilt {
    tables(anchors, ties).rebuild()
}

fn squares(parts: &[f64]) -> f64 {
    parts.iter().map(|part| part * part).sum()
}

/// The only closure misses by the root of the sum of these squares, on average.
fn assert_expected(ours: &Rebuilt, parts: &[f64]) {
    assert_relative_eq!(ours.closure().expected, squares(parts).sqrt(), max_relative = 1e-6);
}

/// 3 m north, then by a right turn of 90° 4 m east.
const BY_TURN: &str = "Bor,0,,,,,,,0\nBor,1,3,0,,,,,0\nBor,2,4,,,,90,,0\n";
/// The same by bearings.
const BY_NEEDLE: &str = "Bor,0,,,,,,,0\nBor,1,3,0,,,,,0\nBor,2,4,90,,,,,0\n";

/// Along (0.8, 0.6) the turn counts by 2.4 m, the bearing of the first leg not at all; across it by
/// 3.2 m and 5 m, as does the bearing of the tie.
#[test]
fn a_turn_carries_the_errors_of_those_before_it() {
    assert_expected(&rebuilt(BY_TURN, "Bor,0,2,5,,,\n"), &[TAPE, TAPE, 2.4 * TURN]);
    let whole = rebuilt(BY_TURN, "Bor,0,2,5,53.130102354,,\n");
    assert_expected(&whole, &[TAPE, TAPE, TAPE, 4.0 * TURN, 5.0 * DEGREE, 5.0 * DEGREE]);
    assert_eq!(whole.closure().verdict, Verdict::Closes);
}

/// 3 m, 4 m and by turns back: the first turn swings what is left of the loop, which ends 3 m from
/// it, the second the last 5 m. The bearing swings the whole loop, which ends where it began.
#[test]
fn a_loop_of_turns_closes_along_and_across() {
    let back = format!("{BY_TURN}Bor,0,5,,,,143.130102354,,\n");
    assert_expected(&rebuilt(&back, ""), &[TAPE, TAPE, TAPE, 3.0 * TURN, 5.0 * TURN]);
}

/// A needle alone tells across: the tapes by 0.8 and 0.6, the bearings by 1.8, 3.2 and 5 m.
#[test]
fn a_tie_by_needle_alone_checks_across_itself() {
    let ours = rebuilt(BY_NEEDLE, "Bor,0,2,,53.130102354,,\n");
    assert_expected(&ours, &[TAPE, 1.8 * DEGREE, 3.2 * DEGREE, 5.0 * DEGREE]);
}

/// A direction that was carried on is known to 50°.
#[test]
fn a_direction_carried_on_is_hardly_known() {
    let mut tables =
        tables("Bor,0,,,,,,,0\nBor,1,3,90,,,,,0\nBor,2,4,,,,,,0\n", "Bor,0,2,7,90,,\n");
    tables.settings = format!("missing_bearing = 'straight_on'\n{CONSTANT}");
    let parts = [TAPE, TAPE, TAPE, 7.0 * DEGREE, 4.0 * 50.0 * DEGREE, 7.0 * DEGREE];
    assert_expected(&tables.rebuild(), &parts);
}

/// Each end is re-occupied within 0.1 m, which a short leg feels as much as a long one: along
/// (0.8, 0.6) by 0.8 and 0.6 of it.
#[test]
fn anchors_found_again_add_to_every_bearing() {
    let mut tables = tables(BY_NEEDLE, "Bor,0,2,5,,,\n");
    tables.settings = CONSTANT.replace("anchor_m = 0", "anchor_m = 0.1");
    let parts = [TAPE, TAPE, 2.4 * DEGREE, 2.4 * DEGREE, 0.1];
    assert_expected(&tables.rebuild(), &parts);
}

/// One of 16 points is read to 6.5°; a needle read at both ends to a degree over √2.
#[test]
fn a_needle_counts_as_it_was_read() {
    let expected = |first: &str, second: &str| {
        let anchors = format!("Bor,0,,,,,,,0\nBor,1,3,{first},,,0\nBor,2,4,{second},,,0\n");
        rebuilt(&anchors, "Bor,0,2,5,,,\n").closure().expected
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
    let anchors = "Bor,0,,,,,,,0\nBor,1,5,90,,,,,3\nBor,2,3,0,,,,,3\n";
    let ours = rebuilt(anchors, "Bor,0,2,5.830951895,,,\n");
    let tie = 34.0_f64.sqrt() / 5.0 * TAPE;
    let heights = 0.6 * HEIGHT;
    let parts = [TAPE, 0.6 * TAPE, tie, heights, heights, 2.4 * DEGREE, 2.4 * DEGREE];
    assert_expected(&ours, &parts);
    assert!(ours.closure().horizontal() < 1e-6);
}

/// Up 3 m on 4 m of run by heights; the tie rises 3.1 m on 4.1 m of run by its own tape and rise.
/// Both runs hang on tape and rise by c = d / run and s = rise / run:
///
/// ```text
/// along:      (c₁² + c₂²) σt² + 2 (s₁ σh)² + (s₂ σr)²
/// up:         2 σh² + σr²
/// along · up: −2 s₁ σh² − s₂ σr²
/// ```
/// Both fail to meet by −0.1 m; of two degrees of freedom p is exp(−½ mᵀ Q⁻¹ m).
#[test]
fn a_rise_that_is_too_long_makes_its_run_too_short() {
    let tape = 4.1_f64.hypot(3.1);
    let anchors = "Bor,0,,,,,,,0\nBor,1,5,90,,,,,3\n";
    let ours = rebuilt(anchors, &format!("Bor,0,1,{tape},,,3.1\n"));
    let (s1, s2) = (0.75, 3.1 / 4.1);
    let along = squares(&[1.25 * TAPE, tape / 4.1 * TAPE, s1 * HEIGHT, s1 * HEIGHT, s2 * RISE]);
    let up = squares(&[HEIGHT, HEIGHT, RISE]);
    let both = -2.0 * s1 * HEIGHT * HEIGHT - s2 * RISE * RISE;
    let statistic = 0.01 * (along + up - 2.0 * both) / (along * up - both * both);
    let closure = ours.closure();
    assert_relative_eq!(closure.expected, (along + up).sqrt(), max_relative = 1e-6);
    assert_relative_eq!(closure.p_value, (-0.5 * statistic).exp(), max_relative = 1e-6);
}

/// A leg that has heights at both ends owes its rise to them, whatever its clinometer says.
#[test]
fn heights_come_before_the_clinometer() {
    let anchors = "Bor,0,,,,,,,0\nBor,1,5,90,,,,36.86989764584402,3\n";
    let ours = rebuilt(anchors, "Bor,0,1,,,,3\n");
    assert_expected(&ours, &[HEIGHT, HEIGHT, RISE]);
    // Without the upper one the rise is 3/5 of the tape, and moves by the run a radian.
    let anchors = "Bor,0,,,,,,,0\nBor,1,5,90,,,,36.86989764584402,\n";
    let ours = rebuilt(anchors, "Bor,0,1,,,,3\n");
    assert_expected(&ours, &[0.6 * TAPE, 4.0 * 2.0 * DEGREE, RISE]);
}

/// A clinometer over 5 m of run, at a slope of one half: 5 (1 + ¼) m a radian.
#[test]
fn a_clinometer_alone_tells_a_rise_by_its_run() {
    let ours = rebuilt(BY_NEEDLE, "Bor,0,2,,,26.56505117707799,\n");
    assert_expected(&ours, &[HEIGHT, HEIGHT, 6.25 * 2.0 * DEGREE]);
}

/// A plumb leg between two level ones ends within 0.2 m either way. The tie of √29 m rests on the
/// heights of its ends by 2/5.
#[test]
fn a_plumb_leg_adds_its_offset() {
    let anchors = "Bor,0,,,,,,,0\nBor,1,3,0,,,,,0\nBor,2,2,,,,,,2\nBor,3,4,90,,,,,2\n";
    let ours = rebuilt(anchors, "Bor,0,3,5.385164807,,,\n");
    let tie = 29.0_f64.sqrt() / 5.0 * TAPE;
    let heights = 0.4 * HEIGHT;
    let bearings = 2.4 * DEGREE;
    let parts = [0.6 * TAPE, 0.8 * TAPE, tie, bearings, bearings, 0.2, heights, heights];
    assert_expected(&ours, &parts);
}

/// Two legs of 4 m east between controls 8 m apart, each ± a: in the east 2 σt² + 2 a², in the north
/// 2 (4 σb)² + 2 a². They are too coarse where 4 a² is more than nine times the walk's own
/// 0.0115478, which is from a = 0.1612 on.
#[test]
fn controls_three_times_as_coarse_as_the_walk_check_nothing() {
    for (accuracy, verdict) in [(0.158, Verdict::Closes), (0.165, Verdict::TooCoarse)] {
        let mut tables = tables("Bor,Jelka,,,,,,,0\nBor,1,4,90,,,,,0\nBor,Bukev,4,90,,,,,0\n", "");
        tables.controls = format!(
            "control,east_m,north_m,accuracy_m\nJelka,100,50,{accuracy}\nBukev,108,50,{accuracy}\n"
        );
        let ours = tables.rebuild();
        let bearing = 4.0 * DEGREE;
        let parts = [TAPE, TAPE, bearing, bearing, 2.0 * accuracy];
        assert_expected(&ours, &parts);
        assert_eq!(ours.closure().verdict, verdict, "{accuracy}");
    }
}
