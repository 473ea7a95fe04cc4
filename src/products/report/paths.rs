//! The paths for the page's own drawing, as JSON: metres, names and what was noted.

use crate::adjustment::path::Leg;
use crate::products::scene::{about, supports, supports_of};
use crate::results::Analysis;
use serde::Serialize;
use std::collections::BTreeMap;

/// All that is drawn.
#[derive(Debug, Serialize)]
pub(super) struct Drawing<'a> {
    pub(super) trails: Vec<DrawnTrail<'a>>,
    /// What legs lie on, the longest first.
    supports: Vec<&'a str>,
    /// Above this an anchor counts as off the ground, metres.
    above_m: f64,
    /// Trails that no drawing in space can show, and why.
    #[serde(skip)]
    pub(super) left_out: Vec<String>,
}

/// One trail; lists go by point, `legs` hold its two points, the supports of its two halves and 1 for a
/// gap, 2 for a direction that was carried on.
#[derive(Debug, Serialize)]
pub(super) struct DrawnTrail<'a> {
    pub(super) name: &'a str,
    /// Whether north on the page is its north.
    oriented: bool,
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
    legs: Vec<[usize; 5]>,
}

pub(super) fn drawing(analysis: &Analysis) -> Drawing<'_> {
    let supports = supports(analysis);
    let places: BTreeMap<&str, usize> =
        supports.iter().enumerate().map(|(at, name)| (*name, at)).collect();
    let shown = || analysis.shown_paths().map(|path| path.trail);
    let drawable = shown().filter(|&trail| why_not(analysis, trail).is_none());
    Drawing {
        trails: drawable.map(|trail| drawn(analysis, trail, &places)).collect(),
        left_out: left_out(analysis),
        supports,
        above_m: analysis.survey.settings.above_ground_m(),
    }
}

/// Why a trail is not drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
enum NotDrawn {
    Unsettled,
    WithoutPlan,
}

/// `None` where it is drawn.
fn why_not(analysis: &Analysis, trail: usize) -> Option<NotDrawn> {
    let path = &analysis.paths[trail];
    match (path.settled, path.layout.has_plan()) {
        (false, _) => Some(NotDrawn::Unsettled),
        (true, false) => Some(NotDrawn::WithoutPlan),
        (true, true) => None,
    }
}

/// A sentence a reason on the trails that are not drawn.
fn left_out(analysis: &Analysis) -> Vec<String> {
    let sentence = |why, one: &str, many: &str| {
        let trails = analysis.shown_paths().map(|path| path.trail);
        let those = trails.filter(|&trail| why_not(analysis, trail) == Some(why));
        let names: Vec<&str> = those.map(|trail| analysis.trail_name(trail)).collect();
        match names.as_slice() {
            [] => None,
            [name] => Some(format!("{name} is not drawn: {one}.")),
            names => Some(format!("{} are not drawn: {many}.", names.join(", "))),
        }
    };
    let unsettled = sentence(
        NotDrawn::Unsettled,
        "its adjustment did not settle",
        "their adjustments did not settle",
    );
    let without_plan = sentence(
        NotDrawn::WithoutPlan,
        "too few of its legs have a direction for a plan (its heights are in the profile)",
        "too few of their legs have a direction for a plan (their heights are in the profile)",
    );
    unsettled.into_iter().chain(without_plan).collect()
}

fn drawn<'a>(
    analysis: &'a Analysis,
    trail: usize,
    supports: &BTreeMap<&str, usize>,
) -> DrawnTrail<'a> {
    let (survey, path) = (&analysis.survey, &analysis.paths[trail]);
    let geometry = &analysis.trails[trail].geometry;
    let trail = &analysis.network.trails[trail];
    let listed = trail.listed.map(|at| &survey.trails[at]);
    let row = |point: usize| &survey.anchors[path.points[point].row];
    let axis = |axis: usize| geometry.points.iter().map(|point| to_mm(point[axis])).collect();
    let nodes = || path.points.iter().map(|point| point.node);
    let covariances = &analysis.adjusted.covariances;
    let sd = |node: usize| Some(to_mm(covariances.get(node)?.trace().max(0.0).sqrt()));
    DrawnTrail {
        name: survey.text(trail.name),
        oriented: path.layout.is_oriented(),
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
        about: (0..path.points.len())
            .map(|point| about(analysis, path, point).join("\n"))
            .collect(),
        legs: path
            .legs
            .iter()
            .map(|leg| {
                let place = |half| supports.get(half).copied().unwrap_or(0);
                let [first, second] = supports_of(analysis, leg).map(place);
                [leg.from, leg.to, first, second, style(leg)]
            })
            .collect(),
    }
}

/// How a leg is drawn: as walked, as a gap, or without a direction of its own.
fn style(leg: &Leg) -> usize {
    match (leg.counted, leg.assumed) {
        (false, _) => 1,
        (true, true) => 2,
        (true, false) => 0,
    }
}

/// To a millimetre; finer digits say nothing and make the page large.
fn to_mm(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}
