//! What a survey's frame, its order and its files may not change in any metric, through the whole
//! computation; and that a survey without noise comes back as it was.

use perchline::adjustment::network::build;
use perchline::results::progress::Progress;
use perchline::results::rules::check;
use perchline::results::{Analysis, Wanted, analyse};
use perchline::survey::input::source::read_survey;
use proptest::collection::vec;
use proptest::prelude::{ProptestConfig, Strategy};
use proptest::{prop_assert, proptest};
use std::collections::BTreeMap;
use std::fs;
use tempfile::TempDir;

/// A leg as it is: metres in plan, degrees from north, and the height at its end.
#[derive(Clone, Copy, Debug)]
struct Leg {
    run: f64,
    azimuth: f64,
    height: f64,
    /// Errors of tape, bearing and height, in their standard deviations.
    noise: [f64; 3],
}

/// A trail of such legs, from a height of 1 m.
type Trail = Vec<Leg>;

fn trail() -> impl Strategy<Value = Trail> {
    of_legs(0.4, 4.0)
}

/// A trail without steep legs, which are given a horizontal length of the expected size where
/// tape and heights hardly tell one: they do not come back exactly, and must not.
fn gentle() -> impl Strategy<Value = Trail> {
    of_legs(2.0, 2.0)
}

fn of_legs(shortest: f64, highest: f64) -> impl Strategy<Value = Trail> {
    let noise = [-2.0..2.0, -2.0..2.0, -2.0..2.0];
    let leg = (shortest..5.0, 0.0..360.0, 0.0..highest, noise);
    let leg = leg.prop_map(|(run, azimuth, height, noise)| Leg { run, azimuth, height, noise });
    vec(leg, 4..9)
}

/// East, north and height of each anchor.
fn places(trail: &Trail) -> Vec<[f64; 3]> {
    let mut places = vec![[0.0, 0.0, 1.0]];
    for leg in trail {
        let [e, n, _] = places[places.len() - 1];
        let (sin, cos) = (leg.azimuth * std::f64::consts::PI / 180.0).sin_cos();
        places.push([e + leg.run * sin, n + leg.run * cos, leg.height]);
    }
    places
}

/// One row as it is written down: how the thread came to the anchor, and how high it is.
#[derive(Clone, Debug)]
struct Row {
    anchor: String,
    tape: Option<f64>,
    bearing: Option<f64>,
    height: f64,
}

/// The rows of a trail, with so much of its noise.
fn rows(trail: &Trail, noise: f64) -> Vec<Row> {
    let row = |anchor: usize, tape, bearing, height| Row {
        anchor: anchor.to_string(),
        tape,
        bearing,
        height,
    };
    let mut rows = vec![row(0, None, None, 1.0)];
    let places = places(trail);
    for (at, leg) in trail.iter().enumerate() {
        let climb = leg.height - places[at][2];
        let [tape, bearing, height] = leg.noise.map(|error| noise * error);
        rows.push(row(
            at + 1,
            Some(leg.run.hypot(climb) + 0.03 * tape),
            Some((leg.azimuth + 2.0 * bearing).rem_euclid(360.0)),
            leg.height + 0.05 * height,
        ));
    }
    rows
}

/// The same thread, followed from its end.
fn reversed(rows: &[Row]) -> Vec<Row> {
    let mut back: Vec<Row> = rows.iter().rev().cloned().collect();
    for (at, row) in rows.iter().enumerate().skip(1) {
        let to = &mut back[rows.len() - at];
        to.tape = row.tape;
        to.bearing = row.bearing.map(|bearing| (bearing + 180.0).rem_euclid(360.0));
    }
    (back[0].tape, back[0].bearing) = (None, None);
    back
}

/// Tables as text; trails are called A, B and so on.
#[derive(Clone, Default)]
struct Tables {
    trails: Vec<Vec<Row>>,
    ties: Vec<(usize, Row, Row)>,
    /// East and north of the release of A.
    control: Option<[f64; 2]>,
}

const SETTINGS: &str = "bearings.north = 'true'\nescape.rule = 'none'\n";

impl Tables {
    fn of(rows: Vec<Row>) -> Self {
        Self { trails: vec![rows], ..Self::default() }
    }

    fn anchors(&self) -> String {
        let mut text = String::from("trail,anchor,tape_m,bearing_deg,height_m\n");
        for (at, rows) in self.trails.iter().enumerate() {
            for row in rows {
                let cell = |number: Option<f64>| number.map_or(String::new(), |n| n.to_string());
                let (tape, bearing) = (cell(row.tape), cell(row.bearing));
                let name = name(at);
                text += &format!("{name},{},{tape},{bearing},{}\n", row.anchor, row.height);
            }
        }
        text
    }

    fn analysis(&self, draws: usize) -> Analysis {
        let folder = TempDir::new().unwrap();
        let write = |name: &str, text: String| fs::write(folder.path().join(name), text).unwrap();
        write("anchors.csv", self.anchors());
        write("survey.toml", SETTINGS.into());
        if !self.ties.is_empty() {
            let tie = |(trail, from, to): &(usize, Row, Row)| {
                let tape = to.tape.unwrap();
                format!("{},{},{},{tape}\n", name(*trail), from.anchor, to.anchor)
            };
            let rows: String = self.ties.iter().map(tie).collect();
            write("ties.csv", format!("trail,from,to,tape_m\n{rows}"));
        }
        if let Some([east, north]) = self.control {
            write(
                "controls.csv",
                format!("control,east_m,north_m,accuracy_m\nP,{east},{north},1\n"),
            );
            write("trails.csv", "trail,release\nA,P\n".into());
        }
        let (survey, mut faults) = read_survey(folder.path(), &[]).unwrap();
        let network = build(&survey);
        faults.append(check(&survey, &network));
        assert!(!faults.stop(), "{:#?}\n{}", faults.sorted(), self.anchors());
        let wanted = Wanted { draws, all_metrics: true, ..Wanted::default() };
        analyse(survey, network, wanted, &Progress::default()).unwrap()
    }
}

fn name(trail: usize) -> char {
    ['A', 'B'][trail]
}

/// The metrics of the whole of a trail, by name.
type Metrics = BTreeMap<&'static str, Option<f64>>;

fn metrics(analysis: &Analysis, trail: usize) -> Metrics {
    let whole = analysis.trails[trail].metrics.iter().filter(|row| row.part == 0);
    whole.map(|row| (row.metric.entry().name, row.measured.map(|m| m.value))).collect()
}

/// By how much two values of a metric differ; directions round the circle, and by more where only
/// one of them exists.
fn apart(metric: &str, a: Option<f64>, b: Option<f64>) -> f64 {
    match (a, b) {
        (Some(a), Some(b)) if ANGLES.contains(&metric) => {
            ((a - b + 180.0).rem_euclid(360.0) - 180.0).abs()
        }
        (Some(a), Some(b)) => (a - b).abs() / (1.0 + a.abs()),
        (None, None) => 0.0,
        _ => f64::INFINITY,
    }
}

const ANGLES: [&str; 3] = ["net_bearing", "turn_mean", "turn_3d_mean"];

/// The solver stops within 1e-5 of a coordinate's own standard deviation.
const SOLVED: f64 = 1e-5;

/// Every metric is the same but those of `but`, and there are some.
fn same(before: &Metrics, after: &Metrics, but: &[&str]) {
    assert!(before.len() > 50 && before.values().flatten().count() > 35, "{before:?}");
    for (metric, value) in before {
        let off = apart(metric, *value, after[metric]);
        let free = but.contains(metric);
        assert!(free || off < SOLVED, "{metric}: {value:?} {:?}", after[metric]);
    }
}

/// A tape from the first anchor to the last, and one that skips an anchor.
fn with_ties(trail: &Trail, rows: Vec<Row>) -> Tables {
    let places = places(trail);
    let tie = |from: usize, to: usize| {
        let [a, b] = [places[from], places[to]];
        let length = (b[0] - a[0]).hypot(b[1] - a[1]).hypot(b[2] - a[2]);
        let mut end = rows[to].clone();
        end.tape = Some(length + 0.02);
        (0, rows[from].clone(), end)
    };
    let ties = vec![tie(0, places.len() - 1), tie(1, 3)];
    Tables { ties, ..Tables::of(rows) }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn a_survey_without_noise_comes_back_as_it_was(trail in gentle()) {
        let analysis = Tables::of(rows(&trail, 0.0)).analysis(0);
        let true_places = places(&trail);
        for (found, place) in analysis.trails[0].geometry.points.iter().zip(&true_places) {
            for axis in 0..3 {
                prop_assert!((found[axis] - place[axis]).abs() < 1e-7, "{found:?} {place:?}");
            }
        }
        let found = metrics(&analysis, 0);
        let pairs = || true_places.windows(2).map(|pair| [0, 1, 2].map(|k| pair[1][k] - pair[0][k]));
        let runs = || pairs().map(|[e, n, _]| e.hypot(n));
        let lengths = || pairs().map(|[e, n, u]| e.hypot(n).hypot(u));
        let length: f64 = lengths().sum();
        let from_release = |place: &[f64; 3]| place[0].hypot(place[1]).hypot(place[2] - 1.0);
        let net = from_release(&true_places[trail.len()]);
        let heights = || true_places.iter().map(|place| place[2]);
        let middles = true_places.windows(2).map(|pair| 0.5 * (pair[0][2] + pair[1][2]));
        let high = heights().fold(0.0, f64::max);
        let low = heights().fold(f64::INFINITY, f64::min);
        for (metric, expected) in [
            ("path_length", length),
            ("horizontal_length", runs().sum()),
            ("taped_length", length),
            ("net_displacement", net),
            ("max_distance", true_places.iter().map(from_release).fold(0.0, f64::max)),
            ("ascent_raw", pairs().map(|[_, _, u]| u.max(0.0)).sum()),
            ("descent_raw", pairs().map(|[_, _, u]| (-u).max(0.0)).sum()),
            ("height_max", high),
            ("elevation_range", high - low),
            ("height_mean", middles.zip(lengths()).map(|(h, l)| h * l).sum::<f64>() / length),
            ("straightness", net / length),
            ("legs", trail.len() as f64),
            ("step_mean", length / trail.len() as f64),
        ] {
            let off = apart(metric, found[metric], Some(expected));
            prop_assert!(off < 1e-6, "{metric}: {:?} {expected}", found[metric]);
        }
    }

    #[test]
    fn turning_every_bearing_turns_the_net_bearing_alone(trail in trail(), by in 0.0..360.0_f64) {
        let tables = with_ties(&trail, rows(&trail, 1.0));
        let mut turned = tables.clone();
        for row in &mut turned.trails[0] {
            row.bearing = row.bearing.map(|bearing| (bearing + by).rem_euclid(360.0));
        }
        let [before, after] = [tables, turned].map(|tables| metrics(&tables.analysis(0), 0));
        same(&before, &after, &["net_bearing"]);
        let expected = before["net_bearing"].map(|bearing| bearing + by);
        // A net displacement of centimetres has no firm bearing.
        prop_assert!(apart("net_bearing", expected, after["net_bearing"]) < 0.01);
    }

    #[test]
    fn moving_the_control_moves_the_places_alone(
        trail in trail(), to in [-500.0..500.0_f64, -500.0..500.0],
    ) {
        let at = |control| Tables {
            control: Some(control),
            ..with_ties(&trail, rows(&trail, 1.0))
        };
        let [before, after] = [[0.0, 0.0], to].map(|control| at(control).analysis(0));
        same(&metrics(&before, 0), &metrics(&after, 0), &[]);
        let points = |analysis: &Analysis| analysis.trails[0].geometry.points.clone();
        for (a, b) in points(&before).iter().zip(&points(&after)) {
            for axis in 0..2 {
                prop_assert!((b[axis] - a[axis] - to[axis]).abs() < SOLVED, "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn another_trail_changes_nothing_not_even_the_intervals(one in trail(), other in trail()) {
        let alone = with_ties(&one, rows(&one, 1.0));
        let mut together = alone.clone();
        together.trails.push(rows(&other, 1.0));
        let [by_itself, beside] = [&alone, &together].map(|tables| tables.analysis(200));
        for (a, b) in by_itself.trails[0].metrics.iter().zip(&beside.trails[0].metrics) {
            prop_assert!(format!("{a:?}") == format!("{b:?}"), "{a:?} {b:?}");
        }
        let by_itself = Tables::of(rows(&other, 1.0)).analysis(0);
        same(&metrics(&by_itself, 0), &metrics(&together.analysis(0), 1), &[]);
    }

    #[test]
    fn two_halves_of_a_trail_add_up(trail in gentle(), at in 1..3_usize) {
        let whole = rows(&trail, 0.0);
        let mut second = whole[at..].to_vec();
        (second[0].tape, second[0].bearing) = (None, None);
        let halves = Tables { trails: vec![whole[..=at].to_vec(), second], ..Tables::default() };
        let halves = halves.analysis(0);
        let [first, second] = [0, 1].map(|half| metrics(&halves, half));
        let whole = metrics(&Tables::of(whole).analysis(0), 0);
        for sum in ["path_length", "horizontal_length", "taped_length", "ascent_raw", "descent_raw", "legs"] {
            let of = |half: &Metrics| half[sum].unwrap();
            let off = apart(sum, whole[sum], Some(of(&first) + of(&second)));
            prop_assert!(off < SOLVED, "{sum}: {:?}", whole[sum]);
        }
        let highest = first["height_max"].unwrap().max(second["height_max"].unwrap());
        prop_assert!(apart("height_max", whole["height_max"], Some(highest)) < SOLVED);
    }

    #[test]
    fn a_trail_followed_backwards_swaps_up_and_down(trail in trail()) {
        let forward = with_ties(&trail, rows(&trail, 1.0));
        let backward = Tables { trails: vec![reversed(&forward.trails[0])], ..forward.clone() };
        let [there, back] = [forward, backward].map(|tables| metrics(&tables.analysis(0), 0));
        let swapped = [
            ("ascent", "descent"),
            ("ascent_raw", "descent_raw"),
            ("ascent_threshold", "descent_threshold"),
        ];
        // What is measured from the release, or walked from it with dividers, may differ.
        let mut but = vec![
            "net_bearing", "max_distance", "turn_mean", "crw_deviation", "fractal_dimension",
        ];
        but.extend(swapped.iter().flat_map(|(up, down)| [*up, *down]));
        same(&there, &back, &but);
        for (up, down) in swapped {
            for (a, b) in [(up, down), (down, up)] {
                prop_assert!(apart(a, there[a], back[b]) < SOLVED, "{a}: {:?} {:?}", there[a], back[b]);
            }
        }
        let negative = |metric: &str| there[metric].map(|value| -value);
        prop_assert!(apart("turn_mean", negative("turn_mean"), back["turn_mean"]) < 0.01);
        let about = there["net_bearing"].map(|bearing| bearing + 180.0);
        prop_assert!(apart("net_bearing", about, back["net_bearing"]) < 0.01);
    }
}
