//! The minimum of the sum of squares against one found by other means: `scipy.optimize` from many
//! starts, for trails by every protocol of measuring. `tests/reference/protocol_minima.py` says how
//! its numbers are made anew.

use super::normal::{Curvature, linearise};
use super::observation::{Kind, Observation};
use super::raw::{Raw, raw, start};
use super::solve::Problem;
use super::weights::{Model, model};
use super::written::grid;
use super::{Method, adjust};
use crate::adjustment::network::{Network, build};
use crate::maths::ground::Ground;
use crate::survey::{Grids, Survey, read_tables, settings};
use nalgebra::Vector3;
use serde_json::{Value, json};
use std::{env, fs};

/// A trail by itself, with everything read of it.
struct Case {
    survey: Survey,
    network: Network,
    raw: Raw,
    model: Model,
}

impl Case {
    /// From the text of its tables.
    fn of(case: &Value) -> Self {
        let text = |key: &str| case[key].as_str().unwrap().to_owned();
        let (settings, _) = settings::read("survey.toml", &text("settings"), &[]);
        let anchors = grid("anchors.csv", &text("anchors"));
        let (survey, _) = read_tables(settings, Grids { anchors, ..Grids::default() });
        let network = build(&survey);
        assert_eq!(network.components.len(), 1);
        let part = &network.components[0];
        let precision = &survey.settings.precision;
        let raw = raw(&network, precision, &Ground::flat());
        let local: Vec<usize> = (0..network.nodes.len()).collect();
        assert_eq!(part.nodes, local);
        let model = model(&network, part, precision, &raw, &local);
        Self { survey, network, raw, model }
    }

    /// The sum of squares at these positions.
    fn sum_at(&self, positions: &[[f64; 3]]) -> f64 {
        let ground = Ground::flat();
        let problem = Problem::new(&self.model, &ground, positions.len());
        let x: Vec<Vector3<f64>> = positions.iter().copied().map(Vector3::from).collect();
        let mut terms = Vec::new();
        let points = linearise(&problem, &x, |_| Curvature::None, &mut terms);
        points + terms.iter().map(|term| term.cost).sum::<f64>()
    }

    /// Where the adjustment puts the nodes.
    fn adjusted(&self) -> Vec<[f64; 3]> {
        let precision = &self.survey.settings.precision;
        let method = Method::LeastSquares;
        adjust(&self.network, precision, &Ground::flat(), method, false).positions
    }

    /// Everything read, for others to minimise.
    fn dumped(&self, case: &Value) -> Value {
        let Model { lines, readings, turns, points, held, .. } = &self.model;
        let on_lines = lines.iter().flat_map(|line| {
            readings[line.first..line.end].iter().map(|o| dumped(o, &[line.from, line.to]))
        });
        let ends = |line: usize| [lines[line].from, lines[line].to];
        let of_turns = turns
            .iter()
            .map(|turn| dumped(&turn.reading, &[ends(turn.line), ends(turn.before)].concat()));
        let of_points = points.iter().map(|point| dumped(&point.reading, &[point.node]));
        let precision = &self.survey.settings.precision;
        let held_at = |node| {
            let at: [f64; 3] = start(&self.network, precision, &self.raw, node).into();
            at
        };
        let adjusted = self.adjusted();
        let mut dump = case.clone();
        dump["readings"] = on_lines.chain(of_turns).chain(of_points).collect();
        dump["held"] = json!(held);
        dump["held_at"] = (0..held.len()).map(held_at).map(|at| json!(at)).collect();
        dump["tool_sum"] = json!(self.sum_at(&adjusted));
        dump["tool_positions"] = json!(adjusted);
        dump
    }
}

fn dumped(o: &Observation, nodes: &[usize]) -> Value {
    let kind = match o.kind {
        Kind::Plumb { east: true } => "plumb_east",
        Kind::Plumb { east: false } => "plumb_north",
        kind => kind.name(),
    };
    json!({
        "kind": kind,
        "value": o.value,
        "sd": o.sd,
        "scale": o.scale,
        "toward": o.toward,
        "sideways": o.sideways,
        "nodes": nodes,
    })
}

/// Writes what is read in each study of the file `STUDIES` to the file `MODELS`.
#[test]
#[ignore = "writes a file: see tests/reference/protocol_minima.py"]
#[expect(clippy::disallowed_methods, reason = "written for a script, at will")]
fn models_of_studies() {
    let studies = fs::read_to_string(env::var("STUDIES").unwrap()).unwrap();
    let studies: Vec<Value> = serde_json::from_str(&studies).unwrap();
    let models: Vec<Value> = studies.iter().map(|case| Case::of(case).dumped(case)).collect();
    fs::write(env::var("MODELS").unwrap(), Value::from(models).to_string()).unwrap();
}

/// Both agree on the sum at the independent positions, and the adjustment's own is not above it.
#[test]
fn no_minimum_is_above_an_independent_one() {
    const FILE: &str = include_str!("../../tests/reference/protocol_minima.json");
    let file: Value = serde_json::from_str(FILE).unwrap();
    let cases = file["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 66);
    for case in cases {
        let named = format!("{} {}", case["protocol"], case["trail"]);
        let known = case["sum"].as_f64().unwrap();
        let read = Case::of(case);
        let positions: Vec<[f64; 3]> = serde_json::from_value(case["positions"].clone()).unwrap();
        let there = read.sum_at(&positions);
        assert!(
            (there - known).abs() < 1e-4 * known.max(0.1),
            "{named}: {there} for {known}: weights have changed? see protocol_minima.py"
        );
        let ours = read.sum_at(&read.adjusted());
        assert!(ours <= known * (1.0 + 1e-6) + 1e-4, "{named}: {ours} above {known}");
    }
}
