//! What a path is cut into: bouts, sections, the escape run, its hours; worked by hand.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use perchline::adjustment::network::build;
use perchline::adjustment::path::EscapeFound;
use perchline::adjustment::path::bouts::{Bout, count_above};
use perchline::adjustment::path::sections::Section;
use perchline::measures::metrics::Times;
use perchline::results::progress::Progress;
use perchline::results::{Analysis, Wanted, analyse};
use perchline::survey::input::source::read_survey;
use std::fs;
use tempfile::TempDir;

const HEADING: &str = "trail,anchor,tape_m,bearing_deg,height_m,gap,escape,seen\n";

/// Up 4 m on 3 m of plan, level for 3 m, down again, level on the ground: legs of 5, 3, 5 and 3 m.
const THERE_AND_BACK: [&str; 5] =
    ["T,1,,,0,,,", "T,2,5,90,4,,,", "T,3,3,90,4,,,", "T,4,5,90,0,,,", "T,5,3,90,0,,,"];

fn analysed(settings: &str, anchors: &[&str], trails: &str) -> Analysis {
    let folder = TempDir::new().unwrap();
    let write = |name: &str, text: String| fs::write(folder.path().join(name), text).unwrap();
    let plain = "[bearings]\nnorth = \"true\"\n[precision]\nground_m = 0\n";
    write("survey.toml", format!("{plain}{settings}"));
    write("anchors.csv", format!("{HEADING}{}\n", anchors.join("\n")));
    if !trails.is_empty() {
        write("trails.csv", trails.to_owned());
    }
    let (survey, faults) = read_survey(folder.path(), &[]).unwrap();
    assert!(!faults.stop(), "{:#?}", faults.sorted());
    let network = build(&survey);
    let wanted = Wanted { draws: 0, ..Wanted::default() };
    analyse(survey, network, wanted, &Progress::default()).unwrap()
}

fn bouts(edge: &str, anchors: &[&str]) -> Vec<Bout> {
    let settings = format!("[strata]\nedges_m = [{edge}]\n");
    analysed(&settings, anchors, "").trails[0].bouts.clone()
}

/// A leg of 5 m from the ground to 4 m crosses 1 m after a quarter: 1.25 m at 0.5 m on average
/// below, 3.75 m at 2.5 m above.
#[test]
fn bouts_are_cut_where_a_leg_crosses_the_edge() {
    let found = bouts("1", &THERE_AND_BACK);
    let expected = [
        (false, [0, 1], 1.25, 1.0, 0.5),
        (true, [0, 3], 3.75 + 3.0 + 3.75, 4.0, (2.0 * 3.75 * 2.5 + 3.0 * 4.0) / 10.5),
        (false, [2, 4], 1.25 + 3.0, 1.0, 1.25 * 0.5 / 4.25),
    ];
    assert_eq!(found.len(), expected.len());
    for (bout, (above, points, length, highest, mean)) in found.iter().zip(expected) {
        assert_eq!((bout.above, [bout.first, bout.last], bout.gaps), (above, points, 0));
        assert_relative_eq!(bout.length, length, max_relative = 1e-9);
        assert_relative_eq!(bout.highest, highest, max_relative = 1e-9);
        assert_relative_eq!(bout.mean_height.unwrap(), mean, max_relative = 1e-9);
    }
}

/// What lies on the edge is above it; a path that touches no other side is one bout.
#[test]
fn a_bout_at_the_edge_is_above_it() {
    let found = bouts("4", &["T,1,,,4,,,", "T,2,2,90,4,,,", "T,3,3,90,4,,,"]);
    assert_eq!(found.len(), 1);
    assert!(found[0].above);
    assert_relative_eq!(found[0].length, 5.0, max_relative = 1e-9);
}

/// Two gaps are two gaps, of which the length is not counted.
#[test]
fn a_bout_counts_its_gaps_but_not_their_length() {
    let anchors = ["T,1,,,0,,,", "T,2,2,90,0,,,", "T,3,3,90,0,lost,,", "T,4,4,90,0,lost,,"];
    let found = bouts("1", &anchors);
    assert_eq!((found.len(), found[0].gaps), (1, 2));
    assert_relative_eq!(found[0].length, 2.0, max_relative = 1e-9);
    let lost = bouts("1", &["T,1,,,0,,,", "T,2,3,90,0,lost,,"]);
    assert_eq!(lost[0].mean_height, None);
}

/// The count of every draw is that of the bouts: by hand for walks that start, stay, end above.
#[test]
fn bouts_above_are_counted_alike() {
    let analysis = analysed("", &THERE_AND_BACK, "");
    let legs = &analysis.paths[0].legs;
    for (heights, count) in [
        ([0.0, 4.0, 4.0, 0.0, 0.0], 1),
        ([0.0, 4.0, 0.0, 4.0, 0.0], 2),
        ([4.0, 0.0, 4.0, 0.0, 4.0], 3),
        ([4.0, 4.0, 4.0, 4.0, 4.0], 1),
        ([4.0, 4.0, 0.0, 1.0, 0.5], 2), // 1 m, the edge itself, is above
        ([1.0, 0.0, 0.0, 0.0, 0.0], 1),
        ([0.0, 0.0, 0.0, 0.0, 0.0], 0),
    ] {
        assert_eq!(count_above(legs, &heights, 1.0), count, "{heights:?}");
    }
}

/// A place where the animal was seen ends one section and begins the next.
#[test]
fn sections_run_from_sighting_to_sighting() {
    let mut anchors = THERE_AND_BACK;
    anchors[1] = "T,2,5,90,4,,,yes";
    anchors[3] = "T,4,5,90,0,,,yes";
    let analysis = analysed("", &anchors, "");
    let section =
        |number, start, end| Section { number, start, end, first_leg: start, end_leg: end };
    let sections = &analysis.trails[0].sections;
    assert_eq!(*sections, [section(1, 0, 1), section(2, 1, 3), section(3, 3, 4)]);
    let legs = sections[1].legs(&analysis.paths[0]);
    assert_eq!(legs.iter().map(|leg| leg.to).collect::<Vec<_>>(), [2, 3]);
    assert_eq!(analysis.trails[0].times.nights, Some(3.0));
    let one = analysed("", &THERE_AND_BACK[..1], "");
    let empty = Section { number: 1, start: 0, end: 0, first_leg: 0, end_leg: 0 };
    assert_eq!(one.trails[0].sections, [empty]);
}

/// Of the 16 m there and back, 1.25 + 1.25 + 3 m lie below 1 m.
#[test]
fn metres_in_each_stratum() {
    let analysis = analysed("[strata]\nedges_m = [1]\n", &THERE_AND_BACK, "");
    let [low, high] = analysis.trails[0].strata[0][..] else { panic!("two strata") };
    for (found, metres) in [(low, 5.5), (high, 10.5)] {
        assert_relative_eq!(found.length, metres, max_relative = 1e-9);
        assert_relative_eq!(found.share, metres / 16.0, max_relative = 1e-9);
    }
}

fn escaped(settings: &str, anchors: &[&str], trails: &str) -> (EscapeFound, usize) {
    let analysis = analysed(settings, anchors, trails);
    let path = &analysis.paths[0];
    let legs = path.legs.iter().filter(|leg| leg.escape).count();
    let points = path.points.iter().filter(|point| point.escape).count();
    assert_eq!(points, if legs > 0 { legs + 1 } else { 0 });
    assert!(path.legs.iter().take(legs).all(|leg| leg.escape));
    (path.escape, legs)
}

/// Legs of 5, 3, 5 and 3 m: those that begin within the metres stated.
#[test]
fn an_escape_run_of_stated_metres() {
    for (metres, legs) in [(0.5, 1), (5.0, 1), (5.5, 2), (8.5, 3), (15.0, 4), (99.0, 4)] {
        let settings = format!("[escape]\nmetres = {metres}\n");
        assert_eq!(
            escaped(&settings, &THERE_AND_BACK, ""),
            (EscapeFound::Metres, legs),
            "{metres}"
        );
    }
    let none = escaped("[escape]\nmetres = 0\n", &THERE_AND_BACK, "");
    assert_eq!(none, (EscapeFound::None, 0));
}

/// Marked rows come before metres, metres before the rule.
#[test]
fn an_escape_run_as_marked_in_rows() {
    let mut anchors = THERE_AND_BACK;
    anchors[2] = "T,3,3,90,4,,yes,";
    let metres = "[escape]\nmetres = 0.5\n";
    assert_eq!(escaped(metres, &anchors, ""), (EscapeFound::Rows, 2));
}

#[test]
fn an_escape_run_up_to_the_first_return() {
    let rule = |edge: &str, anchors: &[&str]| {
        let settings = format!("[escape]\nrule = \"first_return\"\n[strata]\nedges_m = [{edge}]\n");
        escaped(&settings, anchors, "")
    };
    assert_eq!(rule("1", &THERE_AND_BACK), (EscapeFound::FirstReturn, 3));
    // Never above 4 m, the edge itself; never back below it.
    assert_eq!(rule("4", &THERE_AND_BACK), (EscapeFound::None, 0));
    assert_eq!(rule("1", &THERE_AND_BACK[..3]), (EscapeFound::None, 0));
    let onto = ["T,1,,,0,,,", "T,2,5,90,4,,,", "T,3,5,90,1,,,", "T,4,5,90,1,,,"];
    assert_eq!(rule("1", &onto), (EscapeFound::None, 0), "down to the edge is not below it");
    // Released at 3 m: 4 m is no climb of more than the edge, 4.5 m is.
    let high = ["T,1,,,3,,,", "T,2,5,90,4,,,", "T,3,5,90,0,,,", "T,4,5,90,0,,,"];
    assert_eq!(rule("1", &high), (EscapeFound::None, 0));
    let higher = ["T,1,,,3,,,", "T,2,5,90,4.5,,,", "T,3,5,90,0,,,", "T,4,5,90,0,,,"];
    assert_eq!(rule("1", &higher), (EscapeFound::FirstReturn, 2));
}

fn times(row: &str) -> Times {
    let trails = format!("trail,date,start_time,end_time,nights,ending\nT,{row}\n");
    analysed("", &THERE_AND_BACK, &trails).trails[0].times
}

/// From the evening to the next morning, by hand.
#[test]
fn hours_from_release_to_the_end() {
    for (row, hours) in [
        ("2025-09-06,21:30,06:00,,found", Some(8.5)),
        ("2025-09-06,01:00,06:15,,found", Some(5.25)),
        ("2025-09-06,21:30,21:30,,found", Some(24.0)),
        ("2025-09-06,2025-09-06 21:30,2025-09-08 06:00,2,found", Some(32.5)),
        ("2025-09-06,21:30,06:00,1,found", Some(8.5)),
        ("2025-09-06,21:30,06:00,2,found", None), // on which of the mornings?
        ("2025-09-06,21:30,,,found", None),
        ("2025-09-06,2025-09-06 21:30,2025-09-06 21:30,1,found", None),
    ] {
        let found = times(row);
        match hours {
            Some(hours) => assert_abs_diff_eq!(found.hours.unwrap(), hours, epsilon = 1e-9),
            None => assert_eq!(found.hours, None, "{row}"),
        }
        assert!(!found.ended_before_found);
    }
    assert_eq!(times("2025-09-06,,,2,found").nights, Some(2.0));
    assert_eq!(times("2025-09-06,,,,found").nights, Some(1.0));
}
