//! Shape, orientation and place in everything a user sees: what has no plan or no north is never
//! drawn, mapped or told as if it had.

use crate::computed;
use crate::run;

use computed::analysed;
use perchline::measures::metrics::Metric;
use perchline::products::figure::{Drawing, Kind, Width, svg};
use perchline::results::methods::methods;
use perchline::results::overview::not_known;
use perchline::results::{Analysis, MetricRow};
use run::{perchline, survey};
use serde_json::{Value, json};
use std::fs;
use tempfile::TempDir;

const HEAD: &str =
    "trail,anchor,tape_m,bearing_deg,turn_deg,height_m,latitude,longitude,accuracy_m\n";
/// Bearings, placed.
const NEEDLE: &str = "B,0,,,,1,47.5,11.2,2\nB,1,4,20,,1,,,\nB,2,5,80,,2,,,\nB,3,4,120,,1,,,\n";
/// Turning angles, placed, without a north.
const TURNS: &str = "T,0,,,,1,47.5003,11.2,2\nT,1,4,,,1,,,\nT,2,5,,60,2,,,\nT,3,4,,40,1,,,\n";
/// Turning angles and a position at either end, 12 m apart.
const ENDS: &str =
    "G,0,,,,1,47.5006,11.2,1\nG,1,4,,,1,,,\nG,2,5,,20,2,,,\nG,3,4,,-10,1,47.500708,11.2,1\n";
/// Two positions that lie nearer to each other than they are uncertain by.
const NEAR: &str = "N,0,,,,1,47.5009,11.2,9\nN,1,4,,,1,47.500936,11.2,9\nN,2,5,,20,2,,,\n";
/// No direction at all.
const HEIGHTS: &str = "P,0,,,,1,47.5012,11.2,2\nP,1,4,,,1,,,\nP,2,5,,,2,,,\nP,3,4,,,1,,,\n";
/// One blank among six.
const BLANK: &str = "U,0,,,,1,47.5015,11.2,2\nU,1,4,20,,1,,,\nU,2,5,80,,2,,,\nU,3,4,,,1,,,\nU,4,4,10,,1,,,\n\
                     U,5,4,50,,1,,,\nU,6,4,70,,1,,,\n";
/// Three blanks among five.
const BLANKS: &str = "V,0,,,,1,47.5018,11.2,2\nV,1,4,20,,1,,,\nV,2,5,,,2,,,\nV,3,4,,,1,,,\nV,4,4,,,1,,,\nV,5,4,50,,1,,,\n";

const ALL: [&str; 7] = [NEEDLE, TURNS, ENDS, NEAR, HEIGHTS, BLANK, BLANKS];
const TRAILS: &str = "trail,animal\nB,b\nT,t\nG,g\nN,n\nP,p\nU,u\nV,v\n";

fn anchors(trails: &[&str]) -> String {
    HEAD.to_owned() + &trails.concat()
}

fn of(trails: &[&str]) -> Analysis {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("anchors.csv"), anchors(trails)).unwrap();
    fs::write(folder.path().join("trails.csv"), TRAILS).unwrap();
    analysed(folder.path())
}

fn row(analysis: &Analysis, trail: &str, metric: Metric) -> MetricRow {
    let at = (0..analysis.trails.len()).find(|&at| analysis.trail_name(at) == trail).unwrap();
    let rows = &analysis.trails[at].metrics;
    rows.iter().find(|row| row.metric == metric && row.part == 0).unwrap().clone()
}

fn drawn(kind: Kind, analysis: &Analysis) -> Drawing {
    svg(kind, analysis, Width::Wide).unwrap()
}

fn has_arrow(drawing: &Drawing) -> bool {
    drawing.svg.contains(">N</text>")
}

#[test]
fn a_blank_metric_says_what_it_needs() {
    let all = of(&ALL);
    let reason = |trail, metric| {
        let row = row(&all, trail, metric);
        assert!(row.measured.is_none(), "{trail} {metric:?}: {row:?}");
        row.reason
    };
    assert_eq!(reason("T", Metric::NetBearing), "needs one bearing, or two positions");
    assert_eq!(
        reason("N", Metric::NetBearing),
        "needs one bearing, or two positions farther apart than they are uncertain by"
    );
    assert_eq!(reason("P", Metric::Sinuosity), "needs bearings or turning angles");
    assert_eq!(
        reason("V", Metric::NetDisplacement),
        "needs bearings or turning angles: 3 of 5 legs have no direction: 1–2, 2–3, 3–4"
    );
    for trail in ["T", "G", "U", "N"] {
        assert!(row(&all, trail, Metric::NetDisplacement).measured.is_some(), "{trail}");
    }
}

#[test]
fn an_interval_that_misses_says_so_on_its_own_trail_only() {
    let all = of(&ALL);
    let reason = |trail, metric| row(&all, trail, metric).reason;
    assert_eq!(
        reason("G", Metric::HorizontalLength),
        "95 % intervals held the truth in 92 of 100 made-up trails of 8 anchors turned onto positions \
         (docs/accuracy.md)"
    );
    for trail in ["P", "U", "B"] {
        assert_eq!(reason(trail, Metric::HorizontalLength), "", "{trail}");
    }
    for metric in [Metric::HorizontalLength, Metric::NetDisplacement, Metric::IntensityOfUse] {
        assert_eq!(reason("B", metric), "", "{metric:?}");
    }
}

#[test]
fn a_turning_angle_without_a_north_has_no_north_arrow() {
    for kind in [Kind::Plan, Kind::Panel] {
        let turns = drawn(kind, &of(&[TURNS]));
        assert!(!has_arrow(&turns), "{kind:?}");
        assert!(turns.caption.contains("Drawn from the release upward: no north is known."));
        assert!(turns.svg.contains("no north known: release upward"), "{kind:?}");
        let needle = drawn(kind, &of(&[NEEDLE]));
        assert!(has_arrow(&needle), "{kind:?}");
        assert!(needle.caption.contains("True north is up."));
        assert!(!needle.svg.contains("no north"), "{kind:?}");
    }
    let oblique = drawn(Kind::Oblique, &of(&[TURNS]));
    assert!(oblique.caption.contains("No north is known of T"));
    assert!(!oblique.caption.contains("south-south-west"));
}

#[test]
fn a_trail_without_a_north_shares_no_frame() {
    // Both are placed, 33 m apart: the same by bearings share one frame without letters.
    let together = NEEDLE.replace("B,", "T,").replace("47.5,", "47.5003,");
    let one = drawn(Kind::Plan, &of(&[NEEDLE, &together]));
    assert!(!one.svg.contains(">a</text>") && !one.svg.contains("no north"));
    let two = drawn(Kind::Plan, &of(&[NEEDLE, TURNS]));
    assert!(two.svg.contains("b T (no north)"), "{}", two.svg);
    assert!(two.caption.contains("True north is up, but for T: drawn from the release upward"));
}

#[test]
fn a_trail_without_a_plan_stands_as_height_along_the_thread() {
    let all = of(&[NEEDLE, HEIGHTS]);
    for kind in [Kind::Plan, Kind::Panel, Kind::Oblique] {
        let drawing = drawn(kind, &all);
        assert!(drawing.svg.contains("height along the thread"), "{kind:?}");
        assert!(drawing.caption.contains("Height along the thread, over the ground: P"));
    }
    let heights = of(&[HEIGHTS]);
    assert!(!has_arrow(&drawn(Kind::Panel, &heights)));
    let refused = svg(Kind::Plan, &heights, Width::Wide).unwrap_err().reason;
    assert!(refused.contains("bearings or turning angles"), "{refused}");
}

#[test]
fn a_leg_without_a_direction_is_dotted_from_above() {
    let dash = "stroke-dasharray=\"0.35 0.65\"";
    let blank = of(&[BLANK]);
    for kind in [Kind::Plan, Kind::Panel, Kind::Oblique] {
        let drawing = drawn(kind, &blank);
        assert!(drawing.svg.contains(dash), "{kind:?}");
        assert!(drawing.svg.contains("no direction read: carried on"), "{kind:?}");
        assert!(drawing.caption.contains("Dotted: 1 leg without a direction"), "{kind:?}");
        assert!(!drawn(kind, &of(&[NEEDLE])).svg.contains(dash), "{kind:?}");
    }
    // From the side a direction in plan does not show.
    assert!(!drawn(Kind::Profile, &blank).svg.contains(dash));
}

#[test]
fn directions_leave_out_what_has_no_north() {
    let caption = drawn(Kind::Directions, &of(&ALL)).caption;
    assert!(caption.contains("no north is known: 2 trails"), "{caption}");
    assert!(caption.contains("no plan is known: 2 trails"), "{caption}");
}

#[test]
fn a_direction_that_was_carried_on_is_no_turn() {
    let turns = |analysis: &Analysis| drawn(Kind::Turns, analysis).caption;
    // Six legs have five turns; two of them are at the blank leg.
    assert!(turns(&of(&[BLANK])).contains("at 3 anchors"), "{}", turns(&of(&[BLANK])));
}

#[test]
fn the_methods_say_where_north_comes_from() {
    let text = methods(&of(&ALL), "0").text;
    for said in [
        "The plan of 3 trails came from turning angles.",
        "by turning the walk onto its known positions by least squares (Schönemann 1966) in 1 trail",
        "from bearings in 2 trails",
        "Of 2 trails the orientation is unknown",
        "1 leg without a direction (17 % of the legs of 1 trail) was carried on straight",
        "with an SD of 50°",
        "Of 2 trails without enough directions for a plan only lengths and heights were computed.",
    ] {
        assert!(text.contains(said), "{said}\n{text}");
    }
    let plain = methods(&of(&[NEEDLE]), "0").text;
    for other in ["turning", "North came", "carried on", "directions"] {
        assert!(!plain.contains(other), "{other}\n{plain}");
    }
    let heights = methods(&of(&[HEIGHTS]), "0").text;
    assert!(!heights.contains("misclosure") && !heights.contains("bearings"), "{heights}");
}

#[test]
fn the_overview_tells_each_thing_apart() {
    let lines = not_known(&of(&ALL)).join("\n");
    assert!(lines.contains("T, N: turning angles without a north"), "{lines}");
    assert!(lines.contains("N: the positions lie too near each other"), "{lines}");
    assert!(lines.contains("V: 3 of 5 legs have no direction"), "{lines}");
    assert!(!not_known(&of(&[TURNS])).join("\n").contains("True north"), "no bearing was read");
}

/// What the program says and the named result, of a survey of these trails.
fn exported(trails: &[&str], name: &str) -> (TempDir, String) {
    let folder = survey(&anchors(trails));
    let output = perchline(folder.path(), &["export", "survey", "--draws", "0", "--out", name]);
    let said = String::from_utf8(output.stdout).unwrap();
    (folder, said + &String::from_utf8(output.stderr).unwrap())
}

#[test]
fn maps_leave_out_what_has_no_north_or_place_and_say_what_would_help() {
    for name in ["a.geojson", "a.gpkg", "a.kml", "a.gpx"] {
        let (folder, said) = exported(&[NEEDLE, TURNS, HEIGHTS], name);
        assert!(said.contains("1 trail written"), "{name}: {said}");
        let north = "T (no north is known: one bearing, or two positions, would give it)";
        assert!(said.contains(north), "{name}: {said}");
        let plan = "P (no plan is known: bearings or turning angles would give it)";
        assert!(said.contains(plan), "{name}: {said}");
        assert!(folder.path().join(name).exists());
        let (folder, said) = exported(&[TURNS], name);
        assert!(said.contains("nothing was written") && said.contains(north), "{name}: {said}");
        assert!(!folder.path().join(name).exists());
    }
    let unplaced = NEEDLE.replace("47.5,11.2,2", ",,");
    let (_, said) = exported(&[&unplaced, ENDS], "a.geojson");
    assert!(said.contains("B (no place is known: one position"), "{said}");
}

#[test]
fn the_reason_is_in_json_too() {
    let told = |trails: &[&str], name| {
        let folder = survey(&anchors(trails));
        let args = ["export", "survey", "--draws", "0", "--json", "--out", name];
        let output = perchline(folder.path(), &args);
        let result: Value = serde_json::from_slice(&output.stdout).unwrap();
        (output.status.code(), result)
    };
    let north = "no north is known: one bearing, or two positions, would give it";
    let plan = "no plan is known: bearings or turning angles would give it";
    let both = json!([{"trail": "T", "reason": north}, {"trail": "P", "reason": plan}]);
    let (status, result) = told(&[NEEDLE, TURNS, HEIGHTS], "a.geojson");
    assert_eq!((status, &result["trails"], &result["reasons"]), (Some(0), &json!(1), &both));
    assert_eq!(result["left_out"], json!(["T", "P"]));
    let (status, result) = told(&[TURNS, HEIGHTS], "a.gpkg");
    assert_eq!((status, &result["trails"], &result["reasons"]), (Some(2), &json!(0), &both));
    let (status, result) = told(&[TURNS, HEIGHTS], "a.glb");
    assert_eq!((status, &result["reasons"]), (Some(0), &json!([both[1]])));
    let (_, result) = told(&[TURNS, HEIGHTS], "a.csv");
    assert_eq!(result["reasons"], json!([]));
}

#[test]
fn local_formats_keep_it() {
    let (folder, said) = exported(&[NEEDLE, TURNS, HEIGHTS], "a.csv");
    assert!(said.contains("3 trails written"), "{said}");
    let table = fs::read_to_string(folder.path().join("a.csv")).unwrap();
    let [heading, turn] = ["trail,", "T,"]
        .map(|start| table.lines().find(|line| line.starts_with(start)).unwrap().split(','));
    let cells: Vec<(&str, &str)> = heading.zip(turn).collect();
    let cell = |name: &str| cells.iter().find(|(head, _)| *head == name).unwrap().1;
    assert_eq!([cell("latitude"), cell("longitude"), cell("wkt")], ["", "", ""]);
    assert!(cell("east_m").parse::<f64>().is_ok());
    let (folder, said) = exported(&[NEEDLE, TURNS, HEIGHTS], "a.glb");
    assert!(said.contains("2 trails written") && said.contains("P (no plan is known"), "{said}");
    let bytes = fs::read(folder.path().join("a.glb")).unwrap();
    let text = String::from_utf8_lossy(&bytes);
    assert!(text.contains("\"orientation\":\"unknown\""));
}

#[test]
fn the_results_say_what_is_known_of_each_trail() {
    let folder = survey(&anchors(&ALL));
    let output = perchline(folder.path(), &["rebuild", "survey", "--draws", "0"]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let results = fs::read(folder.path().join("survey-results/results.json")).unwrap();
    let results: Value = serde_json::from_slice(&results).unwrap();
    let found: Vec<[String; 5]> = results["tables"]["trails"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| {
            ["trail", "shape", "orientation", "place", "undirected_legs"]
                .map(|name| row[name].to_string().replace('"', ""))
        })
        .collect();
    let wanted = [
        ["B", "measured", "measured", "measured", "0"],
        ["T", "measured", "unknown", "measured", "0"],
        ["G", "measured", "estimated", "measured", "0"],
        ["N", "measured", "unknown", "measured", "0"],
        ["P", "unknown", "unknown", "measured", "3"],
        ["U", "estimated", "measured", "measured", "1"],
        ["V", "unknown", "unknown", "measured", "3"],
    ];
    assert_eq!(found, wanted);
    let page = fs::read_to_string(folder.path().join("survey-results/report.html")).unwrap();
    assert!(page.contains("P, V are not drawn: too few of their legs have a direction for a plan"));
    assert!(page.contains("\"oriented\":false") && page.contains("\"oriented\":true"));
}
