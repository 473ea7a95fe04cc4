//! Paths as points and pieces in metres.

use crate::adjustment::network::Component;
use crate::adjustment::path::{Geometry, Leg, Path, Point};
use crate::maths::quantity::Turn;
use crate::results::Analysis;
use crate::results::tables::legs::turn;
use crate::survey::rows::{Ending, Perch};
use nalgebra::Matrix2;

/// What a piece of path is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Walked, and counted.
    Walked,
    /// Walked on the escape run.
    Escape,
    /// Not followed, or not measured: not counted.
    Gap,
}

/// A straight piece of path within one stratum.
#[derive(Clone, Copy, Debug)]
pub struct Piece {
    /// What it is.
    pub kind: Kind,
    /// Whether its direction in plan was carried on from another leg, for want of any.
    pub assumed: bool,
    /// The stratum it lies in, the lowest 0.
    pub stratum: usize,
    /// Its ends: east, north, up, metres.
    pub ends: [[f64; 3]; 2],
    /// Metres along the thread at its ends.
    pub along: [f64; 2],
    /// Metres above ground at its ends.
    pub heights: [f64; 2],
}

/// One visit to an anchor.
#[derive(Clone, Debug)]
#[expect(clippy::struct_excessive_bools, reason = "each is a separate fact of the survey")]
pub struct ScenePoint {
    /// The anchor's name.
    pub name: String,
    /// East, north, up, metres.
    pub position: [f64; 3],
    /// Metres along the thread.
    pub along: f64,
    /// Metres above ground.
    pub height: f64,
    /// Its standard deviation; `None` without an adjustment.
    pub height_sd: Option<f64>,
    /// Covariance in plan against the release, metres²: what the walk alone leaves unknown.
    pub walked: Option<Matrix2<f64>>,
    /// Whether the true height may be greater.
    pub at_least: bool,
    /// Whether the animal was found here.
    pub seen: bool,
    /// What shows that it perched here.
    pub perch: Option<Perch>,
    /// Whether it hid here.
    pub refuge: bool,
    /// Whether it lies on the escape run.
    pub escape: bool,
    /// The night, from 1.
    pub section: usize,
}

/// One leg as the tables have it.
#[derive(Clone, Copy, Debug)]
pub struct SceneLeg {
    /// Metres.
    pub length: f64,
    /// Turn in plan from the leg before, where both have a direction.
    pub turn: Option<Turn>,
    /// Whether its direction in plan was carried on from another leg, for want of any.
    pub assumed: bool,
    /// Whether it counts.
    pub counted: bool,
}

/// One path.
#[derive(Clone, Debug)]
#[expect(clippy::struct_excessive_bools, reason = "each is a separate fact of the survey")]
pub struct TrailScene {
    /// Its place among the trails of the network.
    pub trail: usize,
    /// Its name.
    pub name: String,
    /// Its animal, where somebody wrote it.
    pub animal: Option<String>,
    /// Its points, in walking order.
    pub points: Vec<ScenePoint>,
    /// Its pieces, in walking order.
    pub pieces: Vec<Piece>,
    /// Its legs, in walking order.
    pub legs: Vec<SceneLeg>,
    /// Whether a plan is known.
    pub has_plan: bool,
    /// Whether its directions are true ones.
    pub oriented: bool,
    /// Whether it stands in the survey's frame, or only against its own release.
    pub placed: bool,
    /// Standard deviation of its placing on each axis, metres.
    pub placing_sd: Option<f64>,
    /// How it ended.
    pub ending: Option<Ending>,
    /// Whether it may go on beyond its last point.
    pub cut_short: bool,
    /// Metres that are counted.
    pub counted_m: f64,
}

/// All that is drawn of a survey's space.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The paths that were asked for and settled.
    pub trails: Vec<TrailScene>,
    /// Names of those that did not settle.
    pub unsettled: Vec<String>,
    /// Edges of the strata, metres above ground, ascending.
    pub edges: Vec<f64>,
}

impl TrailScene {
    /// Whether its plan has a place and a north in the survey's frame, which others may share.
    pub fn on_map(&self) -> bool {
        self.placed && self.oriented
    }

    /// Metres right and up on paper of a point: seen from above, or without a plan along the thread
    /// and above the ground.
    pub fn on_paper(&self, point: &ScenePoint) -> [f64; 2] {
        let [east, north, _] = point.position;
        if self.has_plan { [east, north] } else { [point.along, point.height] }
    }

    /// The same of an end of a piece.
    pub fn end_on_paper(&self, piece: &Piece, end: usize) -> [f64; 2] {
        let [east, north, _] = piece.ends[end];
        if self.has_plan { [east, north] } else { [piece.along[end], piece.heights[end]] }
    }
}

impl Scene {
    /// How many strata there are.
    pub fn strata(&self) -> usize {
        self.edges.len() + 1
    }

    /// A stratum in words: `< 0.3 m`, `1–5 m`, `≥ 10 m`.
    pub fn stratum_words(&self, at: usize) -> String {
        let below = at.checked_sub(1).and_then(|at| self.edges.get(at));
        match (below, self.edges.get(at)) {
            (None, Some(high)) => format!("< {high} m"),
            (Some(low), Some(high)) => format!("{low}–{high} m"),
            (Some(low), None) => format!("≥ {low} m"),
            (None, None) => "all heights".to_owned(),
        }
    }
}

/// The paths of an analysis that were asked for.
pub fn scene(analysis: &Analysis) -> Scene {
    let name = |path: &Path| analysis.survey.text(analysis.network.trails[path.trail].name);
    let known = |path: &&Path| path.settled && !path.points.is_empty();
    Scene {
        trails: analysis.shown_paths().filter(known).map(|path| trail(analysis, path)).collect(),
        unsettled: analysis
            .shown_paths()
            .filter(|path| !path.settled)
            .map(|path| name(path).to_owned())
            .collect(),
        edges: analysis.survey.settings.strata_edges_m.clone(),
    }
}

fn trail(analysis: &Analysis, path: &Path) -> TrailScene {
    let (survey, adjusted) = (&analysis.survey, &analysis.adjusted);
    let entered = &analysis.network.trails[path.trail];
    let listed = entered.listed.map(|at| &survey.trails[at]);
    let release = path.points.first().map(|point| point.node);
    let part = analysis
        .network
        .components
        .iter()
        .find(|part| release.is_some_and(|node| part.nodes.binary_search(&node).is_ok()));
    let along = along(analysis, path);
    let walked = walked(analysis, path, part);
    let point = |(at, point): (usize, &Point)| {
        let row = &survey.anchors[point.row];
        let height = &adjusted.heights[point.node];
        ScenePoint {
            name: survey.text(row.anchor).to_owned(),
            position: adjusted.positions[point.node],
            along: along[at],
            height: height.height,
            height_sd: (!adjusted.covariances.is_empty()).then_some(height.sd),
            walked: walked.as_ref().map(|all| all[at]),
            at_least: row.height_at_least,
            seen: row.seen,
            perch: row.perch,
            refuge: row.refuge.is_some(),
            escape: point.escape,
            section: point.section,
        }
    };
    let points: Vec<ScenePoint> = path.points.iter().enumerate().map(point).collect();
    let edges = &survey.settings.strata_edges_m;
    let placing = release.and_then(|node| adjusted.covariances.get(node));
    TrailScene {
        trail: path.trail,
        name: survey.text(entered.name).to_owned(),
        animal: listed.and_then(|row| row.animal).map(|animal| survey.text(animal).to_owned()),
        pieces: path.legs.iter().flat_map(|leg| pieces(&points, leg, edges)).collect(),
        legs: legs(analysis, path),
        has_plan: path.layout.has_plan(),
        oriented: path.layout.is_oriented(),
        placed: part.is_some_and(|part| part.placed),
        placing_sd: placing.map(|c| (0.5 * (c.m11 + c.m22)).max(0.0).sqrt()).filter(|sd| *sd > 0.0),
        ending: listed.and_then(|row| row.ending),
        cut_short: path.cut_short,
        counted_m: counted(&points, &path.legs),
        points,
    }
}

fn legs(analysis: &Analysis, path: &Path) -> Vec<SceneLeg> {
    let geometry = Geometry::adjusted(path, &analysis.adjusted);
    let leg = |(at, leg): (usize, &Leg)| SceneLeg {
        length: between(&[geometry.points[leg.from], geometry.points[leg.to]]),
        turn: turn(path, &geometry, at),
        assumed: leg.assumed,
        counted: leg.counted,
    };
    path.legs.iter().enumerate().map(leg).collect()
}

fn between(points: &[[f64; 3]; 2]) -> f64 {
    let [a, b] = points;
    (b[0] - a[0]).hypot(b[1] - a[1]).hypot(b[2] - a[2])
}

fn counted(points: &[ScenePoint], legs: &[Leg]) -> f64 {
    let ends = |leg: &Leg| [points[leg.from].position, points[leg.to].position];
    legs.iter().filter(|leg| leg.counted).map(|leg| between(&ends(leg))).sum()
}

/// Metres along the thread at each point.
fn along(analysis: &Analysis, path: &Path) -> Vec<f64> {
    let position = |point: usize| analysis.adjusted.positions[path.points[point].node];
    let mut along = vec![0.0; path.points.len()];
    for leg in &path.legs {
        let before = along[leg.to.saturating_sub(1)];
        along[leg.to] = before + between(&[position(leg.from), position(leg.to)]);
    }
    along
}

/// Covariance in plan of each point against the release. With one known point the network's own is
/// that of the point and the walk together; with more, the legs are summed up, which leaves out
/// what ties and further known points add, and so is never too small for legs with a needle.
fn walked(analysis: &Analysis, path: &Path, part: Option<&Component>) -> Option<Vec<Matrix2<f64>>> {
    let adjusted = &analysis.adjusted;
    let in_plan = |all: &nalgebra::Matrix3<f64>| all.fixed_view::<2, 2>(0, 0).into_owned();
    let first = in_plan(adjusted.covariances.get(path.points.first()?.node)?);
    let known =
        |node: &&usize| analysis.network.nodes[**node].known.is_some_and(|known| known.in_plan);
    if part.is_none_or(|part| part.nodes.iter().filter(known).count() <= 1) {
        let of = |node: usize| in_plan(&adjusted.covariances[node]) - first;
        return Some(path.points.iter().map(|point| of(point.node)).collect());
    }
    let mut walked = vec![Matrix2::zeros(); path.points.len()];
    for leg in &path.legs {
        let own = leg.line.and_then(|line| adjusted.line_covariances.get(line));
        walked[leg.to] = walked[leg.from] + own.map_or_else(Matrix2::zeros, in_plan);
    }
    Some(walked)
}

/// A leg cut where it crosses the edge of a stratum.
fn pieces(points: &[ScenePoint], leg: &Leg, edges: &[f64]) -> Vec<Piece> {
    let (a, b) = (&points[leg.from], &points[leg.to]);
    let kind = match (leg.counted, leg.escape) {
        (false, _) => Kind::Gap,
        (true, true) => Kind::Escape,
        (true, false) => Kind::Walked,
    };
    let share = |edge: &f64| (edge - a.height) / (b.height - a.height);
    let mut cuts: Vec<f64> = edges.iter().map(share).filter(|t| *t > 0.0 && *t < 1.0).collect();
    cuts.sort_by(f64::total_cmp);
    cuts.insert(0, 0.0);
    cuts.push(1.0);
    let start = points[leg.to.saturating_sub(1)].along;
    let piece = |pair: &[f64]| {
        let at = |t: f64, from: f64, to: f64| from + t * (to - from);
        let point = |t: f64| std::array::from_fn(|k| at(t, a.position[k], b.position[k]));
        let (from, to) = (pair[0], pair[1]);
        let middle = at(0.5 * (from + to), a.height, b.height);
        Piece {
            kind,
            assumed: leg.assumed,
            stratum: edges.iter().filter(|edge| middle >= **edge).count(),
            ends: [point(from), point(to)],
            along: [at(from, start, b.along), at(to, start, b.along)],
            heights: [at(from, a.height, b.height), at(to, a.height, b.height)],
        }
    };
    cuts.windows(2).map(piece).collect()
}
