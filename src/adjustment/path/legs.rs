//! Points and legs of a path.

use super::escape::{EscapeFound, escape_run};
use crate::adjustment::Adjusted;
use crate::adjustment::network::{Course, Layout, Network, Trail, Visit};
use crate::adjustment::observation::Kind;
use crate::maths::quantity::norm;
use crate::survey::Survey;
use crate::survey::leg_support::{LegSupport, leg_support};
use crate::survey::rows::Gap;

/// A point of a path: one visit to an anchor.
#[derive(Clone, Copy, Debug)]
pub struct Point {
    /// Its node.
    pub node: usize,
    /// The row of the anchors.
    pub row: usize,
    /// The section it belongs to, from 1.
    pub section: usize,
    /// Whether it lies on the escape run.
    pub escape: bool,
}

/// How a leg's geometry is known, which decides how its noise bends a metric.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LegClass {
    /// Tape and direction.
    Measured,
    /// Tape along a plumb line whose offset is stated, not measured.
    Plumb,
    /// Tape that barely exceeds the rise: its horizontal length is matched already.
    Steep,
    /// Nobody measured it.
    Unmeasured,
}

/// A straight piece between two points.
#[derive(Clone, Copy, Debug)]
#[expect(clippy::struct_excessive_bools, reason = "each is a separate fact of the survey")]
pub struct Leg {
    /// The point it starts at, by index in the path.
    pub from: usize,
    /// The point it ends at.
    pub to: usize,
    /// The measured line, where there is one.
    pub line: Option<usize>,
    /// The section it belongs to.
    pub section: usize,
    /// Whether it lies on the escape run.
    pub escape: bool,
    /// Whether its length and climb count.
    pub counted: bool,
    /// How its geometry is known.
    pub class: LegClass,
    /// Whether its direction in plan hangs on those of other legs, by turns or for want of any.
    pub turned: bool,
    /// Whether its direction in plan was carried on from another leg, for want of any.
    pub assumed: bool,
    /// The gap it crosses.
    pub gap: Option<Gap>,
    /// What it lies on.
    pub support: LegSupport,
}

/// The layout of one thread's path.
#[derive(Clone, Debug)]
#[expect(clippy::struct_excessive_bools, reason = "each is a separate fact of the survey")]
pub struct Path {
    /// The trail.
    pub trail: usize,
    /// Its points, in walking order.
    pub points: Vec<Point>,
    /// Its legs, in walking order; those of the escape run come first.
    pub legs: Vec<Leg>,
    /// How the end of the escape run was found.
    pub escape: EscapeFound,
    /// What is known of its plan.
    pub layout: Layout,
    /// Whether it hangs together, so that its ends can be compared.
    pub whole: bool,
    /// Whether some leg does not count: totals are then minimum values.
    pub has_gap: bool,
    /// Whether some height may be greater than was read.
    pub out_of_reach: bool,
    /// Whether it may go on beyond its last point.
    pub cut_short: bool,
    /// Whether its part of the network settled; if not, nothing is known of its geometry.
    pub settled: bool,
}

/// Where the points of a path lie, in one draw or in the estimate.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Geometry {
    /// East, north and up of each point, metres.
    pub points: Vec<[f64; 3]>,
    /// Height above ground of each point, metres.
    pub heights: Vec<f64>,
}

impl Geometry {
    /// The adjusted geometry of `path`.
    pub fn adjusted(path: &Path, adjusted: &Adjusted) -> Self {
        Self {
            points: path.points.iter().map(|point| adjusted.positions[point.node]).collect(),
            heights: path.points.iter().map(|point| adjusted.heights[point.node].height).collect(),
        }
    }

    /// The geometry of `path` where nothing is known of it.
    pub fn unknown(path: &Path) -> Self {
        let count = path.points.len();
        Self { points: vec![[f64::NAN; 3]; count], heights: vec![f64::NAN; count] }
    }

    /// The vector along a leg, metres.
    pub fn along(&self, leg: &Leg) -> [f64; 3] {
        let (a, b) = (self.points[leg.from], self.points[leg.to]);
        [b[0] - a[0], b[1] - a[1], b[2] - a[2]]
    }

    /// The length of a leg, metres.
    pub fn length(&self, leg: &Leg) -> f64 {
        norm(self.along(leg))
    }
}

/// The paths of all trails, in order.
pub fn paths(survey: &Survey, network: &Network, adjusted: &Adjusted) -> Vec<Path> {
    let steep = steep_lines(network, adjusted);
    let of_trail = |(at, trail)| path(survey, network, adjusted, (at, trail), &steep);
    network.trails.iter().enumerate().map(of_trail).collect()
}

fn steep_lines(network: &Network, adjusted: &Adjusted) -> Vec<bool> {
    let mut steep = vec![false; network.lines.len()];
    for residual in adjusted.residuals.iter().filter(|r| r.kind == Kind::Steep) {
        if let Some(line) = residual.line {
            steep[line] = true;
        }
    }
    steep
}

fn path(
    survey: &Survey,
    network: &Network,
    adjusted: &Adjusted,
    (at, trail): (usize, &Trail),
    steep: &[bool],
) -> Path {
    let visits = network.visits_of(trail);
    let mut points: Vec<Point> = Vec::with_capacity(visits.len());
    let mut legs: Vec<Leg> = Vec::with_capacity(visits.len());
    let mut section = 1;
    for visit in visits {
        let row = &survey.anchors[visit.row];
        points.push(Point { node: visit.node, row: visit.row, section, escape: false });
        legs.extend(leg(survey, adjusted, (network, steep), visit, &points));
        if row.seen && points.len() > 1 {
            section += 1;
        }
    }
    let listed = trail.listed.map(|at| &survey.trails[at]);
    let root = |point: &Point| network.tree[point.node].root;
    let whole = points.windows(2).all(|pair| root(&pair[0]) == root(&pair[1]));
    let rows = || points.iter().map(|point| &survey.anchors[point.row]);
    let mut path = Path {
        trail: at,
        escape: EscapeFound::None,
        layout: trail.layout,
        whole,
        has_gap: legs.iter().any(|leg| !leg.counted),
        out_of_reach: rows().any(|row| row.height_at_least)
            || legs.iter().any(|leg| leg.gap == Some(Gap::OutOfReach)),
        cut_short: listed.and_then(|row| row.ending).is_some_and(|ending| ending.cut_short()),
        settled: !adjusted.unsettled.iter().any(|part| part.trails.contains(&at)),
        points,
        legs,
    };
    let geometry = Geometry::adjusted(&path, adjusted);
    escape_run(&mut path, survey, listed, &geometry);
    path
}

/// The leg to the last of the points, which `visit` made.
fn leg(
    survey: &Survey,
    adjusted: &Adjusted,
    (network, steep): (&Network, &[bool]),
    visit: &Visit,
    points: &[Point],
) -> Option<Leg> {
    let to = points.len() - 1;
    let from = visit.from.and_then(|node| last_visit(&points[..to], node))?;
    let class = class(network, visit.line, steep);
    let (line, gap, section) = (visit.line, survey.anchors[visit.row].gap, points[to].section);
    let counted = gap.is_none() && class != LegClass::Unmeasured;
    let support = support(survey, adjusted, [&points[from], &points[to]]);
    let is = |what: fn(Course) -> bool| line.is_some_and(|line| what(network.lines[line].course));
    let (turned, assumed) = (is(Course::hangs_on_others), is(Course::is_assumed));
    let escape = false;
    Some(Leg { from, to, line, section, escape, counted, class, turned, assumed, gap, support })
}

/// The last point before the end that stands at `node`.
fn last_visit(points: &[Point], node: usize) -> Option<usize> {
    points.iter().rposition(|point| point.node == node)
}

fn class(network: &Network, line: Option<usize>, steep: &[bool]) -> LegClass {
    match line {
        None => LegClass::Unmeasured,
        Some(line) if network.lines[line].course == Course::Plumb => LegClass::Plumb,
        Some(line) if steep[line] => LegClass::Steep,
        Some(_) => LegClass::Measured,
    }
}

/// What the leg between two points lies on.
fn support(survey: &Survey, adjusted: &Adjusted, ends: [&Point; 2]) -> LegSupport {
    let rows = ends.map(|point| &survey.anchors[point.row]);
    leg_support(survey, rows, ends.map(|point| adjusted.heights[point.node].height))
}
