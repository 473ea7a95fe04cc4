//! What nothing checks, and the tie that would help most, worked by hand.

use crate::field;

use approx::assert_abs_diff_eq;
use field::{Rebuilt, Tables};
use perchline::adjustment::advice::{Advice, advice};
use perchline::maths::ground::Ground;

/// Tapes ± 0.03 m however long, needles ± 2° and 0.03 m, clinometers ± 1.5°. A single height tells
/// whether its anchor is within reach, and nothing else.
const SETTINGS: &str = "bearings.north = 'true'\n[precision]\ntape_per_m = 0\n";
const HEADINGS: &str = "trail,anchor,tape_m,bearing_deg,incline_deg,height_m";

/// Variance of a tape, and of the far end of a line of `run` metres: by its needle, by its clinometer.
const TAPED: f64 = 0.0009;
fn needle(run: f64) -> f64 {
    (run * 2.0_f64.to_radians()).powi(2) + 0.0009
}
fn clinometer(run: f64) -> f64 {
    (run * 1.5_f64.to_radians()).powi(2)
}

/// Level legs by tape, bearing and the height of their far end, then what else is measured.
fn walked(legs: &[(f64, u32, &str)], ties: &str) -> Rebuilt {
    let mut anchors = format!("{HEADINGS}\nBor,0,,,,\n");
    for (at, (tape, bearing, height)) in legs.iter().enumerate() {
        anchors += &format!("Bor,{},{tape},{bearing},0,{height}\n", at + 1);
    }
    let ties =
        if ties.is_empty() { String::new() } else { format!("trail,from,to,tape_m\n{ties}") };
    Tables { anchors, ties, settings: SETTINGS.into(), ..Tables::default() }.rebuild()
}

fn advised(ours: &Rebuilt) -> Vec<Advice> {
    advice(&ours.network, &ours.survey.settings.precision, &Ground::flat())
}

/// From, to, how many legs the tie catches.
fn tie<'a>(ours: &'a Rebuilt, advice: &Advice) -> Option<(&'a str, &'a str, usize)> {
    advice.tie.map(|tie| (ours.name(tie.from), ours.name(tie.to), tie.catches))
}

/// Four legs of 5 m east. A tie back to the release would be 20 m; one to anchor 1 is 15 m, which a
/// tape still has, and would check three legs. With t a tape, b and w the needle at 5 m and
/// 15 m: V is 4 t east, 4 b north and 4 clinometers up, of which the tie sees 3 t and 3 b.
///
/// ```text
/// V' = 4 t − (3 t)² / (3 t + t)  +  4 b − (3 b)² / (3 b + w)  +  4 clinometers
/// ```
#[test]
fn a_tie_back_along_a_straight_walk() {
    let ours = walked(&[(5.0, 90, ""); 4], "");
    let [found] = advised(&ours).try_into().unwrap();
    assert_eq!(
        (found.trail, found.legs, found.unchecked.as_slice()),
        (0, 4, [0, 1, 2, 3].as_slice())
    );
    assert_eq!(tie(&ours, &found), Some(("4", "1", 3)));
    let (best, b, w) = (found.tie.unwrap(), needle(5.0), needle(15.0));
    assert_abs_diff_eq!(best.length, 15.0, epsilon = 1e-9);
    let up = 4.0 * clinometer(5.0);
    assert_abs_diff_eq!(best.before, (4.0 * (TAPED + b) + up).sqrt(), epsilon = 1e-6);
    let after = 4.0 * (TAPED + b) - 2.25 * TAPED - 9.0 * b * b / (3.0 * b + w) + up;
    assert_abs_diff_eq!(best.after, after.sqrt(), epsilon = 1e-6);
}

/// The same with a fifth leg up to 3 m, out of reach: the tie starts before it, where it sees the
/// same three legs, and the end is known a leg worse. At 2 m an anchor is still within reach. With
/// anchor 1 out of reach as well only the release is left, however far.
#[test]
fn a_tie_is_measured_from_the_ground() {
    let with = |heights: [&'static str; 5]| walked(&heights.map(|height| (5.0, 90, height)), "");
    let ours = with(["", "", "", "", "3"]);
    let [found] = advised(&ours).try_into().unwrap();
    assert_eq!(tie(&ours, &found), Some(("4", "1", 3)));
    let (best, b, w) = (found.tie.unwrap(), needle(5.0), needle(15.0));
    let before = 5.0 * (TAPED + b + clinometer(5.0));
    assert_abs_diff_eq!(best.before, before.sqrt(), epsilon = 1e-6);
    let after = before - 2.25 * TAPED - 9.0 * b * b / (3.0 * b + w);
    assert_abs_diff_eq!(best.after, after.sqrt(), epsilon = 1e-6);
    for (heights, to) in
        [(["", "", "", "2", "3"], ("4", "1", 3)), (["3", "", "", "", "3"], ("4", "0", 4))]
    {
        let ours = with(heights);
        let [found] = advised(&ours).try_into().unwrap();
        assert_eq!(tie(&ours, &found), Some(to));
    }
}

/// Two legs east and two north: each coordinate rests on d = 2 t + 2 b. The tie back lies at 45°, and
/// its tape sees (east + north) / √2, its needle (east − north) / √2, both of variance d. A release
/// that is itself known to 5 m changes nothing.
///
/// ```text
/// V' = 2 d − d² / (d + t) − d² / (d + w)  +  4 clinometers
/// ```
#[test]
fn a_tie_across_a_corner() {
    let rows = "0,,,,\nBor,1,5,90,0,\nBor,2,5,90,0,\nBor,3,5,0,0,\nBor,4,5,0,0,\n";
    let control = "control,east_m,north_m,accuracy_m\nF1,40,70,5\n";
    for (release, controls) in [("0", ""), ("F1", control)] {
        let anchors = format!("{HEADINGS}\nBor,{}", rows.replacen('0', release, 1));
        let tables = Tables { anchors, settings: SETTINGS.into(), ..Tables::default() };
        let ours = Tables { controls: controls.into(), ..tables }.rebuild();
        let [found] = advised(&ours).try_into().unwrap();
        assert_eq!(tie(&ours, &found), Some(("4", release, 4)));
        let (best, run) = (found.tie.unwrap(), 200.0_f64.sqrt());
        assert_abs_diff_eq!(best.length, run, epsilon = 1e-9);
        let d = 2.0 * (TAPED + needle(5.0));
        let up = 4.0 * clinometer(5.0);
        assert_abs_diff_eq!(best.before, (2.0 * d + up).sqrt(), epsilon = 1e-6);
        let less = d * d / (d + TAPED) + d * d / (d + needle(run));
        assert_abs_diff_eq!(best.after, (2.0 * d - less + up).sqrt(), epsilon = 1e-6);
    }
}

/// Three legs of 3 m east, and sixteen around a square of 5 m to 0.25 m short of the third anchor. Ties
/// to the release and to anchors 1, 2 and 3 check 19, 18, 17 and 16 legs, which is as good, and the end
/// point chooses between a long tie, whose needle is poor, and legs that no tie sees. Per axis, with d
/// the legs that the tie sees and q its own reading, d q / (d + q) is left of them.
#[test]
fn of_ties_alike_the_end_point_chooses() {
    let mut legs = vec![(3.0, 90, ""); 3];
    legs.extend([0, 90, 180, 270].iter().flat_map(|&bearing| [(1.25, bearing, ""); 4]));
    legs[18].0 = 1.0;
    let ours = walked(&legs, "");
    let [found] = advised(&ours).try_into().unwrap();
    let square_north = 8.0 * TAPED + 7.0 * needle(1.25) + needle(1.0);
    let square_east = 8.0 * TAPED + 8.0 * needle(1.25);
    let left = |seen: f64, by: f64| seen * by / (seen + by);
    let after = |to: f64| {
        let tied = 3.0 - to;
        let north = left(tied * needle(3.0) + square_north, needle(0.25 + 3.0 * tied));
        to * (needle(3.0) + TAPED) + north + left(tied * TAPED + square_east, TAPED)
    };
    assert!(after(2.0) < after(0.0) && after(2.0) < after(1.0) && after(2.0) < after(3.0));
    assert_eq!(tie(&ours, &found), Some(("19", "2", 17)));
    let up = 3.0 * clinometer(3.0) + 15.0 * clinometer(1.25) + clinometer(1.0);
    assert_abs_diff_eq!(found.tie.unwrap().after, (after(2.0) + up).sqrt(), epsilon = 1e-6);
    // Around the square in four legs the same tie would check five of seven, which is too few.
    let mut legs = vec![(3.0, 90, ""); 3];
    legs.extend([(5.0, 0, ""), (5.0, 90, ""), (5.0, 180, ""), (4.75, 270, "")]);
    let ours = walked(&legs, "");
    let [found] = advised(&ours).try_into().unwrap();
    assert_eq!(tie(&ours, &found), Some(("7", "1", 6)));
}

/// An end that is joined to an anchor by a tie needs no second one to it, but one to the release, which
/// checks the first leg as well.
#[test]
fn what_is_tied_already_is_left_out() {
    let ours = walked(&[(5.0, 90, ""); 4], "Bor,1,4,15\n");
    let [found] = advised(&ours).try_into().unwrap();
    assert_eq!(tie(&ours, &found), Some(("4", "0", 1)));
}

/// Around a rectangle: of a short side tell tapes and needles of the three others; a slip of half a turn
/// is twice its run, and must exceed 4.132 standard deviations. Across 27 m ± 2°, twice, that
/// is 5.514 m: a side of 2.74 m would be unchecked and one of 3 m is not. The long sides are, by tape.
/// A leg of 0.4 m is too short to matter.
#[test]
fn a_loop_checks_what_it_can_tell() {
    for (side, unchecked, tied) in [(2.74, vec![1, 3], true), (3.0, vec![], false)] {
        let anchors = format!(
            "{HEADINGS}\nBor,0,,,,\nBor,1,27,0,0,\nBor,2,{side},90,0,\nBor,3,27,180,0,\n\
             Bor,0,{side},270,0,\nBor,5,0.4,0,0,\n"
        );
        let ours = Tables { anchors, settings: SETTINGS.into(), ..Tables::default() }.rebuild();
        let [found] = advised(&ours).try_into().unwrap();
        assert_eq!((found.legs, &found.unchecked), (4, &unchecked), "{side}");
        assert_eq!(found.tie.is_some(), tied, "{side}");
    }
    assert!(advised(&walked(&[(0.4, 0, "")], "")).is_empty());
}

/// Two legs east and two north, whose end a tape of 14.14 m along the diagonal checks: no slip of half
/// a turn goes unnoticed, but across the diagonal nothing is known better. A tie to anchor 1, (5, 10)
/// away, leaves 0.229 m of 0.256 (reading by reading, by another program), which is worth it; were
/// the clinometers ± 1.5° the elevations would outweigh that, and it is not.
#[test]
fn a_tie_that_catches_nothing_must_be_worth_it() {
    let ours = |settings: &str| {
        let rows = "0,,,,\nBor,1,5,90,0,\nBor,2,5,90,0,\nBor,3,5,0,0,\nBor,4,5,0,0,\n";
        let anchors = format!("{HEADINGS}\nBor,{rows}");
        let ties = "trail,from,to,tape_m\nBor,0,4,14.14\n".into();
        let settings = format!("{SETTINGS}{settings}");
        Tables { anchors, ties, settings, ..Tables::default() }.rebuild()
    };
    let firm = ours("incline_deg = 0.1\n");
    let [found] = advised(&firm).try_into().unwrap();
    assert_eq!((found.unchecked.len(), tie(&firm, &found)), (0, Some(("4", "1", 0))));
    let best = found.tie.unwrap();
    assert_abs_diff_eq!(best.before, 0.256_351, epsilon = 1e-4);
    assert_abs_diff_eq!(best.after, 0.229_339, epsilon = 1e-4);
    let [found] = advised(&ours("")).try_into().unwrap();
    assert!(found.tie.is_none());
}
