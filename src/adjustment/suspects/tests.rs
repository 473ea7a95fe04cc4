//! What a search is made of, worked by hand.

use super::super::leave_one_out::Rest;
use super::trials::{saving, weigh};
use super::{Change, Explanation, Tested, Trial, each_sort, gap, own_vector};
use crate::adjustment::network::traverse::RawLine;
use crate::adjustment::network::{Course, Line};
use crate::adjustment::observation::Kind;
use crate::adjustment::slip::{Slip, WouldRead};
use crate::adjustment::written::survey;
use nalgebra::{Matrix3, Vector3};

fn trial(line: Option<usize>, node: Option<usize>, slip: Slip, score: f64) -> Trial {
    let change = Change::Height(0, 0.0);
    let told = Explanation {
        slip,
        kind: Kind::Tape,
        would_read: WouldRead::Number(0.0, 0),
        leaves: 0.0,
        line,
        node,
        change,
        weight: 0.0,
        left: 0.0,
        score,
    };
    (told, change)
}

/// exp(−½ · 2 ln 3) = 1/3: a score higher by 2 ln 3 is three times less likely, and one by 2 ln 6 six
/// times: 1, 1/3 and 1/6 of 1.5.
#[test]
fn trials_weigh_by_their_likelihood() {
    let scores = [0.0, 2.0 * 3.0_f64.ln(), 2.0 * 6.0_f64.ln()];
    let mut trials = scores.map(|more| trial(Some(0), None, Slip::WrongSign, 40.0 + more));
    weigh(&mut trials);
    for ((told, _), known) in trials.iter().zip([6.0 / 9.0, 2.0 / 9.0, 1.0 / 9.0]) {
        assert!((told.weight - known).abs() < 1e-12, "{}", told.weight);
    }
}

/// Half checked, ± 0.2 m and 3 m off, so that v = 1.5 m: 2 m more take (2 · 2 · 1.5 − 4 · 0.5) / 0.04 off
/// the sum of squares, 3 m more the most, and 6 m more leave it as it is.
#[test]
fn a_height_takes_off_what_it_is_off() {
    let tested = Tested {
        kind: Kind::Height,
        assumed: false,
        sd: 0.2,
        redundancy: 0.5,
        standardised: None,
        off: 3.0,
    };
    for (by, known) in [(2.0, 100.0), (3.0, 112.5), (6.0, 0.0), (-1.0, -87.5)] {
        assert!((saving(&tested, by) - known).abs() < 1e-9, "{by}: {}", saving(&tested, by));
    }
}

#[test]
fn of_one_place_and_sort_only_the_best_is_gone_on_with() {
    use Slip::{DecimalSlip, WrongFrom};
    let trials = [
        trial(Some(3), None, WrongFrom, 1.0),
        trial(Some(3), None, WrongFrom, 2.0),
        trial(Some(4), None, WrongFrom, 3.0),
        trial(Some(3), None, DecimalSlip, 4.0),
        trial(None, Some(3), DecimalSlip, 5.0),
        trial(None, Some(4), DecimalSlip, 6.0),
        trial(Some(4), None, WrongFrom, 7.0),
    ];
    assert_eq!(each_sort(&trials).collect::<Vec<_>>(), [0, 2, 3, 4, 5]);
}

/// A tape of 5 m that hangs plumb is its rise, down where heights say so; at sin⁻¹ 0.6 it rises 3 m;
/// by heights it rises what they say.
#[test]
fn a_line_has_a_rise_of_its_own() {
    let (_, network) = survey("trail,anchor,tape_m,bearing_deg\nBor,0,,\nBor,1,5,90", "");
    let line = network.lines[0];
    let laid = RawLine { horizontal: 4.0, rise: -2.0, azimuth: std::f64::consts::FRAC_PI_2 };
    let of = |line: &Line| own_vector(line, laid);
    let plumb = Line { course: Course::Plumb, incline: Some(0.1), ..line };
    let sloped = Line { incline: Some(0.6_f64.asin()), ..line };
    for (line, rise) in [(plumb, -5.0), (sloped, 3.0), (line, -2.0)] {
        assert!((of(&line) - Vector3::new(4.0, 0.0, rise)).norm() < 1e-12, "{line:?}");
    }
}

/// The others tell the plan, about (1, 2), which their pull (2, 0) at an information of 4 moves by
/// half a metre: (4.5, 6) lies (3, 4) off, however high.
#[test]
fn a_gap_is_seen_where_the_others_tell() {
    let rest = Rest {
        at: Vector3::new(1.0, 2.0, 3.0),
        least: 0.0,
        pull: Vector3::new(2.0, 0.0, 0.0),
        information: Matrix3::from_diagonal(&Vector3::new(4.0, 4.0, 0.0)),
    };
    assert!((gap(&rest, Vector3::new(4.5, 6.0, 9.0)) - 5.0).abs() < 1e-12);
}
