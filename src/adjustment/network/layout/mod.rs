//! What is known of a trail's plan: its shape, its orientation and its place, each by itself.
//!
//! Turning angles give the shape and no north; positions give the north where they lie far enough
//! apart for their spread; one position gives the place.

use super::loops::along_tree;
use super::{Course, Known, Line, Network, Trail, Turned};
use crate::maths::quantity::Turn;
use crate::survey::settings::Precision;
use std::collections::BTreeMap;

/// How a thing is known, the surest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Certainty {
    /// By its own readings.
    Measured,
    /// By others that bear on it.
    Estimated,
    /// Not at all.
    Unknown,
}

impl Certainty {
    /// The word for a reader.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::Estimated => "estimated",
            Self::Unknown => "unknown",
        }
    }
}

/// What is known of a trail's plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Layout {
    /// How each leg lies to the leg before; estimated where some directions were carried on.
    pub shape: Certainty,
    /// Where north is; estimated where positions turn the trail.
    pub orientation: Certainty,
    /// Where it lies in the survey's frame.
    pub place: Certainty,
}

impl Layout {
    /// Everything by its own readings.
    pub const MEASURED: Self = Self {
        shape: Certainty::Measured,
        orientation: Certainty::Measured,
        place: Certainty::Measured,
    };

    /// Whether there is a plan at all.
    pub fn has_plan(&self) -> bool {
        self.shape != Certainty::Unknown
    }

    /// Whether it lies in the survey's frame.
    pub fn is_placed(&self) -> bool {
        self.has_plan() && self.place != Certainty::Unknown
    }

    /// Whether its plan has a north.
    pub fn is_oriented(&self) -> bool {
        self.has_plan() && self.orientation != Certainty::Unknown
    }
}

/// A position that the thread cannot reach from others of its trail.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfReach {
    /// Its node.
    pub node: usize,
    /// The node of the position from which it lies too far.
    pub from: usize,
    /// The distance between both, metres.
    pub apart: f64,
    /// The thread between both, metres.
    pub thread: f64,
}

/// Positions orient a trail where they turn it to within this, degrees: net bearings then have
/// intervals of less than 60° to either side.
const COARSEST_DEG: f64 = 30.0;
/// No position is known better than this, metres.
const SHARPEST_M: f64 = 1e-3;
/// A position lies too far where this many standard deviations do not bring it near enough.
const TOO_FAR: f64 = 4.0;
/// How many earlier positions each is compared with.
const COMPARED: usize = 20;

/// Lets go of the positions that contradict the thread, of those too coarse to turn their tree, and
/// of all but one of a trail that has no plan to be laid on them.
pub(super) fn let_go(network: &mut Network, precision: &Precision) {
    for known in network.nodes.iter_mut().filter_map(|node| node.known.as_mut()) {
        known.sd.get_or_insert(precision.control_m);
    }
    let trees = free_trees(network);
    network.out_of_reach = trees.values().flat_map(|tree| reach(network, tree)).collect();
    network.too_coarse = trees.values().flat_map(|tree| coarse(network, tree)).collect();
    let far = network.out_of_reach.iter().map(|position| position.node);
    let coarse = network.too_coarse.iter().copied();
    for node in far.chain(coarse).chain(without_plan(network)).collect::<Vec<_>>() {
        let known = network.nodes[node].known;
        network.nodes[node].known = known.map(|known| Known { in_plan: false, ..known });
    }
}

/// The positions, but the first, of each trail that has a profile only.
fn without_plan(network: &Network) -> Vec<usize> {
    let positions = |trail: &Trail| {
        let nodes = network.visits_of(trail).iter().map(|visit| visit.node);
        nodes.filter(|&node| network.nodes[node].known.is_some_and(|known| known.in_plan)).skip(1)
    };
    let profiles = network.trails.iter().filter(|trail| !trail.layout.has_plan());
    profiles.flat_map(positions).collect()
}

/// Decides how each tree is turned and what is known of every trail.
pub(super) fn lay_out(network: &mut Network) {
    network.turned = turned(network);
    let mut placed = vec![false; network.nodes.len()];
    for (node, entered) in network.nodes.iter().enumerate() {
        placed[network.tree[node].root] |= entered.known.is_some_and(|known| known.in_plan);
    }
    for trail in 0..network.trails.len() {
        network.trails[trail].layout = layout(network, trail, &placed);
    }
}

/// A tree in which a direction is free and no needle was read along it.
#[derive(Clone, Debug, Default)]
struct FreeTree {
    /// Its nodes whose position is known, in walking order.
    positions: Vec<usize>,
    /// Whether a needle was read from one of its nodes to another, along a tie.
    by_tie: bool,
}

/// All of them, by root.
fn free_trees(network: &Network) -> BTreeMap<usize, FreeTree> {
    let mut free: BTreeMap<usize, FreeTree> = BTreeMap::new();
    for line in network.lines.iter().filter(|line| line.course == Course::Free) {
        free.insert(network.tree[line.from].root, FreeTree::default());
    }
    if free.is_empty() {
        return free;
    }
    for (at, line) in network.lines.iter().enumerate().filter(|(_, line)| line.needle().is_some()) {
        let [a, b] = [line.from, line.to].map(|node| network.tree[node].root);
        if a == b && network.in_tree(at) {
            free.remove(&a);
        } else if a == b {
            free.entry(a).and_modify(|tree| tree.by_tie = true);
        }
    }
    for (node, entered) in network.nodes.iter().enumerate() {
        if entered.known.is_some_and(|known| known.in_plan) {
            free.entry(network.tree[node].root).and_modify(|tree| tree.positions.push(node));
        }
    }
    free
}

/// How every tree is turned that no needle along it orients.
pub(super) fn turned(network: &Network) -> BTreeMap<usize, Turned> {
    let of = |(root, tree): (usize, FreeTree)| {
        let turned = match (tree.by_tie, tree.positions.len()) {
            (true, _) => Turned::OntoTies,
            (false, 0 | 1) => Turned::Freely,
            (false, _) => Turned::OntoPositions,
        };
        (root, turned)
    };
    free_trees(network).into_iter().map(of).collect()
}

/// The positions of a tree that lie further from others than the thread between them is long. Of two
/// that contradict each other the one that contradicts more of them is let go, else the later one.
fn reach(network: &Network, tree: &FreeTree) -> Vec<OutOfReach> {
    let nodes = &tree.positions;
    let mut too_far: Vec<([usize; 2], OutOfReach)> = Vec::new();
    for at in 0..nodes.len() {
        let earlier = at.saturating_sub(COMPARED)..at;
        too_far.extend(earlier.filter_map(|other| {
            contradiction(network, [nodes[other], nodes[at]]).map(|far| ([other, at], far))
        }));
    }
    let mut found = Vec::new();
    while !too_far.is_empty() {
        let count = |at: usize| too_far.iter().filter(|(pair, _)| pair.contains(&at)).count();
        let worst = (0..nodes.len()).max_by_key(|&at| count(at)).unwrap_or_default();
        let of_worst = too_far.iter().find(|(pair, _)| pair.contains(&worst));
        found.extend(of_worst.map(|&([a, b], far)| OutOfReach {
            node: nodes[worst],
            from: nodes[a + b - worst],
            ..far
        }));
        too_far.retain(|(pair, _)| !pair.contains(&worst));
    }
    found
}

/// Two positions that lie further apart than the thread from one to the other is long.
fn contradiction(network: &Network, [from, node]: [usize; 2]) -> Option<OutOfReach> {
    let steps = along_tree(network, from, node)?;
    let thread: f64 = steps.iter().filter_map(|step| network.lines[step.line].tape).sum();
    let [(a, v), (b, w)] = [from, node].map(|node| spread(network, node));
    let apart = (a[0] - b[0]).hypot(a[1] - b[1]);
    (apart > thread + TOO_FAR * (v + w).sqrt()).then_some(OutOfReach { node, from, apart, thread })
}

/// The known position of a node, and its variance on either axis, metres².
fn spread(network: &Network, node: usize) -> ([f64; 2], f64) {
    let known = network.nodes[node].known;
    let sd = known.and_then(|known| known.sd).unwrap_or_default().max(SHARPEST_M);
    (known.map_or([0.0; 2], |known| [known.east, known.north]), sd * sd)
}

/// The positions of a tree but the first, where they are too coarse to turn it.
///
/// ```text
/// σ(rotation) = 1 / √( Σ |q − q̄|² / σ² )          q̄ the weighted mean of the positions q
/// ```
fn coarse(network: &Network, tree: &FreeTree) -> Vec<usize> {
    let spread = |&node: &usize| spread(network, node);
    let all: Vec<([f64; 2], f64)> = tree.positions.iter().map(spread).collect();
    let weight: f64 = all.iter().map(|(_, variance)| variance.recip()).sum();
    let mean = [0, 1].map(|k| all.iter().map(|(at, v)| at[k] / v).sum::<f64>() / weight);
    let squares =
        all.iter().map(|(at, v)| ((at[0] - mean[0]).powi(2) + (at[1] - mean[1]).powi(2)) / v);
    let least = Turn::from_degrees(COARSEST_DEG).to_radians().powi(-2);
    let too_coarse = squares.sum::<f64>() < least;
    let others = tree.positions.iter().skip(1).copied();
    others.filter(|_| too_coarse).collect()
}

/// What is known of a trail; `placed` tells for each root whether a position lies on its tree.
fn layout(network: &Network, at: usize, placed: &[bool]) -> Layout {
    let visits = network.visits_of(&network.trails[at]);
    let is_placed = visits.first().is_some_and(|visit| placed[network.tree[visit.node].root]);
    let place = if is_placed { Certainty::Measured } else { Certainty::Unknown };
    let lines = || visits.iter().filter_map(|visit| visit.line.map(|at| &network.lines[at]));
    if lines().any(|line| line.course == Course::Profile) {
        return Layout { shape: Certainty::Unknown, orientation: Certainty::Unknown, place };
    }
    let assumed = lines().any(|line| line.course.is_assumed());
    let shape = if assumed { Certainty::Estimated } else { Certainty::Measured };
    let turned = |line: &Line| match network.turned.get(&network.tree[line.from].root) {
        Some(Turned::OntoTies) => Certainty::Measured,
        Some(Turned::OntoPositions) => Certainty::Estimated,
        Some(Turned::Freely) | None => Certainty::Unknown,
    };
    let free = lines().filter(|line| line.course == Course::Free).map(turned);
    let orientation = free.max().unwrap_or(Certainty::Measured);
    Layout { shape, orientation, place }
}

#[cfg(test)]
mod tests;
