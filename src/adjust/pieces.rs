//! A start near the solution: the network cut into pieces, each solved by itself.
//!
//! A few awkward legs hold up a long network when every step is taken by the whole. Where no line
//! passes over an anchor, what lies before and after it is joined by that anchor alone: each side
//! then has its shape by itself, and the whole has little left to settle.

use super::observation::Kind;
use super::solve::Problem;
use super::weights::{Model, ModelLine, ModelPoint, ModelTurn};
use crate::ground::Ground;
use nalgebra::Vector3;
use std::ops::RangeInclusive;

/// A piece holds at least so many legs: enough to outweigh the cost of setting it up.
const LEAST_LEGS: usize = 40;

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
    let mut placed = start.clone();
    for (nodes, part) in pieces.iter().zip(parts(model, &pieces)) {
        let at_start = start[nodes.clone()].to_vec();
        let solved = Problem::new(&part, ground, at_start.len())
            .solve(at_start.clone())
            .map_or(at_start, |solution| solution.positions);
        // Elevations are known by themselves where heights were read; the plan hangs on.
        let mut shift = placed[*nodes.start()] - solved[0];
        if !part.held[0][1] {
            shift.z = 0.0;
        }
        for (node, solved) in nodes.clone().zip(solved) {
            placed[node] = solved + shift;
        }
    }
    placed
}

/// The nodes of each piece; neighbours share one.
fn pieces(model: &Model) -> Vec<RangeInclusive<usize>> {
    let last = model.held.len() - 1;
    let over = lines_over(model);
    let mut pieces = Vec::new();
    let mut first = 0;
    for (node, &over) in over.iter().enumerate().skip(1) {
        if node == last || (over == 0 && node - first >= LEAST_LEGS) {
            pieces.push(first..=node);
            first = node;
        }
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
    change.pop();
    for change in &mut change {
        over += *change;
        *change = over;
    }
    change
}

/// The model of each piece: what was read within it, hung on its first node.
fn parts(model: &Model, pieces: &[RangeInclusive<usize>]) -> Vec<Model> {
    let mut piece_of = vec![0; model.held.len()];
    let mut parts = Vec::with_capacity(pieces.len());
    for (at, nodes) in pieces.iter().enumerate() {
        piece_of[nodes.clone()].fill(at); // a shared node begins the next piece
        let mut held = vec![[false, false]; nodes.clone().count()];
        held[0] = [true, true];
        parts.push(Model { held, ..Model::default() });
    }
    let mut place = vec![0; model.lines.len()];
    for (index, line) in model.lines.iter().enumerate() {
        let at = piece_of[line.from.min(line.to)];
        let (part, base) = (&mut parts[at], *pieces[at].start());
        place[index] = part.lines.len();
        let first = part.readings.len();
        part.readings.extend_from_slice(&model.readings[line.first..line.end]);
        let end = part.readings.len();
        part.lines.push(ModelLine { from: line.from - base, to: line.to - base, first, end });
    }
    for turn in &model.turns {
        let line = model.lines[turn.line];
        let part = &mut parts[piece_of[line.from.min(line.to)]];
        let [line, before] = [turn.line, turn.before].map(|line| place[line]);
        part.turns.push(ModelTurn { line, before, reading: turn.reading });
    }
    for point in model.points.iter().filter(|point| point.reading.kind == Kind::Height) {
        let at = piece_of[point.node];
        let base = *pieces[at].start();
        parts[at].points.push(ModelPoint { node: point.node - base, reading: point.reading });
        parts[at].held[0][1] = false;
        if at > 0 && point.node == base {
            let node = base - pieces[at - 1].start();
            parts[at - 1].points.push(ModelPoint { node, reading: point.reading });
        }
    }
    parts
}
