//! The adjustment against networks solved elsewhere.

use crate::field;
use crate::reference;

use field::{Rebuilt, Tables};
use perchline::adjustment::Residual;
use perchline::maths::quantity::Turn;
use reference::cases;
use serde_json::Value;

/// Bearings as written, and precisions that do not grow with length.
const CONSTANT: &str = "bearings.north = 'true'\norigin.elevation_m = 0\n[precision]\n\
                        tape_per_m = 0\nheight_per_m = 0\nanchor_m = 0\nground_m = 0\n";

/// What the observations of a network are called there and in `survey.toml`.
const PRECISIONS: [(&str, &str); 6] = [
    ("tape", "tape_m"),
    ("distance2d", "tape_m"),
    ("bearing", "bearing_deg"),
    ("incline", "incline_deg"),
    ("height", "height_m"),
    ("rise", "rise_m"),
];

/// An observation of weight k is k observations of weight one: so a levelling whose rises differ
/// in weight is written with each rise as often as it weighs. 0.6 m is a whole multiple of all.
const UNIT_RISE_M: f64 = 0.6;

fn observations(case: &Value) -> &[Value] {
    case["observations"].as_array().unwrap()
}

fn of_kind<'a>(case: &'a Value, kind: &'a str) -> impl Iterator<Item = &'a Value> {
    observations(case).iter().filter(move |observation| observation["kind"] == kind)
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// How often an observation is written down.
fn copies(case: &Value, observation: &Value) -> u32 {
    let sd = number(&observation["sd"]);
    let alike = of_kind(case, "rise").all(|rise| rise["sd"] == observation["sd"]);
    if observation["kind"] != "rise" || alike {
        return 1;
    }
    let weight = (UNIT_RISE_M / sd).powi(2);
    (1..10_000).find(|&whole| (f64::from(whole) - weight).abs() < 1e-6).unwrap()
}

/// The reading of a kind between two points, as text; blank where there is none.
fn reading(case: &Value, kind: &str, ends: [&Value; 2]) -> String {
    let mut of_ends = of_kind(case, kind).filter(|o| [&o["from"], &o["to"]] == ends);
    of_ends.next().map_or_else(String::new, |o| o["value"].to_string())
}

/// Taped legs in order, each with its readings; else every free point without any.
fn anchors(case: &Value) -> String {
    let mut text = String::from(
        "trail,anchor,from,tape_m,bearing_deg,back_bearing_deg,incline_deg,height_m\n",
    );
    let height = |point: &str| {
        let mut here = of_kind(case, "height").filter(|height| height["point"] == point);
        here.next().map_or_else(String::new, |height| height["value"].to_string())
    };
    let mut named: Vec<&str> = Vec::new();
    for leg in of_kind(case, "tape") {
        let ends = [&leg["from"], &leg["to"]];
        let [from, to] = ends.map(|end| end.as_str().unwrap());
        if named.is_empty() {
            named.push(from);
            text += &format!("Bor,{from},,,,,,\n");
        }
        let cells = ["tape", "bearing", "back_bearing", "incline"].map(|k| reading(case, k, ends));
        let height = if named.contains(&to) { String::new() } else { height(to) };
        text += &format!("Bor,{to},{from},{},{height}\n", cells.join(","));
        named.push(to);
    }
    if named.is_empty() {
        for point in case["solution"].as_object().unwrap().keys() {
            text += &format!("Bor,{point},,,,,,\n");
        }
    }
    text
}

fn ties(case: &Value) -> String {
    let mut text = String::from("trail,from,to,tape_m,rise_m\n");
    for (kind, before, after) in [("distance2d", "", ","), ("rise", ",", "")] {
        for tie in of_kind(case, kind) {
            let [from, to] = ["from", "to"].map(|end| tie[end].as_str().unwrap());
            let row = format!("Bor,{from},{to},{before}{}{after}\n", tie["value"]);
            text += &row.repeat(copies(case, tie).try_into().unwrap());
        }
    }
    if text.lines().count() > 1 { text } else { String::new() }
}

/// Points held fixed are controls known exactly.
fn controls(case: &Value) -> String {
    let mut text =
        String::from("control,east_m,north_m,elevation_m,accuracy_m,elevation_accuracy_m\n");
    let bench_marks = case["solution"].as_object().unwrap().values().all(|p| p["east"].is_null());
    for (name, at) in case["fixed"].as_object().unwrap() {
        let plan = if bench_marks { ",".into() } else { format!("{},{}", at[0], at[1]) };
        let sd = if bench_marks { "" } else { "0" };
        text += &format!("{name},{plan},{},{sd},0\n", at[2]);
    }
    text
}

fn tables(case: &Value) -> Tables {
    let mut settings = String::from(CONSTANT);
    for (kind, key) in PRECISIONS {
        if let Some(first) = of_kind(case, kind).next() {
            let sd = number(&first["sd"]) * f64::from(copies(case, first)).sqrt();
            settings += &format!("{key} = {sd}\n");
        }
    }
    Tables { anchors: anchors(case), ties: ties(case), controls: controls(case), settings }
}

/// What was compared of a network, each with its difference from the solution.
#[derive(Debug, Default)]
struct Apart(Vec<(String, f64)>);

/// Metres, degrees, and what has no unit.
const ALLOWED: f64 = 1e-6;

impl Apart {
    fn note(&mut self, what: &str, ours: f64, theirs: f64) {
        self.note_option(what, Some(ours), Some(theirs));
    }

    /// Compares with a number that may be missing: then there must be none here either.
    fn note_option(&mut self, what: &str, ours: Option<f64>, theirs: Option<f64>) {
        match (ours, theirs) {
            (Some(ours), Some(theirs)) => {
                self.0.push((format!("{what}: {ours} for {theirs}"), (ours - theirs).abs()));
            }
            _ => assert_eq!(ours, theirs, "{what}"),
        }
    }

    fn assert_small(&self, case: &Value) {
        for (what, size) in &self.0 {
            assert!(*size < ALLOWED, "{}: {what}, apart {size:e}", case["id"]);
        }
    }
}

fn compare_positions(case: &Value, ours: &Rebuilt, apart: &mut Apart) {
    for (name, point) in case["solution"].as_object().unwrap() {
        let node = ours.node(name);
        let covariance = ours.adjusted.covariances[node];
        for (k, axis) in ["east", "north", "up"].into_iter().enumerate() {
            if point[axis].is_number() {
                let what = format!("{axis} of {name}");
                apart.note(&what, ours.adjusted.positions[node][k], number(&point[axis]));
                let sd = number(&point[format!("sd_{axis}")]);
                apart.note(&format!("sd {what}"), covariance[(k, k)].sqrt(), sd);
            }
        }
        for (key, at) in [("cov_en", (0, 1)), ("cov_eu", (0, 2)), ("cov_nu", (1, 2))] {
            if point[key].is_number() {
                apart.note(key, covariance[at], number(&point[key]));
            }
        }
    }
}

/// What became of an observation.
fn residual<'a>(ours: &'a Rebuilt, observation: &Value) -> &'a Residual {
    let kind = match observation["kind"].as_str().unwrap() {
        "distance2d" => "tape",
        kind => kind,
    };
    let [from, to, point] = ["from", "to", "point"].map(|key| observation[key].as_str());
    let between = |line: usize| {
        let line = &ours.network.lines[line];
        Some(ours.name(line.from)) == from && Some(ours.name(line.to)) == to
    };
    let found = ours.adjusted.residuals.iter().find(|residual| {
        let here = residual.node.is_some_and(|node| Some(ours.name(node)) == point);
        residual.kind.name() == kind && (here || residual.line.is_some_and(between))
    });
    found.unwrap()
}

fn compare_residuals(case: &Value, ours: &Rebuilt, apart: &mut Apart) {
    for observation in observations(case) {
        let found = residual(ours, observation);
        let angle = |radians: f64| Turn::from_radians(radians).to_degrees();
        let own = |size: f64| if found.kind.is_angle() { angle(size) } else { size };
        let expected = |key: &str| observation[key].as_f64();
        apart.note("residual", own(found.residual), number(&observation["residual"]));
        let copies = copies(case, observation);
        let redundancy = 1.0 - f64::from(copies) * (1.0 - found.redundancy);
        apart.note("redundancy", redundancy, number(&observation["redundancy"]));
        if copies == 1 {
            apart.note("sd", own(found.sd), number(&observation["sd"]));
            let detectable = found.detectable.map(own);
            let standardised = expected("standardised");
            apart.note_option("standardised", found.standardised, standardised);
            apart.note_option("detectable", detectable, expected("detectable"));
        }
    }
}

fn compare_fit(case: &Value, ours: &Rebuilt, apart: &mut Apart) {
    let [fit] = ours.adjusted.fits.as_slice() else { unreachable!("one part") };
    apart.note("statistic", fit.statistic, number(&case["vtpv"]));
    // Near the minimum each step about squares what is left.
    assert!(fit.steps <= 8, "{} steps", fit.steps);
    if observations(case).iter().all(|observation| copies(case, observation) == 1) {
        apart.note("degrees of freedom", fit.degrees_of_freedom, number(&case["dof"]));
        let expected = case["global_p_upper"].as_f64();
        apart.note_option("global p", fit.p_value, expected);
    }
}

fn compare(name: &str, count: usize) {
    for case in &cases(name, count) {
        let ours = tables(case).rebuild();
        let mut apart = Apart::default();
        compare_positions(case, &ours, &mut apart);
        compare_residuals(case, &ours, &mut apart);
        compare_fit(case, &ours, &mut apart);
        assert!(apart.0.len() > 5);
        apart.assert_small(case);
    }
}

#[test]
fn networks_agree_with_their_solution_in_fifty_digits() {
    compare("least_squares_networks", 5);
}

#[test]
fn published_levellings_are_met() {
    compare("least_squares_published_levelling", 2);
}
