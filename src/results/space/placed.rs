//! Which trails of an animal lie in the survey's frame, and why others do not.

use crate::adjustment::network::{Certainty, Network};
use crate::adjustment::path::Path;
use crate::results::Analysis;
use std::collections::{BTreeMap, BTreeSet};

/// A trail whose plan, north and place are known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placed {
    /// The trail.
    pub trail: usize,
    /// Its row of the trails table.
    pub listed: usize,
    /// Those of its points that hang on a known position; the later piece of a trail in two may not.
    pub points: Vec<usize>,
}

/// Why a trail does not lie in the survey's frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unplaced {
    /// Its adjustment did not settle.
    Unsettled,
    /// It has a profile only.
    Plan,
    /// Its turns have no north.
    North,
    /// No position is known on it.
    Place,
}

impl Unplaced {
    /// The words after a number of trails.
    pub fn words(self, count: usize) -> &'static str {
        match (self, count) {
            (Self::Unsettled, 1) => "trail that did not settle",
            (Self::Unsettled, _) => "trails that did not settle",
            (Self::Plan, 1) => "trail without a plan",
            (Self::Plan, _) => "trails without a plan",
            (Self::North, 1) => "trail without a north",
            (Self::North, _) => "trails without a north",
            (Self::Place, 1) => "trail without a known place",
            (Self::Place, _) => "trails without a known place",
        }
    }
}

/// The roots of the trees on which a position is known.
pub(super) fn placed_roots(network: &Network) -> BTreeSet<usize> {
    let known = network.nodes.iter().enumerate();
    let known = known.filter(|(_, node)| node.known.is_some_and(|known| known.in_plan));
    known.map(|(node, _)| network.tree[node].root).collect()
}

/// The trails of an animal, by their rows, that lie in the survey's frame; and how many do not, by why.
pub(super) fn sorted(
    analysis: &Analysis,
    rows: &[usize],
    roots: &BTreeSet<usize>,
) -> (Vec<Placed>, BTreeMap<Unplaced, usize>) {
    let (mut placed, mut unplaced) = (Vec::new(), BTreeMap::new());
    for path in analysis.shown_paths() {
        let Some(listed) = analysis.listed(path).filter(|row| rows.contains(row)) else { continue };
        if let Some(why) = why_not(path) {
            *unplaced.entry(why).or_default() += 1;
            continue;
        }
        let root = |point: usize| analysis.network.tree[path.points[point].node].root;
        let points = 0..path.points.len();
        let points = points.filter(|&point| roots.contains(&root(point))).collect();
        placed.push(Placed { trail: path.trail, listed, points });
    }
    (placed, unplaced)
}

fn why_not(path: &Path) -> Option<Unplaced> {
    if !path.settled {
        Some(Unplaced::Unsettled)
    } else if !path.layout.has_plan() {
        Some(Unplaced::Plan)
    } else if path.layout.place == Certainty::Unknown {
        Some(Unplaced::Place)
    } else if !path.layout.is_oriented() {
        Some(Unplaced::North)
    } else {
        None
    }
}

impl Placed {
    /// Its positions in plan, metres east and north in the survey's frame.
    pub fn positions(&self, analysis: &Analysis) -> Vec<[f64; 2]> {
        self.points.iter().filter_map(|&point| self.position(analysis, point)).collect()
    }

    /// Where it starts; `None` where that piece has no place.
    pub(super) fn release(&self, analysis: &Analysis) -> Option<[f64; 2]> {
        self.points.first().filter(|&&point| point == 0)?;
        self.position(analysis, 0)
    }

    /// Where the thread ends; `None` where that piece has no place.
    pub(super) fn end(&self, analysis: &Analysis) -> Option<[f64; 2]> {
        let last = analysis.paths[self.trail].points.len().checked_sub(1)?;
        self.points.last().filter(|&&point| point == last)?;
        self.position(analysis, last)
    }

    fn position(&self, analysis: &Analysis, point: usize) -> Option<[f64; 2]> {
        let node = analysis.paths[self.trail].points.get(point)?.node;
        let [east, north, _] = *analysis.adjusted.positions.get(node)?;
        (east.is_finite() && north.is_finite()).then_some([east, north])
    }
}
