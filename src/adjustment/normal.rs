//! The normal equations of one connected part: readings into blocks and gradient.

use super::factor::{Blocks, Pattern};
use super::observation::{Kind, Observation};
use super::solve::{Problem, System};
use super::weights::{Model, ModelLine, ModelPoint, ModelTurn};
use crate::maths::ground::Ground;
use nalgebra::{Matrix3, Vector3};

/// One position for each node of a part.
pub(super) type Positions = [Vector3<f64>];

/// How the second derivatives are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Curvature {
    /// First derivatives only: for standard deviations.
    None,
    /// The positive part of what tape and bearings bend by: for long steps.
    Steps,
    /// All of it: for short steps, which then converge by the square.
    Whole,
}

/// What the readings of one line say of v, the vector along it: their cost, and half the first
/// and second derivative of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct LineTerm {
    pub(super) cost: f64,
    pub(super) g: Vector3<f64>,
    pub(super) hessian: Matrix3<f64>,
}

impl LineTerm {
    /// How the cost would change with a change `d` of v, were it quadratic.
    pub(super) fn promised(&self, d: Vector3<f64>) -> f64 {
        2.0 * self.g.dot(&d) + d.dot(&(self.hessian * d))
    }
}

/// Where each line's and turn's blocks lie in the pattern.
#[derive(Clone, Debug, Default)]
pub(super) struct Slots {
    pub(super) lines: Vec<(usize, bool)>,
}

/// The pattern that a model needs: its lines, and the four ends that a turn joins.
pub(super) fn pattern(model: &Model, nodes: usize) -> (Pattern, Slots) {
    let mut edges: Vec<(usize, usize)> = model.lines.iter().map(|l| (l.from, l.to)).collect();
    for turn in &model.turns {
        let (a, b) = (model.lines[turn.before], model.lines[turn.line]);
        for one in [a.from, a.to] {
            edges.extend([b.from, b.to].map(|other| (one, other)));
        }
    }
    let pattern = Pattern::of(nodes, &edges);
    let lines = model.lines.iter().map(|line| pattern.block(line.from, line.to)).collect();
    (pattern, Slots { lines })
}

/// The vector along a line.
pub(super) fn along(line: &ModelLine, x: &Positions) -> Vector3<f64> {
    x[line.to] - x[line.from]
}

/// A node's position with the ground's elevation taken off, as a height reading sees it; and the
/// derivative of its third component.
pub(super) fn above_ground(
    ground: &Ground,
    reading: &Observation,
    x: Vector3<f64>,
) -> (Vector3<f64>, Vector3<f64>) {
    if reading.kind != Kind::Height || ground.is_flat() {
        return (x, Vector3::z());
    }
    match ground.at(x.x, x.y) {
        Some(s) => (
            Vector3::new(x.x, x.y, x.z - s.elevation),
            Vector3::new(-s.slope_east, -s.slope_north, 1.0),
        ),
        None => (x, Vector3::z()),
    }
}

/// Residual over standard deviation, squared.
#[inline]
pub(super) fn cost_of(reading: &Observation, v: Vector3<f64>) -> f64 {
    (reading.residual(v) / reading.sd).powi(2)
}

/// Predicted minus read turn, metres, and its derivatives by the line and by the line before.
pub(super) fn turn_residual(
    turn: &ModelTurn,
    model: &Model,
    x: &Positions,
) -> (f64, Vector3<f64>, Vector3<f64>) {
    let before = along(&model.lines[turn.before], x);
    let v = along(&model.lines[turn.line], x);
    let from = Observation { value: 0.0, ..turn.reading };
    let course = Observation { value: from.predict(before) + turn.reading.value, ..from };
    (course.residual(v), course.gradient(v), -from.gradient(before))
}

/// Takes the cost of every line as quadratic about `x`, its turn's cost included, and returns the
/// cost of all points together.
pub(super) fn linearise(
    problem: &Problem<'_>,
    x: &Positions,
    curvature: impl Fn(usize) -> Curvature,
    terms: &mut Vec<LineTerm>,
) -> f64 {
    let model = problem.model;
    terms.clear();
    terms.extend(model.lines.iter().enumerate().map(|(index, line)| {
        let readings = &model.readings[line.first..line.end];
        line_term(readings, along(line, x), curvature(index))
    }));
    for turn in &model.turns {
        let (residual, ..) = turn_residual(turn, model, x);
        terms[turn.line].cost += (residual / turn.reading.sd).powi(2);
    }
    let at = |point: &ModelPoint| {
        cost_of(&point.reading, above_ground(problem.ground, &point.reading, x[point.node]).0)
    };
    model.points.iter().map(at).sum()
}

/// Fills `system` with what is said at `x`: the `terms` of the lines, each with its own `damping`,
/// turns and points.
pub(super) fn fill(
    problem: &Problem<'_>,
    x: &Positions,
    (terms, damping): (&[LineTerm], &[f64]),
    system: &mut System,
) {
    let (model, pattern) = (problem.model, &problem.pattern);
    system.blocks.clear();
    system.gradient.fill(Vector3::zeros());
    for (index, (line, term)) in model.lines.iter().zip(terms).enumerate() {
        let damped = damping.get(index).copied().unwrap_or(0.0);
        let hessian = term.hessian + Matrix3::from_diagonal_element(damped);
        system.gradient[line.from] -= term.g;
        system.gradient[line.to] += term.g;
        system.blocks.diagonal[pattern.place_of[line.from]] += hessian;
        system.blocks.diagonal[pattern.place_of[line.to]] += hessian;
        system.blocks.below[problem.slots.lines[index].0] -= hessian;
    }
    for turn in &model.turns {
        add_turn(turn, problem, x, system);
    }
    for point in &model.points {
        let (at, derivative) = above_ground(problem.ground, &point.reading, x[point.node]);
        let weight = point.reading.sd.powi(-2);
        let mut gradient = point.reading.gradient(at);
        if point.reading.kind == Kind::Height {
            gradient = derivative;
        }
        system.gradient[point.node] += gradient * (weight * point.reading.residual(at));
        let block = gradient * gradient.transpose() * weight;
        system.blocks.diagonal[pattern.place_of[point.node]] += block;
    }
    hold(problem, system);
}

#[inline]
fn line_term(readings: &[Observation], v: Vector3<f64>, curvature: Curvature) -> LineTerm {
    let mut term = LineTerm { cost: 0.0, g: Vector3::zeros(), hessian: Matrix3::zeros() };
    for reading in readings {
        let weight = 1.0 / (reading.sd * reading.sd);
        let residual = reading.residual(v);
        let gradient = reading.gradient(v);
        term.cost += weight * residual * residual;
        term.g += gradient * (weight * residual);
        term.hessian += gradient * (gradient * weight).transpose();
        if let Some(bend) = bend(reading, v, residual, curvature) {
            term.hessian += bend * weight;
        }
    }
    term
}

/// Residual times its second derivative, as far as a step should heed it.
///
/// ```text
/// tape:    r/D (I − u uᵀ)
/// bearing: r s/h⁴ [ −2en, e² − n²; e² − n², 2en ],  whose eigenvalues are ± r s/h²
/// ```
/// Far from the minimum only what is positive is taken, so that the equations stay definite: of
/// the tape where it is too long, of a bearing the larger eigenvalue all round.
#[inline]
fn bend(
    reading: &Observation,
    v: Vector3<f64>,
    residual: f64,
    curvature: Curvature,
) -> Option<Matrix3<f64>> {
    let run2 = (v.x * v.x + v.y * v.y).max(1e-4);
    if curvature == Curvature::None {
        None
    } else if reading.kind == Kind::Tape && (residual > 0.0 || curvature == Curvature::Whole) {
        let length = v.norm().max(1e-4);
        let u = v / length;
        Some((Matrix3::identity() - u * u.transpose()) * (residual / length))
    } else if !reading.is_direction() {
        None
    } else if curvature == Curvature::Whole {
        let size = residual * reading.scale / (run2 * run2);
        let (cross, square) = (2.0 * v.x * v.y, v.x * v.x - v.y * v.y);
        Some(Matrix3::new(-cross, square, 0.0, square, cross, 0.0, 0.0, 0.0, 0.0) * size)
    } else {
        let size = residual.abs() * reading.scale / run2;
        Some(Matrix3::from_diagonal(&Vector3::new(size, size, 0.0)))
    }
}

/// A turn joins up to four nodes: the ends of its line and of the line before.
fn add_turn(turn: &ModelTurn, problem: &Problem<'_>, x: &Positions, system: &mut System) {
    let model = problem.model;
    let (residual, by_line, by_before) = turn_residual(turn, model, x);
    let weight = turn.reading.sd.powi(-2);
    let (line, before) = (&model.lines[turn.line], &model.lines[turn.before]);
    let parts = [
        (line.from, -by_line),
        (line.to, by_line),
        (before.from, -by_before),
        (before.to, by_before),
    ];
    for (index, &(a, ja)) in parts.iter().enumerate() {
        system.gradient[a] += ja * (weight * residual);
        for (other, &(b, jb)) in parts[..=index].iter().enumerate() {
            let block = ja * jb.transpose() * weight;
            // Two of the four ends may be one node: then both products fall on its own block.
            let mirrored = a == b && other != index;
            let block = if mirrored { block + block.transpose() } else { block };
            add_block(&problem.pattern, &mut system.blocks, [a, b], &block);
        }
    }
}

/// Adds the block of the nodes `a` and `b`.
fn add_block(pattern: &Pattern, blocks: &mut Blocks, [a, b]: [usize; 2], block: &Matrix3<f64>) {
    if a == b {
        blocks.diagonal[pattern.place_of[a]] += block;
    } else {
        let (at, transposed) = pattern.block(a, b);
        blocks.below[at] += if transposed { block.transpose() } else { *block };
    }
}

/// Holds coordinates: their equations become "the step is zero".
fn hold(problem: &Problem<'_>, system: &mut System) {
    let pattern = &problem.pattern;
    let free = |node: usize| {
        let [plan, up] = problem.model.held[node];
        let keep = |held: bool| if held { 0.0 } else { 1.0 };
        Vector3::new(keep(plan), keep(plan), keep(up))
    };
    if !problem.any_held {
        return;
    }
    for column in 0..pattern.node_at.len() {
        let own = free(pattern.node_at[column]);
        let node = pattern.node_at[column];
        system.gradient[node].component_mul_assign(&own);
        mask(&mut system.blocks.diagonal[column], own, own);
        for k in 0..3 {
            if own[k] == 0.0 {
                system.blocks.diagonal[column][(k, k)] = 1.0;
            }
        }
        for at in pattern.starts[column]..pattern.starts[column + 1] {
            let row = free(pattern.node_at[pattern.rows[at]]);
            mask(&mut system.blocks.below[at], row, own);
        }
    }
}

fn mask(block: &mut Matrix3<f64>, rows: Vector3<f64>, columns: Vector3<f64>) {
    block.component_mul_assign(&(rows * columns.transpose()));
}
