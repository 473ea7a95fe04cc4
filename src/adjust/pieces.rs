//! A start near the solution: the network cut into pieces, each solved by itself.
//!
//! A few awkward legs hold up a long network when every step is taken by the whole. Where no line
//! passes over an anchor, what lies before and after it is joined by that anchor alone: each side
//! then has its shape nearly by itself, and the whole has little left to settle.

use super::observation::Kind;
use super::solve::Problem;
use super::weights::{Model, ModelLine, ModelPoint, ModelTurn};
use crate::ground::Ground;
use nalgebra::Vector3;

/// A piece holds at least so many legs, ...
const LEAST_LEGS: usize = 150;
/// ... and is solved with at least so many more on either side, whose own shape is thrown away:
/// what their heights say of the piece fades from leg to leg.
const MARGIN_LEGS: usize = 12;

/// The positions from which the whole is best solved: every piece solved by itself, laid end to
/// end. A piece that does not settle keeps its shape at `start`.
pub(super) fn solved_by_pieces(
    model: &Model,
    ground: &Ground,
    start: Vec<Vector3<f64>>,
) -> Vec<Vector3<f64>> {
    let pieces = pieces(model);
    if pieces.len() < 2 {
        return start;
    }
    let cutter = Cutter::new(model);
    let mut placed = start.clone();
    for piece in pieces {
        let (part, at_start) = (cutter.part(&piece), &start[piece.from..=piece.to]);
        let solved = Problem::new(&part, ground, at_start.len()).solve(at_start.to_vec());
        let solved = solved.as_ref().map_or(at_start, |solution| &solution.positions);
        let solved = &solved[piece.first - piece.from..=piece.last - piece.from];
        // Elevations are known by themselves where heights were read; the plan hangs on.
        let mut shift = placed[piece.first] - solved[0];
        if !part.held[0][1] {
            shift.z = 0.0;
        }
        for (placed, solved) in placed[piece.first..=piece.last].iter_mut().zip(solved) {
            *placed = solved + shift;
        }
    }
    placed
}

/// A piece between two nodes, `first` and `last`, and the nodes `from` and `to` between which it
/// is solved. No line passes over any of them.
#[derive(Clone, Copy, Debug)]
struct Piece {
    from: usize,
    first: usize,
    last: usize,
    to: usize,
}

/// The pieces in walking order; each begins at the last node of the one before.
fn pieces(model: &Model) -> Vec<Piece> {
    let end = model.held.len() - 1;
    let over = lines_over(model);
    let cuts: Vec<usize> = (0..=end).filter(|&node| over[node] == 0 || node == end).collect();
    let at_or_after =
        |node: usize| cuts[cuts.partition_point(|&cut| cut < node).min(cuts.len() - 1)];
    let at_or_before = |node: usize| cuts[cuts.partition_point(|&cut| cut <= node).max(1) - 1];
    let mut pieces = Vec::new();
    let mut first = 0;
    while first < end {
        let last = at_or_after(first + LEAST_LEGS);
        let from = at_or_before(first.saturating_sub(MARGIN_LEGS));
        pieces.push(Piece { from, first, last, to: at_or_after(last + MARGIN_LEGS) });
        first = last;
    }
    pieces
}

/// How many lines, and turns from one line to the next, pass over each node in walking order.
fn lines_over(model: &Model) -> Vec<i32> {
    let mut change = vec![0; model.held.len() + 1];
    let mut pass = |ends: &[usize]| {
        let (Some(&first), Some(&last)) = (ends.iter().min(), ends.iter().max()) else { return };
        if last > first {
            change[first + 1] += 1;
            change[last] -= 1;
        }
    };
    for line in &model.lines {
        pass(&[line.from, line.to]);
    }
    for turn in &model.turns {
        let [a, b] = [turn.before, turn.line].map(|line| model.lines[line]);
        pass(&[a.from, a.to, b.from, b.to]);
    }
    let mut over = 0;
    for change in &mut change {
        over += *change;
        *change = over;
    }
    change
}

/// Cuts the models of pieces out of that of the whole.
struct Cutter<'a> {
    model: &'a Model,
    /// The lines by their first node in walking order.
    lines: ByNode,
    points: ByNode,
    /// The turn read at each line.
    turn: Vec<Option<usize>>,
}

impl<'a> Cutter<'a> {
    fn new(model: &'a Model) -> Self {
        let nodes = model.held.len();
        let mut turn = vec![None; model.lines.len()];
        for (at, read) in model.turns.iter().enumerate() {
            turn[read.line] = Some(at);
        }
        Self {
            model,
            lines: ByNode::of(nodes, model.lines.iter().map(|line| line.from.min(line.to))),
            points: ByNode::of(nodes, model.points.iter().map(|point| point.node)),
            turn,
        }
    }

    /// What was read between the nodes `from` and `to`, hung on the first of them.
    fn part(&self, &Piece { from, to, .. }: &Piece) -> Model {
        let model = self.model;
        let mut part = Model { held: vec![[false, false]; to - from + 1], ..Model::default() };
        part.held[0] = [true, true];
        let mut lines = self.lines.between(from, to).to_vec();
        lines.sort_unstable();
        for &line in &lines {
            let ModelLine { from: a, to: b, first, end } = model.lines[line];
            let start = part.readings.len();
            part.readings.extend_from_slice(&model.readings[first..end]);
            let end = part.readings.len();
            part.lines.push(ModelLine { from: a - from, to: b - from, first: start, end });
        }
        let local = |line: usize| lines.binary_search(&line).ok();
        for &line in &lines {
            let Some(read) = self.turn[line].map(|turn| &model.turns[turn]) else { continue };
            if let Some((line, before)) = local(line).zip(local(read.before)) {
                part.turns.push(ModelTurn { line, before, reading: read.reading });
            }
        }
        for &point in self.points.between(from, to + 1) {
            let ModelPoint { node, reading } = model.points[point];
            if reading.kind == Kind::Height {
                part.points.push(ModelPoint { node: node - from, reading });
                part.held[0][1] = false;
            }
        }
        part
    }
}

/// Things sorted by the node they stand at.
struct ByNode {
    starts: Vec<usize>,
    things: Vec<usize>,
}

impl ByNode {
    fn of(nodes: usize, at: impl Iterator<Item = usize>) -> Self {
        let mut things: Vec<(usize, usize)> = at.zip(0..).collect();
        things.sort_unstable();
        let starts = (0..=nodes).map(|node| things.partition_point(|&(at, _)| at < node)).collect();
        Self { starts, things: things.into_iter().map(|(_, thing)| thing).collect() }
    }

    /// The things from node `first` up to but without node `end`.
    fn between(&self, first: usize, end: usize) -> &[usize] {
        &self.things[self.starts[first]..self.starts[end]]
    }
}
