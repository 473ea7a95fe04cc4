//! A start near the solution: the network cut into pieces, each solved by itself.
//!
//! A few awkward legs hold up a long network when every step is taken by the whole. Where no line
//! passes over an anchor, what lies before and after it is joined by that anchor alone: each side
//! then has its shape nearly by itself, and the whole has little left to settle.

use super::observation::Kind;
use super::solve::Problem;
use super::weights::{Model, ModelLine, ModelPoint, ModelTurn};
use crate::maths::ground::Ground;
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

#[cfg(test)]
mod tests {
    use super::super::observation::Observation;
    use super::*;

    /// A walk straight north by legs of a metre, each by tape, needle and rise.
    fn walk(legs: usize) -> Model {
        let mut model = Model { held: vec![[false; 2]; legs + 1], ..Model::default() };
        model.held[0] = [true, true];
        for leg in 0..legs {
            model.readings.extend([
                Observation::new(Kind::Tape, 1.0, 0.03),
                Observation::new(Kind::Bearing, 0.0, 0.03).scaled(1.0),
                Observation::new(Kind::Rise, 0.0, 0.05),
            ]);
            model.lines.push(ModelLine {
                from: leg,
                to: leg + 1,
                first: 3 * leg,
                end: 3 * leg + 3,
            });
        }
        model
    }

    /// Joins two nodes of a walk north by tape and needle, from the later one back where asked to.
    fn tie(model: &mut Model, from: usize, to: usize) {
        let first = model.readings.len();
        let (tape, bearing) =
            (from.abs_diff(to) as f64, if from > to { std::f64::consts::PI } else { 0.0 });
        model.readings.push(Observation::new(Kind::Tape, tape, 0.03));
        model.readings.push(Observation::new(Kind::Bearing, bearing, 0.03).scaled(tape));
        model.lines.push(ModelLine { from, to, first, end: first + 2 });
    }

    fn bounds(model: &Model) -> Vec<[usize; 4]> {
        pieces(model).iter().map(|piece| [piece.from, piece.first, piece.last, piece.to]).collect()
    }

    /// Of 399 legs: cut at 150 and 300, twelve more on either side. A tie from 140 to 170 lets no cut
    /// stand within; a turn read at leg 300 none at its start.
    #[test]
    fn pieces_end_where_nothing_passes_over() {
        let mut model = walk(399);
        let plain = [[0, 0, 150, 162], [138, 150, 300, 312], [288, 300, 399, 399]];
        assert_eq!(bounds(&model), plain);
        tie(&mut model, 170, 140);
        assert_eq!(bounds(&model), [[0, 0, 170, 182], [140, 170, 320, 332], [308, 320, 399, 399]]);
        let reading = Observation::new(Kind::Turn, 0.0, 0.05).scaled(1.0);
        model.turns.push(ModelTurn { line: 320, before: 319, reading });
        model.turns.push(ModelTurn { line: 182, before: 181, reading });
        assert_eq!(bounds(&model), [[0, 0, 170, 183], [140, 170, 321, 333], [309, 321, 399, 399]]);
        let over = lines_over(&model);
        let passed: Vec<usize> = (0..400).filter(|&node| over[node] > 0).collect();
        assert_eq!(passed, (141..170).chain([182, 320]).collect::<Vec<_>>());
        assert_eq!(bounds(&walk(150)), [[0, 0, 150, 150]]);
    }

    /// What is read between the nodes 2 and 4 of a walk, with a tie back, a turn, and a height: nodes
    /// and readings count anew, and the first node hangs on nothing but heights.
    #[test]
    fn a_piece_has_what_was_read_within_it() {
        let mut model = walk(6);
        tie(&mut model, 4, 2);
        tie(&mut model, 4, 5);
        let turn = |value| Observation::new(Kind::Turn, value, 0.05).scaled(1.0);
        model.turns.push(ModelTurn { line: 3, before: 2, reading: turn(0.3) });
        model.turns.push(ModelTurn { line: 2, before: 1, reading: turn(0.2) });
        let height = |value| Observation::new(Kind::Height, value, 0.05);
        let east = Observation::new(Kind::ControlEast, 7.0, 1.0);
        let points = [(1, height(1.0)), (3, east), (4, height(4.0)), (5, height(5.0))];
        model.points.extend(points.map(|(node, reading)| ModelPoint { node, reading }));
        let part = Cutter::new(&model).part(&Piece { from: 2, first: 2, last: 4, to: 4 });
        let lines: Vec<[usize; 4]> =
            part.lines.iter().map(|l| [l.from, l.to, l.first, l.end]).collect();
        assert_eq!(lines, [[0, 1, 0, 3], [1, 2, 3, 6], [2, 0, 6, 8]]);
        assert_eq!(part.readings[..6], model.readings[6..12]);
        assert_eq!(part.readings[6..], model.readings[18..20]);
        let [read] = part.turns.as_slice() else { panic!("{:?}", part.turns) };
        assert_eq!((read.line, read.before, read.reading.value), (1, 0, 0.3));
        let [point] = part.points.as_slice() else { panic!("{:?}", part.points) };
        assert_eq!((point.node, point.reading.value), (2, 4.0));
        assert_eq!(part.held, [[true, false], [false, false], [false, false]]);
        let alone = Cutter::new(&model).part(&Piece { from: 2, first: 2, last: 3, to: 3 });
        assert_eq!(alone.held[0], [true, true], "no height tells its elevation");
    }

    /// Readings without error bring every node to its place from a start that is off by up to 0.2 m:
    /// with heights, and where elevations hang on the rises alone.
    #[test]
    fn pieces_are_laid_end_to_end() {
        for heights in [false, true] {
            let mut model = walk(399);
            tie(&mut model, 170, 140);
            if heights {
                model.held[0][1] = false;
                let reading = Observation::new(Kind::Height, 0.0, 0.05);
                model.points.extend((0..400).map(|node| ModelPoint { node, reading }));
            }
            let off = |node: usize| 0.2 * (node as f64).sin();
            let start = (0..400).map(|n| Vector3::new(off(n), n as f64 + off(3 * n), off(2 * n)));
            let found = solved_by_pieces(&model, &Ground::flat(), start.collect());
            for (node, at) in found.iter().enumerate().skip(1) {
                let known = Vector3::new(0.0, node as f64, 0.0);
                assert!((at - known).norm() < 1e-3, "{node}: {at}");
            }
        }
    }
}
