//! The survey as a network: anchors and controls joined by measured lines.
//!
//! In: a [`Survey`](crate::survey::Survey). Out: a [`Network`] in the local frame, with bearings
//! made true, the leg order of each trail, the connected parts, and a spanning tree along the
//! walking order from which loops and the raw traverse follow.
//! Assumes nothing of the survey's health: a row that names something unknown adds no line; the
//! rules of `results/rules` say so. Angles are true bearings in radians, lengths metres, since the
//! solver reads them. Left out: precisions (`adjustment`) and the ground, which the traverse is
//! given as a function.

pub mod alone;
mod build;
mod course;
mod frame;
mod layout;
pub mod loops;
pub mod traverse;
mod tree;
pub mod trunks;
mod turning;
pub mod undirected;
mod upright;
#[cfg(test)]
pub(crate) mod written;

use crate::maths::earth::frame::Frame;
use crate::maths::quantity::wrap_half_turn;
use crate::survey::names::Name;
use crate::survey::rows::HeightMethod;
use std::collections::BTreeMap;
use std::ops::Range;

pub use build::build;
pub use frame::known_plan;
pub use frame::{DeclinationSource, datum, stated_ground};
pub use layout::{Certainty, Layout, OutOfReach};

/// A marked point: an anchor of one trail, or a control that anchors are named after.
#[derive(Clone, Debug)]
pub struct Node {
    /// Its name in the survey.
    pub name: Name,
    /// The trail whose anchor it is; `None` for a control, which trails may share.
    pub trail: Option<usize>,
    /// The row of the anchors that names it first.
    pub row: Option<usize>,
    /// Where it is known to be.
    pub known: Option<Known>,
    /// Whether its plan position is held, since nothing else places its part of the network.
    pub plan_held: bool,
    /// Whether its elevation is held, since nothing else places its part of the network.
    pub elevation_held: bool,
}

/// What is known of a node's position beforehand, in the local frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Known {
    /// Metres east of the origin.
    pub east: f64,
    /// Metres north of the origin.
    pub north: f64,
    /// One standard deviation on each horizontal axis; where none was stated, that of any control.
    pub sd: Option<f64>,
    /// Elevation of the ground there and its standard deviation, metres above the origin's.
    pub elevation: Option<(f64, Option<f64>)>,
    /// Whether the horizontal position is stated at all; a bench mark may have an elevation only.
    pub in_plan: bool,
}

/// A height above ground as read.
#[derive(Clone, Copy, Debug)]
pub struct HeightReading {
    /// The node it was read at.
    pub node: usize,
    /// The row of the anchors.
    pub row: usize,
    /// Metres above ground.
    pub height: f64,
    /// How it was measured.
    pub by: Option<HeightMethod>,
    /// By whom, where that was recorded.
    pub observer: Option<Name>,
}

/// Where a line was written down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Written {
    /// A row of the anchors, by index.
    Anchor(usize),
    /// A row of the ties, by index.
    Tie(usize),
}

/// How a line's direction in plan is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Course {
    /// By the needle, forward or back.
    Needle,
    /// By its turn from the line before, whose index this is.
    Turn(usize),
    /// By the turn of the line behind, whose index this is.
    TurnBack(usize),
    /// Carried straight on from the line before, for want of any direction.
    StraightOn(usize),
    /// The same from the line behind.
    StraightBack(usize),
    /// It has no direction: it stands plumb.
    Plumb,
    /// Unknown; the trail is laid out northward for its profile alone.
    Profile,
    /// Unknown, and others hang on it: they know the trail's shape up to a rotation.
    Free,
    /// Not needed: the line checks others by its length or rise alone.
    Open,
}

impl Course {
    /// Whether it was carried on from another line for want of any direction.
    pub fn is_assumed(self) -> bool {
        matches!(self, Self::StraightOn(_) | Self::StraightBack(_))
    }

    /// Whether it hangs on the directions of other lines, whose errors add up along the trail.
    pub fn hangs_on_others(self) -> bool {
        !matches!(self, Self::Needle | Self::Plumb | Self::Profile | Self::Open)
    }

    /// The same with `line` for the line that it names; free where there is none.
    fn of_line(self, line: impl Fn(usize) -> Option<usize>) -> Self {
        let named =
            |other: usize, course: fn(usize) -> Self| line(other).map_or(Self::Free, course);
        match self {
            Self::Turn(before) => named(before, Self::Turn),
            Self::TurnBack(behind) => named(behind, Self::TurnBack),
            Self::StraightOn(before) => named(before, Self::StraightOn),
            Self::StraightBack(behind) => named(behind, Self::StraightBack),
            other => other,
        }
    }
}

/// A measured line between two nodes: a leg of a trail, or a tie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Where it starts.
    pub from: usize,
    /// Where it ends.
    pub to: usize,
    /// The trail that it was written down for.
    pub trail: usize,
    /// Where it was written down.
    pub written: Written,
    /// Tape, metres, corrected.
    pub tape: Option<f64>,
    /// True bearing by the needle read forward, radians.
    pub bearing: Option<f64>,
    /// Whether it was read as one of the 16 points.
    pub named_point: bool,
    /// True bearing by the needle read back, turned about to point forward, radians.
    pub back_bearing: Option<f64>,
    /// Turn from the line before, radians, right positive, ...
    pub turn: Option<f64>,
    /// ... and that line.
    pub turned_from: Option<usize>,
    /// Incline, radians, up positive.
    pub incline: Option<f64>,
    /// Rise of `to` over `from`, metres.
    pub rise: Option<f64>,
    /// How its direction is known.
    pub course: Course,
    /// Who read it, where that was recorded.
    pub observer: Option<Name>,
}

impl Line {
    /// The direction by the needle: the mean of both readings where there are two.
    pub fn needle(&self) -> Option<f64> {
        match (self.bearing, self.back_bearing) {
            (Some(fore), Some(back)) => {
                let half = wrap_half_turn(back - fore) / 2.0;
                Some(fore + half)
            }
            (fore, back) => fore.or(back),
        }
    }
}

/// One row of a trail in walking order: how the thread came to the node.
#[derive(Clone, Copy, Debug)]
pub struct Visit {
    /// The row of the anchors.
    pub row: usize,
    /// The node reached.
    pub node: usize,
    /// The node it was reached from; `None` at the release.
    pub from: Option<usize>,
    /// The measured line of this leg; `None` where nobody measured.
    pub line: Option<usize>,
}

/// One thread.
#[derive(Clone, Debug)]
pub struct Trail {
    /// Its name.
    pub name: Name,
    /// The row of the trails table, by index.
    pub listed: Option<usize>,
    /// Its visits, in walking order.
    pub visits: Range<usize>,
    /// What is known of its plan.
    pub layout: Layout,
    /// Standard deviation of its turns about straight on, radians: what a direction that was carried
    /// on is known by.
    pub turn_spread: f64,
    /// Added to every needle reading to make it true, radians, and where that came from.
    pub declination: (f64, DeclinationSource),
}

/// A connected part of the network.
#[derive(Clone, Debug)]
pub struct Component {
    /// Its nodes, ascending.
    pub nodes: Vec<usize>,
    /// Its lines, ascending.
    pub lines: Vec<usize>,
    /// Its trails, ascending.
    pub trails: Vec<usize>,
    /// Whether some node's position is known, so that it stands in the survey's frame.
    pub placed: bool,
}

/// How each node hangs on the tree that is walked first: by the legs, in order.
#[derive(Clone, Copy, Debug, Default)]
pub struct Branch {
    /// The line by which it hangs; `None` at a root.
    pub line: Option<usize>,
    /// How many lines lie between it and its root.
    pub depth: usize,
    /// The root of its tree.
    pub root: usize,
}

/// How a tree that no needle along it orients is turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turned {
    /// Onto its known positions.
    OntoPositions,
    /// Onto the bearings of its ties, and its known positions where it has any.
    OntoTies,
    /// Nothing tells: its farthest point is laid due north of its root.
    Freely,
}

/// Everything that is measured, in one frame.
#[derive(Clone, Debug, Default)]
pub struct Network {
    /// The tangent plane, where the survey has a position on the globe.
    pub frame: Option<Frame>,
    /// Declination of the frame as a whole, for the record: that of the first trail, radians.
    pub convergence: Option<f64>,
    /// All nodes; those of one trail follow each other in walking order.
    pub nodes: Vec<Node>,
    /// All heights read, by node.
    pub heights: Vec<HeightReading>,
    /// All lines: legs in walking order, then ties.
    pub lines: Vec<Line>,
    /// All visits, trail by trail.
    pub visits: Vec<Visit>,
    /// All trails, by first mention.
    pub trails: Vec<Trail>,
    /// For each node the heights read at it, as a range of `heights` sorted by node.
    pub first_height: Vec<usize>,
    /// The connected parts, by first node.
    pub components: Vec<Component>,
    /// How each node hangs on the tree.
    pub tree: Vec<Branch>,
    /// The nodes in an order in which every node follows the one it hangs on.
    pub order: Vec<usize>,
    /// How the tree of each root is turned; needles orient those that are not listed.
    pub turned: BTreeMap<usize, Turned>,
    /// The positions that are not used, since the thread cannot reach them.
    pub out_of_reach: Vec<OutOfReach>,
    /// The positions that are not used, since they lie too near each other to turn their trail.
    pub too_coarse: Vec<usize>,
}

impl Network {
    /// The heights read at `node`.
    pub fn heights_at(&self, node: usize) -> &[HeightReading] {
        let range = |n: usize| self.first_height.get(n).copied().unwrap_or(self.heights.len());
        self.heights.get(range(node)..range(node + 1)).unwrap_or(&[])
    }

    /// The first height read at `node`, metres above ground.
    pub fn height_at(&self, node: usize) -> Option<f64> {
        self.heights_at(node).first().map(|reading| reading.height)
    }

    /// The visits of a trail, in walking order.
    pub fn visits_of(&self, trail: &Trail) -> &[Visit] {
        self.visits.get(trail.visits.clone()).unwrap_or(&[])
    }

    /// The network as it would be with `line` in the place of the line at `at`.
    #[must_use]
    pub fn with_line(&self, at: usize, line: Line) -> Self {
        let mut changed = self.clone();
        let moved = [line.from, line.to] != [self.lines[at].from, self.lines[at].to];
        changed.lines[at] = line;
        if moved {
            tree::grow(&mut changed);
            changed.turned = layout::turned(&changed);
        }
        changed
    }

    /// The network as it would be with `metres` in the place of the height at `at`.
    #[must_use]
    pub fn with_height(&self, at: usize, metres: f64) -> Self {
        let mut changed = self.clone();
        changed.heights[at].height = metres;
        changed
    }

    /// Whether a line hangs its far node on the tree.
    pub fn in_tree(&self, line: usize) -> bool {
        let Some(l) = self.lines.get(line) else { return false };
        [l.from, l.to].iter().any(|&node| self.tree[node].line == Some(line))
    }
}
