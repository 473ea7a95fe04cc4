//! Rows of a trail, one sign a leg, and the courses that follow.

use super::super::written::survey_with;
use super::{Course, Courses};

/// A leg of 2 m by its sign.
///
/// ```text
/// N needle    B back bearing    T turn    O turn of 0    X needle and turn    . no direction
/// ^ upright, no direction    z no length    g no direction, across a gap    u no tape
/// ```
fn row(sign: char, height: f64) -> String {
    match sign {
        'N' => format!("2,40,,,{height},"),
        'B' => format!("2,,40,,{height},"),
        'T' => format!("2,,,30,{height},"),
        'O' => format!("2,,,0,{height},"),
        'X' => format!("2,40,,30,{height},"),
        'z' => format!("0,,,,{height},"),
        'g' => format!("2,,,,{height},lost"),
        'u' => format!(",,,,{height},"),
        _ => format!("2,,,,{height},"),
    }
}

/// A course by its sign and the leg that it names.
///
/// ```text
/// N needle    T turn    t turned back    S straight on    s straight back    P plumb    F free
/// - none      = profile
/// ```
fn sign(course: Option<Course>) -> String {
    match course {
        None => "-".into(),
        Some(Course::Needle) => "N".into(),
        Some(Course::Turn(before)) => format!("T{before}"),
        Some(Course::TurnBack(behind)) => format!("t{behind}"),
        Some(Course::StraightOn(before)) => format!("S{before}"),
        Some(Course::StraightBack(behind)) => format!("s{behind}"),
        Some(Course::Plumb) => "P".into(),
        Some(Course::Profile) => "=".into(),
        Some(Course::Free) => "F".into(),
        Some(Course::Open) => "open".into(),
    }
}

/// The courses of the trail in these anchors, but that of its first row, which has none.
fn of_anchors(settings: &str, anchors: &str) -> String {
    let (survey, _) = survey_with(settings, anchors, "");
    let rows: Vec<usize> = (0..survey.anchors.len()).collect();
    let courses = Courses::of(&survey, &rows);
    assert_eq!(courses.of_row[0], None);
    let is_profile = courses.of_row.contains(&Some(Course::Profile));
    assert_eq!(courses.profile_only, is_profile, "{anchors}");
    courses.of_row[1..].iter().map(|&course| sign(course)).collect::<Vec<_>>().join(" ")
}

/// The courses of legs by their signs.
fn of(settings: &str, legs: &str) -> String {
    let mut anchors = String::from(
        "trail,anchor,tape_m,bearing_deg,back_bearing_deg,turn_deg,height_m,gap\nBor,0,,,,,1,",
    );
    let mut height = 1.0;
    for (at, leg) in legs.chars().enumerate() {
        height += if leg == '^' { 2.0 } else { 0.0 };
        anchors += &format!("\nBor,{},{}", at + 1, row(leg, height));
    }
    of_anchors(settings, &anchors)
}

fn assert_courses(settings: &str, cases: &[(&str, &str)]) {
    for (legs, courses) in cases {
        assert_eq!(of(settings, legs), *courses, "{settings} {legs}");
    }
}

#[test]
fn each_leg_is_directed_by_what_was_read_of_it() {
    assert_courses(
        "",
        &[
            ("NNBN", "N N N N"),
            // A turn at the release has no leg before it, and is none, whatever stands there.
            (".TT", "F T1 T2"),
            ("OTT", "F T1 T2"),
            ("TTT", "F T1 T2"),
            // A bearing on the first leg, or on any other, orients all.
            ("NTT", "N T1 T2"),
            (".TXT", "t2 t3 N T3"),
            // Where a bearing was read and no turn beside it, the legs before are carried back.
            (".TNT", "t2 s3 N T3"),
        ],
    );
}

#[test]
fn a_blank_is_missing_for_its_own_leg_only() {
    assert_courses(
        "",
        &[
            ("NN.NNN", "N N S2 N N N"),
            (".NNNN", "s2 N N N N"),
            ("NNNN.", "N N N N S4"),
            (".T.TT", "F T1 S2 T3 T4"),
            // One in five may lack a direction; one in four may not where no turns were read.
            (".NNN", "= = = ="),
            ("NN.N", "= = = ="),
            ("NNN.NN.NNN", "N N N S3 N N S6 N N N"),
            ("NNN.NN.NN", "= = = = = = = = ="),
            ("..TTN", "s2 t3 t4 s5 N"),
            // Nothing at all.
            ("...", "= = ="),
        ],
    );
}

#[test]
fn a_plumb_leg_turns_nothing() {
    assert_courses(
        "",
        &[
            ("N^T", "N P T1"),
            ("N^^TN", "N P P T1 N"),
            ("N^.NNNN", "N P S1 N N N N"),
            // The turn behind a plumb leg at the release has no leg before it.
            ("^TT", "P F T2"),
            // A leg without length has no direction to be turned from.
            ("NzT", "N P T1"),
            // It counts as directed, in a profile too.
            ("NN^N", "N N P N"),
            ("N^..", "= P = ="),
            // Without any direction elsewhere a blank says nothing of what stands up.
            (".^.", "= = ="),
        ],
    );
}

#[test]
fn where_nobody_measured_no_direction_is_handed_on() {
    assert_courses(
        "",
        &[
            ("NuNN", "N - N N"),
            ("NgNN", "N - N N"),
            // The turn behind the gap was read from a leg that nobody knows.
            ("NTuTT", "N T1 - F T4"),
            ("uu", "- -"),
            ("", ""),
        ],
    );
}

#[test]
fn a_setting_forces_either() {
    assert_courses(
        "missing_bearing = 'blank'",
        &[
            ("NN.NNN", "= = = = = ="),
            ("NN^NNN", "N N P N N N"),
            (".TT", "F T1 T2"),
            (".T.TT", "= = = = ="),
            ("...", "= = ="),
        ],
    );
    assert_courses(
        "missing_bearing = 'straight_on'",
        &[("N...", "N S1 S2 S3"), ("..N.", "s2 s3 N S3"), ("...", "F S1 S2")],
    );
}

/// Where the walk goes back to an earlier anchor, the turn is from the leg that led there.
#[test]
fn a_branch_is_turned_from_the_leg_that_led_to_its_start() {
    let anchors = "trail,anchor,from,tape_m,bearing_deg,turn_deg,height_m
Bor,0,,,,,1
Bor,1,,2,40,,1
Bor,2,,2,,30,1
Bor,3,1,2,,-50,1
Bor,4,3,2,,20,1
Bor,5,nowhere,2,,20,1
Bor,6,0,2,,20,1";
    // From the release no leg led on: that turn is none, and nothing tells its direction.
    assert_eq!(of_anchors("", anchors), "N T1 T1 T3 - F");
}

/// An anchor named again: the turn is from the leg by which the walk last came there.
#[test]
fn an_anchor_passed_again_is_turned_from_its_last_leg() {
    let anchors = "trail,anchor,from,tape_m,bearing_deg,turn_deg,height_m
Bor,0,,,,,1
Bor,1,,2,40,,1
Bor,2,,2,,30,1
Bor,1,,2,,150,1
Bor,3,1,2,,20,1";
    assert_eq!(of_anchors("", anchors), "N T1 T2 T3");
}
