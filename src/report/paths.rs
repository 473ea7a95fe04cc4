//! The paths for the page's own drawing, as JSON: metres, names and what was noted.

use crate::analysis::Analysis;
use crate::path::{Leg, LegSupport, Path};
use crate::quantity::metres;
use crate::survey::rows::{AnchorRow, Perch};
use serde::Serialize;
use std::collections::BTreeMap;

/// All that is drawn.
#[derive(Debug, Serialize)]
pub(super) struct Drawing<'a> {
    pub(super) trails: Vec<DrawnTrail<'a>>,
    /// What legs lie on, the longest first.
    supports: Vec<&'a str>,
    /// Whether north on the page is true north.
    true_north: bool,
    /// Above this an anchor counts as off the ground, metres.
    above_m: f64,
    /// Trails that no drawing in space can show, and why.
    #[serde(skip)]
    pub(super) left_out: Vec<String>,
}

/// One trail; lists go by point, `legs` hold its two points, its support and whether it is a gap.
#[derive(Debug, Serialize)]
pub(super) struct DrawnTrail<'a> {
    pub(super) name: &'a str,
    animal: &'a str,
    anchors: Vec<&'a str>,
    east: Vec<f64>,
    north: Vec<f64>,
    up: Vec<f64>,
    ground: Vec<f64>,
    height: Vec<f64>,
    /// Standard deviation in space; blank without an adjustment.
    sd: Vec<Option<f64>>,
    section: Vec<usize>,
    escape: Vec<u8>,
    seen: Vec<u8>,
    about: Vec<String>,
    legs: Vec<[usize; 4]>,
}

/// A leg between two supports, and one of which nobody noted what it lies on.
const CROSSING: &str = "crossing";
const NOT_NOTED: &str = "not noted";

pub(super) fn drawing(analysis: &Analysis) -> Drawing<'_> {
    let shown = || analysis.paths.iter().filter(|path| analysis.shown[path.trail]);
    let supports = supports(analysis, shown());
    let places: BTreeMap<&str, usize> =
        supports.iter().enumerate().map(|(at, name)| (*name, at)).collect();
    let name = |path: &Path| analysis.survey.text(analysis.network.trails[path.trail].name);
    let why = |path: &Path| {
        let why = match path {
            Path { settled: false, .. } => "its adjustment did not settle",
            Path { has_plan: false, .. } => {
                "it has no bearings, so its course in plan is not known"
            }
            _ => return None,
        };
        Some(format!("{} is not drawn: {why}.", name(path)))
    };
    Drawing {
        trails: shown()
            .filter(|path| why(path).is_none())
            .map(|path| drawn(analysis, path, &places))
            .collect(),
        left_out: shown().filter_map(why).collect(),
        supports,
        true_north: shown().all(|path| path.oriented),
        above_m: analysis.survey.settings.above_ground_m(),
    }
}

/// The supports of all legs by how many metres lie on them, then by name.
fn supports<'a>(analysis: &'a Analysis, paths: impl Iterator<Item = &'a Path>) -> Vec<&'a str> {
    let mut lengths: BTreeMap<&str, f64> = BTreeMap::new();
    for path in paths {
        let geometry = &analysis.trails[path.trail].geometry;
        for leg in &path.legs {
            *lengths.entry(support(analysis, leg)).or_default() += geometry.length(leg);
        }
    }
    let mut supports: Vec<(&str, f64)> = lengths.into_iter().collect();
    supports.sort_by(|a, b| b.1.total_cmp(&a.1));
    supports.into_iter().map(|(name, _)| name).collect()
}

fn support<'a>(analysis: &'a Analysis, leg: &Leg) -> &'a str {
    match leg.support {
        LegSupport::On(name) => analysis.survey.text(name),
        LegSupport::Crossing(..) => CROSSING,
        LegSupport::Unknown => NOT_NOTED,
    }
}

fn drawn<'a>(
    analysis: &'a Analysis,
    path: &Path,
    supports: &BTreeMap<&str, usize>,
) -> DrawnTrail<'a> {
    let survey = &analysis.survey;
    let trail = &analysis.network.trails[path.trail];
    let listed = trail.listed.map(|at| &survey.trails[at]);
    let row = |point: usize| &survey.anchors[path.points[point].row];
    let geometry = &analysis.trails[path.trail].geometry;
    let axis = |axis: usize| geometry.points.iter().map(|point| to_mm(point[axis])).collect();
    let nodes = || path.points.iter().map(|point| point.node);
    let covariances = &analysis.adjusted.covariances;
    let sd = |node: usize| Some(to_mm(covariances.get(node)?.trace().max(0.0).sqrt()));
    let at = |leg: &Leg| supports.get(support(analysis, leg)).copied();
    DrawnTrail {
        name: survey.text(trail.name),
        animal: listed.and_then(|row| row.animal).map_or("", |animal| survey.text(animal)),
        anchors: nodes().map(|node| survey.text(analysis.network.nodes[node].name)).collect(),
        east: axis(0),
        north: axis(1),
        up: axis(2),
        ground: nodes().map(|node| to_mm(analysis.adjusted.heights[node].ground)).collect(),
        height: geometry.heights.iter().map(|height| to_mm(*height)).collect(),
        sd: nodes().map(sd).collect(),
        section: path.points.iter().map(|point| point.section).collect(),
        escape: path.points.iter().map(|point| u8::from(point.escape)).collect(),
        seen: (0..path.points.len()).map(|point| u8::from(row(point).seen)).collect(),
        about: (0..path.points.len()).map(|point| about(analysis, path, point)).collect(),
        legs: path
            .legs
            .iter()
            .map(|leg| [leg.from, leg.to, at(leg).unwrap_or(0), usize::from(!leg.counted)])
            .collect(),
    }
}

/// What is known of an anchor, one thing a line.
fn about(analysis: &Analysis, path: &Path, point: usize) -> String {
    let survey = &analysis.survey;
    let node = path.points[point].node;
    let row: &AnchorRow = &survey.anchors[path.points[point].row];
    let height = &analysis.adjusted.heights[node];
    let known = !analysis.adjusted.covariances.is_empty();
    let sd = if known { format!(" ± {}", metres(height.sd)) } else { String::new() };
    let at_least = if row.height_at_least { "at least " } else { "" };
    let mut lines = vec![format!("height {at_least}{}{sd}", metres(height.height))];
    let mut add = |what: &str, value: Option<&str>| {
        lines.extend(value.map(|value| format!("{what} {value}")));
    };
    add("support", row.support.map(|name| survey.text(name)));
    add("plant", row.plant.map(|name| survey.text(name)));
    add("tree", row.tree.map(|name| survey.text(name)));
    let diameter = row.diameter_cm.map(|size| format!("{size} cm"));
    add("diameter", diameter.as_deref());
    add("refuge", row.refuge.map(|name| survey.text(name)));
    add("animal", row.seen.then_some("found here"));
    add("perch", row.perch.map(|perch| if perch == Perch::Seen { "seen" } else { "by signs" }));
    let grid = &survey.grids.anchors;
    let note = grid.column("note").map(|column| grid.cell(row.row, column).trim());
    add("note", note.filter(|note| !note.is_empty()));
    lines.join("\n")
}

/// To a millimetre; finer digits say nothing and make the page large.
fn to_mm(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}
