//! The room of animals over all their trails: polygons against closed formulas and other programs, and
//! made-up surveys worked by hand.

use crate::reference;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use perchline::adjustment::network::build;
use perchline::measures::metrics::{Metric, Polygon, by_draws, centre, nearest_share};
use perchline::results::answer::study_answer;
use perchline::results::methods::methods;
use perchline::results::progress::Progress;
use perchline::results::tables::{Cell, tables};
use perchline::results::{Analysis, Wanted, analyse};
use perchline::survey::input::source::read_survey;
use reference::cases;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use tempfile::TempDir;

type Row = BTreeMap<String, String>;

/// Readings that err by next to nothing.
const SHARP: &str = "[bearings]\nnorth = \"true\"\n[precision]\ntape_m = 0.001\ntape_per_m = 0\n\
    bearing_deg = 0.01\nanchor_m = 0.001\nheight_m = 0.001\nheight_per_m = 0\nground_m = 0\n";

/// Ash goes round a square of 10 m, and three days later from 20 m farther east; Oak round a square that
/// begins 15 m east and 5 m south.
///
/// ```text
/// A1 (0, 0) (10, 0) (10, 10) (0, 10)      A2 (20, 0) (20, 10) (15, 10)
/// B1 (15, −5) (25, −5) (25, 5) (15, 5)
/// ```
const ANCHORS: &str = "trail,anchor,tape_m,bearing_deg,height_m,refuge\n\
    A1,1,,,0,\nA1,2,10,90,0,\nA1,3,10,0,0,\nA1,4,10,270,0,box 1\n\
    A2,1,,,0,\nA2,2,10,0,0,box 2\nA2,3,5,270,0,box 1\n\
    B1,1,,,0,\nB1,2,10,90,0,yes\nB1,3,10,0,0,\nB1,4,10,270,0,\n";
const TRAILS: &str = "trail,animal,date,release,nights,ending\n\
    A1,Ash,2024-06-01,c1,1,found\nA2,Ash,2024-06-04,c2,2,broke\nB1,Oak,2024-06-02,c3,1,found\n";
const CONTROLS: &str = "control,east_m,north_m,accuracy_m\nc1,0,0,0.1\nc2,20,0,0.1\nc3,15,-5,0.1\n";

fn analysed(anchors: &str, trails: &str, controls: &str, draws: usize) -> Analysis {
    let folder = TempDir::new().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write("anchors.csv", anchors);
    write("trails.csv", trails);
    write("controls.csv", controls);
    write("survey.toml", SHARP);
    let (survey, faults) = read_survey(folder.path(), &[]).unwrap();
    assert!(!faults.stop(), "{:#?}", faults.sorted());
    let network = build(&survey);
    let wanted = Wanted { draws, ..Wanted::default() };
    analyse(survey, network, wanted, &Progress::default()).unwrap()
}

/// The rows of a result table, as text.
fn rows(analysis: &Analysis, name: &str) -> Vec<Row> {
    let all = tables(analysis);
    let table = all.iter().find(|table| table.name == name).unwrap();
    let mut rows = Vec::new();
    table.for_each_row(analysis, &mut |cells| {
        assert_eq!(cells.len(), table.columns.len(), "{name}");
        let text = |cell: &Cell<'_>| match cell {
            Cell::Blank => String::new(),
            Cell::Text(text) => (*text).to_owned(),
            Cell::Number(number) => number.to_string(),
            Cell::Count(count) => count.to_string(),
        };
        let pair =
            table.columns.iter().zip(cells).map(|(c, cell)| (c.name.to_string(), text(cell)));
        rows.push(pair.collect());
    });
    rows
}

fn row(analysis: &Analysis, table: &str, animal: &str) -> Row {
    rows(analysis, table).into_iter().find(|row| row["animal"] == animal).unwrap()
}

fn assert_numbers(row: &Row, expected: &[(&str, f64)]) {
    for (column, expected) in expected {
        let found: f64 = row[*column].parse().unwrap_or(f64::NAN);
        assert!((found - expected).abs() < 1e-6, "{column}: {found} for {expected}");
    }
}

fn assert_texts(row: &Row, expected: &[(&str, &str)]) {
    for (column, expected) in expected {
        assert_eq!(row[*column], *expected, "{column}");
    }
}

fn points(value: &Value) -> Vec<[f64; 2]> {
    let axis = |point: &Value, k: usize| point[k].as_f64().unwrap();
    value.as_array().unwrap().iter().map(|point| [axis(point, 0), axis(point, 1)]).collect()
}

#[test]
fn polygons_share_what_other_programs_find() {
    for case in cases("convex_overlaps", 21) {
        let [a, b] = ["a", "b"].map(|key| Polygon::around(&points(&case[key])));
        let [area, other, shared] =
            ["area_a", "area_b", "shared"].map(|key| case[key].as_f64().unwrap());
        let id = case["id"].as_str().unwrap();
        for (found, expected) in [
            (a.area(), area),
            (b.area(), other),
            (a.shared(&b).area(), shared),
            (b.shared(&a).area(), shared),
        ] {
            // Of coordinates of millions of metres shapely's area keeps eleven digits.
            let within = if id.starts_with("far") { 1e-6 } else { 1e-9 };
            assert!((found - expected).abs() < within, "{id}: {found} for {expected}");
        }
    }
}

/// The cross of two rectangles is a square of 4 m²; triangle (1, 1) (3, 1) (2, 3) lies within; what
/// touches shares nothing; nor does a line, or nothing.
#[test]
fn polygons_share_what_is_worked_by_hand() {
    let around = |points: &[[f64; 2]]| Polygon::around(points);
    let wide = around(&[[0.0, 2.0], [6.0, 2.0], [6.0, 4.0], [0.0, 4.0]]);
    let high = around(&[[2.0, 0.0], [4.0, 0.0], [4.0, 6.0], [2.0, 6.0]]);
    assert_relative_eq!(wide.shared(&high).area(), 4.0);
    assert_relative_eq!(wide.span(), 40.0_f64.sqrt());
    let triangle = around(&[[1.0, 2.0], [3.0, 2.0], [2.0, 4.0]]);
    assert_relative_eq!(wide.shared(&triangle).area(), 2.0);
    let below = around(&[[0.0, 0.0], [6.0, 0.0], [6.0, 2.0], [0.0, 2.0]]);
    let line = around(&[[0.0, 0.0], [3.0, 3.0], [6.0, 6.0]]);
    for other in [below, line, around(&[[3.0, 3.0]]), around(&[])] {
        assert_abs_diff_eq!(wide.shared(&other).area(), 0.0);
        assert_abs_diff_eq!(other.shared(&wide).area(), 0.0);
    }
}

/// Of 39 points one is left out, of 40 two, of 19 none. Of two as far from the centre the one farther
/// east is left out, however they are listed.
#[test]
fn the_farthest_twentieth_is_left_out() {
    let at = |k: usize| [k as f64, 0.0];
    assert_eq!(nearest_share(&(0..19).map(at).collect::<Vec<_>>()), None);
    let mut twenty: Vec<[f64; 2]> = (0..20).map(at).collect();
    assert_eq!(centre(&twenty), Some([9.5, 0.0]));
    for _ in 0..2 {
        let kept = nearest_share(&twenty).unwrap();
        assert_eq!(kept.len(), 19);
        assert!(kept.contains(&[0.0, 0.0]) && !kept.contains(&[19.0, 0.0]));
        twenty.reverse();
    }
    assert_eq!(nearest_share(&(0..39).map(at).collect::<Vec<_>>()).unwrap().len(), 38);
    assert_eq!(nearest_share(&(0..40).map(at).collect::<Vec<_>>()).unwrap().len(), 38);
    assert_eq!(centre(&[]), None);
}

/// 5 + 1 by readings and 2.5 by what is stated: see `Bend`. 5 and 6.5, ± 1.96 · 2.
#[test]
fn an_area_has_the_interval_of_its_draws() {
    let found = by_draws(5.0, [&[5.0, 7.0], &[6.5, 8.5]]);
    assert_relative_eq!(found.se.unwrap(), 2.0, max_relative = 1e-12);
    let [low, high] = found.interval.unwrap();
    assert_abs_diff_eq!(low, 5.0 - 1.959_964 * 2.0, epsilon = 1e-5);
    assert_abs_diff_eq!(high, 6.5 + 1.959_964 * 2.0, epsilon = 1e-5);
    assert_abs_diff_eq!(by_draws(1.0, [&[0.0, 10.0], &[]]).interval.unwrap()[0], 0.0);
    assert_eq!(by_draws(5.0, [&[5.0], &[]]).interval, None);
}

/// Ash: (0, 0) to (20, 10) is 200 m², √500 m across. Its releases lie 20 m apart, the end of A1 and the
/// release of A2 √500 m. Three uses of two boxes: 1 / 3.
#[test]
fn an_animal_takes_the_room_of_all_its_trails() {
    let analysis = analysed(ANCHORS, TRAILS, CONTROLS, 0);
    let ash = row(&analysis, "animal_space", "Ash");
    let far = 500.0_f64.sqrt();
    assert_numbers(
        &ash,
        &[
            ("trails", 2.0),
            ("placed_trails", 2.0),
            ("nights", 3.0),
            ("positions", 7.0),
            ("home_area_m2", 200.0),
            ("greatest_distance_m", far),
            ("captures", 2.0),
            ("capture_days", 3.0),
            ("capture_interval_days", 3.0),
            ("release_pairs", 1.0),
            ("release_distance_mean_m", 20.0),
            ("release_distance_greatest_m", 20.0),
            ("return_pairs", 1.0),
            ("return_distance_mean_m", far),
            ("refuge_uses", 3.0),
            ("refuges", 2.0),
            ("refuge_reuse", 1.0 / 3.0),
        ],
    );
    assert_texts(
        &ash,
        &[
            ("first_date", "2024-06-01"),
            ("last_date", "2024-06-04"),
            ("home_area_se_m2", ""),
            ("home_area95_m2", ""),
            ("space_reason", "leaving out 5 % needs 20 positions"),
            ("at_least", "yes"),
            ("distance_reason", ""),
            ("refuge_reason", ""),
        ],
    );
}

/// Oak was caught once, and its refuge has no name.
#[test]
fn what_one_capture_cannot_tell_is_blank_with_a_reason() {
    let analysis = analysed(ANCHORS, TRAILS, CONTROLS, 0);
    let oak = row(&analysis, "animal_space", "Oak");
    assert_numbers(&oak, &[("home_area_m2", 100.0), ("captures", 1.0), ("release_pairs", 0.0)]);
    assert_texts(
        &oak,
        &[
            ("at_least", ""),
            ("capture_days", ""),
            ("capture_reason", "one capture"),
            ("release_distance_mean_m", ""),
            ("distance_reason", "one capture"),
            ("refuge_reuse", ""),
            ("refuge_reason", "no refuge with a name"),
        ],
    );
}

/// After A1 a square of 100 m², after A2 all 200; Oak's square shares 5 · 5 m² with Ash's rectangle. The
/// means are (75, 40) / 7 and (20, 0): √(65² + 40²) / 7 apart.
#[test]
fn areas_grow_and_overlap() {
    let analysis = analysed(ANCHORS, TRAILS, CONTROLS, 0);
    let growth = rows(&analysis, "animal_space_growth");
    assert_eq!(growth.len(), 3);
    assert_texts(&growth[0], &[("animal", "Ash"), ("date", "2024-06-01"), ("trails", "1")]);
    assert_numbers(&growth[0], &[("nights", 1.0), ("positions", 4.0), ("home_area_m2", 100.0)]);
    assert_numbers(&growth[1], &[("nights", 3.0), ("positions", 7.0), ("home_area_m2", 200.0)]);
    assert_texts(&growth[2], &[("animal", "Oak"), ("date", "2024-06-02")]);
    let overlap = rows(&analysis, "animal_overlap");
    assert_eq!(overlap.len(), 1);
    assert_texts(&overlap[0], &[("animal", "Ash"), ("other", "Oak"), ("reason", "")]);
    assert_numbers(
        &overlap[0],
        &[
            ("positions", 7.0),
            ("other_positions", 4.0),
            ("home_area_m2", 200.0),
            ("other_home_area_m2", 100.0),
            ("shared_m2", 25.0),
            ("shared_share", 0.125),
            ("other_shared_share", 0.25),
            ("centre_distance_m", 5825.0_f64.sqrt() / 7.0),
        ],
    );
}

/// Rows and trails the other way about.
#[test]
fn order_changes_no_number() {
    let turned = |text: &str| {
        let mut lines: Vec<&str> = text.lines().collect();
        lines[1..].reverse();
        lines.join("\n") + "\n"
    };
    let (head, body) = ANCHORS.split_once('\n').unwrap();
    let mut trails: Vec<String> = Vec::new();
    for trail in ["B1", "A2", "A1"] {
        trails.extend(body.lines().filter(|row| row.starts_with(trail)).map(str::to_owned));
    }
    let anchors = format!("{head}\n{}\n", trails.join("\n"));
    let one = analysed(ANCHORS, TRAILS, CONTROLS, 0);
    let other = analysed(&anchors, &turned(TRAILS), &turned(CONTROLS), 0);
    for animal in ["Ash", "Oak"] {
        let [one, other] = [&one, &other].map(|of| row(of, "animal_space", animal));
        for (column, text) in &one {
            match (text.parse::<f64>(), other[column].parse::<f64>()) {
                (Ok(a), Ok(b)) => assert!((a - b).abs() < 1e-9, "{column}: {a} {b}"),
                _ => assert_eq!(*text, other[column], "{column}"),
            }
        }
    }
    let [one, other] = [&one, &other].map(|of| rows(of, "animal_overlap").remove(0));
    assert_numbers(&other, &[("shared_m2", 25.0)]);
    let share = |row: &Row, animal: &str| {
        let own = if row["animal"] == animal { "shared_share" } else { "other_shared_share" };
        row[own].parse::<f64>().unwrap()
    };
    assert_abs_diff_eq!(share(&one, "Oak"), share(&other, "Oak"), epsilon = 1e-9);
}

/// Trails that lie at their own release, or have no north, take no part; distances need a date.
#[test]
fn a_trail_without_a_place_takes_no_part() {
    let anchors = ANCHORS.to_owned()
        + "A3,1,,,0,\nA3,2,50,90,0,box 3\nA3,3,50,0,0,\nT1,1,,,0,\nT1,2,4,,0,\nT1,3,4,,0,\n";
    let anchors =
        anchors.replace("refuge\n", "refuge,turn_deg\n").replace("\nT1,2,4,,0,", "\nT1,2,4,,0,,");
    let anchors: String = anchors
        .lines()
        .map(|line| match line {
            "T1,3,4,,0," => "T1,3,4,,0,,90\n".to_owned(),
            line if line.starts_with("trail") || line == "T1,2,4,,0,," => format!("{line}\n"),
            line => format!("{line},\n"),
        })
        .collect();
    let trails = TRAILS.to_owned() + "A3,Ash,2024-06-02,,1,found\nT1,Yew,,c1,1,found\n";
    let analysis = analysed(&anchors, &trails, CONTROLS, 0);
    let ash = row(&analysis, "animal_space", "Ash");
    assert_numbers(
        &ash,
        &[
            ("trails", 3.0),
            ("placed_trails", 2.0),
            ("nights", 3.0),
            ("home_area_m2", 200.0),
            ("captures", 3.0),
            ("capture_interval_days", 1.5),
            ("release_pairs", 0.0),
            ("refuge_uses", 4.0),
            ("refuges", 3.0),
        ],
    );
    let pairs = "left out: 2 pairs where one of the trails has no known place";
    assert_texts(&ash, &[("release_distance_mean_m", ""), ("distance_reason", pairs)]);
    assert!(ash["space_reason"].ends_with("left out: 1 trail without a known place"));
    let yew = row(&analysis, "animal_space", "Yew");
    assert_texts(
        &yew,
        &[
            ("placed_trails", "0"),
            ("home_area_m2", ""),
            ("nights", ""),
            ("capture_reason", "needs two captures with a date"),
        ],
    );
    assert!(yew["space_reason"].ends_with("left out: 1 trail without a north"), "{yew:?}");
    let text = methods(&analysis, "0").text;
    assert!(text.contains("(2 animals, 3 trails)"), "{text}");
    assert!(text.contains("2 trails without a plan, a north or a known place"), "{text}");
}

/// Two captures of one date have an order by their times alone; two releases at one control are one
/// place.
#[test]
fn captures_of_one_date_need_times() {
    let same = TRAILS.replace("2024-06-04", "2024-06-01");
    let ash = row(&analysed(ANCHORS, &same, CONTROLS, 0), "animal_space", "Ash");
    let reason = "captures of one date without start times have no order";
    assert_texts(
        &ash,
        &[("release_pairs", "0"), ("distance_reason", reason), ("capture_days", "0")],
    );
    let timed = "trail,animal,date,release,start_time\nA1,Ash,2024-06-01,c1,23:00\n\
        A2,Ash,2024-06-01,c2,20:00\nB1,Oak,2024-06-02,c3,\n";
    let ash = row(&analysed(ANCHORS, timed, CONTROLS, 0), "animal_space", "Ash");
    // From the end of A2, (15, 10), back to (0, 0).
    assert_numbers(&ash, &[("return_distance_mean_m", 325.0_f64.sqrt())]);
    let one = TRAILS.replace("c2", "c1");
    let ash = row(&analysed(ANCHORS, &one, CONTROLS, 0), "animal_space", "Ash");
    assert_numbers(&ash, &[("release_distance_mean_m", 0.0), ("return_distance_mean_m", 10.0)]);
}

/// One animal's two trails of 10 m north, 20 m apart: 200 m², and 10 m² more for each metre that they
/// lie farther apart. Each release errs by 0.1 m, so that the area errs by 10 · √2 · 0.1 m²; where both
/// start at one control, by next to nothing.
#[test]
fn an_area_errs_with_its_known_points() {
    let two =
        "trail,anchor,tape_m,bearing_deg,height_m\nP,1,,,0\nP,2,10,0,0\nQ,1,,,0\nQ,2,10,0,0\n";
    let trails = "trail,animal,date,release\nP,Ash,2024-06-01,c1\nQ,Ash,2024-06-04,c2\n";
    let ash = row(&analysed(two, trails, CONTROLS, 1000), "animal_space", "Ash");
    assert_numbers(&ash, &[("home_area_m2", 200.0)]);
    let se: f64 = ash["home_area_se_m2"].parse().unwrap();
    assert!((se / 2.0_f64.sqrt() - 1.0).abs() < 0.1, "{se}");
    let [low, high] =
        ["low95", "high95"].map(|end| ash[&format!("home_area_{end}_m2")].parse().unwrap());
    assert!((197.0..197.6_f64).contains(&low) && (202.4..203.0).contains(&high), "{low} {high}");
    let span: f64 = ash["greatest_distance_se_m"].parse().unwrap();
    assert!((0.1..0.2).contains(&span), "{span}");
    let square =
        "trail,anchor,tape_m,bearing_deg,height_m\nP,1,,,0\nP,2,10,0,0\nQ,1,,,0\nQ,2,20,90,0\n";
    let one = trails.replace("c2", "c1");
    let ash = row(&analysed(square, &one, CONTROLS, 200), "animal_space", "Ash");
    assert_numbers(&ash, &[("home_area_m2", 100.0)]);
    let se: f64 = ash["home_area_se_m2"].parse().unwrap();
    assert!((0.001..0.1).contains(&se), "{se}");
}

/// The home area of an animal with one trail is that trail's daily home range, interval and all.
#[test]
fn one_trail_gives_the_area_of_its_metric() {
    let analysis = analysed(ANCHORS, TRAILS, CONTROLS, 100);
    let oak = row(&analysis, "animal_space", "Oak");
    let own = analysis.shown_paths().find(|path| analysis.trail_name(path.trail) == "B1").unwrap();
    let metric = analysis.trails[own.trail].value(Metric::DailyHomeRange, 0).unwrap();
    let measured = metric.measured.unwrap();
    let [low, high] = measured.interval.unwrap();
    assert_numbers(
        &oak,
        &[
            ("home_area_m2", measured.value),
            ("home_area_se_m2", measured.se.unwrap()),
            ("home_area_low95_m2", low),
            ("home_area_high95_m2", high),
        ],
    );
}

/// Of two animals with two trails each the answer says how large their areas are.
#[test]
fn the_answer_tells_the_areas_of_animals_with_several_trails() {
    let said = |anchors: &str, trails: &str| {
        let analysis = analysed(anchors, trails, CONTROLS, 0);
        let said = study_answer(&analysis);
        said.into_iter().flat_map(|said| said.lead).find(|words| words.starts_with("Home areas"))
    };
    assert_eq!(said(ANCHORS, TRAILS), None);
    let anchors = ANCHORS.to_owned() + "B2,1,,,0,\nB2,2,10,90,0,\n";
    let trails = TRAILS.to_owned() + "B2,Oak,2024-06-05,c2,1,found\n";
    // Oak: (15, −5) (25, −5) (30, 0) (25, 5) (15, 5): 100 + 25 m². The median is 162.5, printed to even.
    let expected = "Home areas of 2 animals with more than one trail, over 2 to 3 nights: median 162 m² (range 125 \
                    to 200), convex polygons that grow with the nights followed.";
    assert_eq!(said(&anchors, &trails).unwrap(), expected);
}

#[test]
fn too_many_animals_make_no_pairs() {
    let (mut anchors, mut trails) = (
        String::from("trail,anchor,tape_m,bearing_deg,height_m\n"),
        String::from("trail,animal,release\n"),
    );
    for k in 0..201 {
        anchors += &format!("t{k:03},1,,,0\nt{k:03},2,5,0,0\nt{k:03},3,5,90,0\n");
        trails += &format!("t{k:03},ani{k:03},c1\n");
    }
    let analysis = analysed(&anchors, &trails, CONTROLS, 0);
    assert_eq!(rows(&analysis, "animal_space").len(), 201);
    let overlap = rows(&analysis, "animal_overlap");
    assert_eq!(overlap.len(), 1);
    let reason = "201 animals have home areas: pairs are made of 200 at most";
    assert_texts(&overlap[0], &[("animal", ""), ("reason", reason)]);
}
