//! What stands around the paths in space: the ground below them, the raw traverse, how well each
//! anchor is known, where it was written down, trunks, and what does not close.

use super::about::{about, supports, supports_of};
use super::{Scene, ScenePoint, TrailScene, scene};
use crate::adjustment::path::{Leg, Path};
use crate::maths::quantity::{count_of, metres};
use crate::results::Analysis;
use crate::results::question::groupings;
use crate::survey::fault::Place;
use nalgebra::{Matrix3, Vector3};
use std::collections::BTreeMap;

/// A survey's paths with all that an onlooker may ask of them.
#[derive(Clone, Debug)]
pub struct Space {
    /// The paths.
    pub scene: Scene,
    /// What is known besides of each of them, in the same order.
    pub trails: Vec<TrailInSpace>,
    /// What does not close, as far as it lies on a path that is drawn.
    pub misclosures: Vec<Misclosure>,
    /// What legs lie on, the longest first.
    pub supports: Vec<String>,
    /// The column by which animals are grouped, and its levels.
    pub groups: Option<(String, Vec<String>)>,
}

/// What is known of one path besides its scene.
#[derive(Clone, Debug)]
pub struct TrailInSpace {
    /// The group of its animal, among those of the space.
    pub group: Option<usize>,
    /// Its points, in walking order.
    pub points: Vec<PointInSpace>,
    /// Its legs, in walking order.
    pub legs: Vec<LegInSpace>,
    /// Its trees.
    pub trunks: Vec<Trunk>,
}

/// One visit to an anchor.
#[derive(Clone, Debug)]
pub struct PointInSpace {
    /// Its node in the network.
    pub node: usize,
    /// Elevation of the ground below, metres.
    pub ground: f64,
    /// Where the raw traverse has it, metres.
    pub raw: [f64; 3],
    /// Its covariance against the release, metres²: what the walk leaves unknown in plan, and that of
    /// its height, without what ties the two. How well the release is placed would hide both. `None`
    /// without an adjustment.
    pub covariance: Option<Matrix3<f64>>,
    /// Where it was written down.
    pub place: Place,
    /// What is known of it, one thing a line.
    pub about: Vec<String>,
}

/// One leg.
#[derive(Clone, Copy, Debug)]
pub struct LegInSpace {
    /// The point it starts at.
    pub from: usize,
    /// The point it ends at, whose row tells of it.
    pub to: usize,
    /// Its line in the network, where it was measured.
    pub line: Option<usize>,
    /// The night, from 1.
    pub section: usize,
    /// Whether it lies on the escape run.
    pub escape: bool,
    /// Whether it counts.
    pub counted: bool,
    /// Whether its direction in plan was carried on from another leg, for want of any.
    pub assumed: bool,
    /// What its two halves lie on, among the supports of the space.
    pub supports: [usize; 2],
}

/// The stem of a tree, as far as anchors stand on it.
#[derive(Clone, Debug)]
pub struct Trunk {
    /// Its number or name.
    pub name: String,
    /// East and north, metres: its lowest anchor, since branches lead away from the stem.
    pub plan: [f64; 2],
    /// Elevation of its foot and of its highest anchor, metres.
    pub up: [f64; 2],
}

/// By how much a loop, a tie or a line between controls fails to meet.
#[derive(Clone, Debug)]
pub struct Misclosure {
    /// The path on which it is drawn, and the point at which it ends.
    pub at: [usize; 2],
    /// East, north and up, metres: walked minus known.
    pub vector: [f64; 3],
    /// Its size and what it says, in words.
    pub words: String,
}

/// The space of the paths that were asked for.
pub fn space(analysis: &Analysis) -> Space {
    let scene = scene(analysis);
    let supports = supports(analysis);
    let places: BTreeMap<&str, usize> =
        supports.iter().enumerate().map(|(at, name)| (*name, at)).collect();
    let factor = groupings(analysis).into_iter().next();
    let listed = |trail: usize| analysis.network.trails[trail].listed;
    let levels = factor
        .as_ref()
        .map(|factor| factor.levels(scene.trails.iter().filter_map(|trail| listed(trail.trail))));
    let group = |trail: usize| {
        let level = factor.as_ref()?.level(listed(trail)?)?;
        levels.as_ref()?.iter().position(|known| known == level)
    };
    let trail_in_space = |known: &TrailScene| {
        let trail = known.trail;
        let path = &analysis.paths[trail];
        let points = known.points.iter().enumerate();
        TrailInSpace {
            group: group(trail),
            points: points.map(|point| point_in(analysis, path, point)).collect(),
            legs: path.legs.iter().map(|leg| leg_in(analysis, leg, &places)).collect(),
            trunks: trunks(analysis, path),
        }
    };
    let trails: Vec<TrailInSpace> = scene.trails.iter().map(trail_in_space).collect();
    Space {
        misclosures: misclosures(analysis, &scene, &trails),
        supports: supports.iter().map(|name| (*name).to_owned()).collect(),
        groups: factor.map(|factor| factor.name).zip(levels),
        scene,
        trails,
    }
}

fn point_in(
    analysis: &Analysis,
    path: &Path,
    (point, known): (usize, &ScenePoint),
) -> PointInSpace {
    let visit = &path.points[point];
    let (survey, adjusted) = (&analysis.survey, &analysis.adjusted);
    PointInSpace {
        node: visit.node,
        ground: adjusted.heights[visit.node].ground,
        raw: adjusted.raw.positions.get(visit.node).copied().unwrap_or([f64::NAN; 3]),
        covariance: covariance(known),
        place: survey
            .grids
            .anchors
            .whole()
            .row(survey.grids.anchors.row(survey.anchors[visit.row].row)),
        about: about(analysis, path, point),
    }
}

fn covariance(point: &ScenePoint) -> Option<Matrix3<f64>> {
    let (plan, height) = (point.walked?, point.height_sd?);
    let mut covariance = Matrix3::from_diagonal(&Vector3::new(0.0, 0.0, height * height));
    covariance.fixed_view_mut::<2, 2>(0, 0).copy_from(&plan);
    Some(covariance)
}

fn leg_in(analysis: &Analysis, leg: &Leg, supports: &BTreeMap<&str, usize>) -> LegInSpace {
    LegInSpace {
        from: leg.from,
        to: leg.to,
        line: leg.line,
        section: leg.section,
        escape: leg.escape,
        counted: leg.counted,
        assumed: leg.assumed,
        supports: supports_of(analysis, leg)
            .map(|half| supports.get(half).copied().unwrap_or_default()),
    }
}

/// One trunk for each tree of which the trail has an anchor, in order of names.
fn trunks(analysis: &Analysis, path: &Path) -> Vec<Trunk> {
    let mut trees: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for point in &path.points {
        if let Some(tree) = analysis.survey.anchors[point.row].tree {
            trees.entry(analysis.survey.text(tree)).or_default().push(point.node);
        }
    }
    let trunk = |(name, nodes): (&str, Vec<usize>)| {
        let adjusted = &analysis.adjusted;
        let up = |node: &usize| adjusted.positions[*node][2];
        let top = nodes.iter().map(up).fold(f64::NEG_INFINITY, f64::max);
        let lowest = nodes.iter().copied().min_by(|a, b| up(a).total_cmp(&up(b)))?;
        let [east, north, _] = adjusted.positions[lowest];
        let foot = adjusted.heights[lowest].ground;
        Some(Trunk { name: name.to_owned(), plan: [east, north], up: [foot, top] })
    };
    trees.into_iter().filter_map(trunk).collect()
}

fn misclosures(analysis: &Analysis, scene: &Scene, trails: &[TrailInSpace]) -> Vec<Misclosure> {
    let find = |node: usize, of: &[usize]| {
        scene.trails.iter().enumerate().find_map(|(at, trail)| {
            let here = of.contains(&trail.trail);
            let point = trails[at].points.iter().position(|point| here && point.node == node)?;
            Some([at, point])
        })
    };
    let name = |node: usize| analysis.survey.text(analysis.network.nodes[node].name);
    let closures = analysis.adjusted.closures.iter();
    let of = closures.filter_map(|closure| {
        let [from, to] = closure.ends.map(name);
        let words = format!(
            "{from} to {to}: {} off after {} of {}; {}",
            metres(closure.total()),
            metres(closure.length),
            count_of(closure.legs, "leg"),
            closure.verdict.words()
        );
        let at = find(closure.ends[1], &closure.trails)?;
        Some(Misclosure { at, vector: closure.misclosure, words })
    });
    of.collect()
}
