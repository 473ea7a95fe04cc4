//! What each reading is worth: covariances of lines, redundancy, standardised residuals.

use super::factor::{Blocks, Pattern};
use super::normal::{Positions, above_ground, along, turn_residual};
use super::observation::{Kind, Observation};
use super::solve::Problem;
use super::weights::{ModelLine, ModelTurn};
use nalgebra::{Matrix3, Vector3};

/// Slips this many standard deviations large are found with 80 % at α = 0.001, two-sided.
/// Source: [`Source::Baarda1968`](crate::survey::sources::Source::Baarda1968).
const DETECTABLE: f64 = 4.132_148;
/// A redundancy below this is none: only a slip of four hundred standard deviations would show in
/// the reading itself, and one that large bends the network first.
const NO_REDUNDANCY: f64 = 1e-4;

/// A reading against the adjusted network, all in the unit of the reading (metres or radians).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Checked {
    pub(super) reading: Observation,
    /// Predicted minus read.
    pub(super) residual: f64,
    /// One standard deviation of the reading.
    pub(super) sd: f64,
    /// Share of the reading that the others check: 0 unchecked, 1 wholly.
    pub(super) redundancy: f64,
    /// Residual over its own standard deviation; `None` where nothing checks the reading.
    pub(super) standardised: Option<f64>,
    /// The smallest slip that would be found.
    pub(super) detectable: Option<f64>,
}

/// The inverse of the normal matrix where it is needed.
pub(super) struct Inverse<'a> {
    pub(super) pattern: &'a Pattern,
    pub(super) blocks: Blocks,
    held: &'a [[bool; 2]],
}

impl<'a> Inverse<'a> {
    pub(super) fn of(problem: &'a Problem<'_>, factor: &Blocks) -> Self {
        let blocks = problem.pattern.inverse(factor);
        Self { pattern: &problem.pattern, blocks, held: &problem.model.held }
    }

    /// Covariance of the nodes `a` and `b`, which must be joined in the pattern.
    pub(super) fn of_nodes(&self, a: usize, b: usize) -> Matrix3<f64> {
        if a == b {
            let mut block = self.blocks.diagonal[self.pattern.place_of[a]];
            let [plan, up] = self.held[a];
            for (k, held) in [plan, plan, up].into_iter().enumerate() {
                if held {
                    block[(k, k)] = 0.0; // its equation was "the step is zero"
                }
            }
            return block;
        }
        let (at, transposed) = self.pattern.block(a, b);
        let block = self.blocks.below[at];
        if transposed { block.transpose() } else { block }
    }

    /// Covariance of the vector along a line.
    pub(super) fn of_line(&self, line: &ModelLine) -> Matrix3<f64> {
        let across = self.of_nodes(line.from, line.to);
        self.of_nodes(line.from, line.from) + self.of_nodes(line.to, line.to)
            - across
            - across.transpose()
    }

    /// Variance of the adjusted turn, metres².
    fn of_turn(&self, turn: &ModelTurn, problem: &Problem<'_>, x: &Positions) -> f64 {
        let (_, by_line, by_before) = turn_residual(turn, problem.model, x);
        let (line, before) = (problem.model.lines[turn.line], problem.model.lines[turn.before]);
        let parts = [
            (line.from, -by_line),
            (line.to, by_line),
            (before.from, -by_before),
            (before.to, by_before),
        ];
        let product = |(a, ja): (usize, Vector3<f64>), (b, jb): (usize, Vector3<f64>)| {
            ja.dot(&(self.of_nodes(a, b) * jb))
        };
        parts.iter().flat_map(|&a| parts.iter().map(move |&b| product(a, b))).sum()
    }
}

/// A reading with its redundancy, given its residual and the variance of what was adjusted, both
/// as the solver has them.
///
/// ```text
/// r = 1 − aᵀ C a / σ²,   w = v / (σ √r),   ∇ = δ₀ σ / √r
/// ```
fn checked(reading: Observation, residual: f64, adjusted_variance: f64) -> Checked {
    let redundancy = (1.0 - adjusted_variance / reading.sd.powi(2)).clamp(0.0, 1.0);
    let root = redundancy.sqrt();
    let some = redundancy > NO_REDUNDANCY;
    let to_unit = match reading.kind {
        Kind::Bearing | Kind::BackBearing | Kind::Turn => reading.scale.max(1e-9).recip(),
        _ => 1.0,
    };
    Checked {
        reading,
        residual: residual * to_unit,
        sd: reading.sd * to_unit,
        redundancy: if some { redundancy } else { 0.0 },
        standardised: some.then(|| residual / (reading.sd * root)),
        detectable: some.then(|| DETECTABLE * reading.sd / root * to_unit),
    }
}

/// Every reading of a line, in the order of the model.
pub(super) fn of_line(
    problem: &Problem<'_>,
    line: &ModelLine,
    covariance: &Matrix3<f64>,
    x: &Positions,
) -> impl Iterator<Item = Checked> {
    let v = along(line, x);
    let covariance = *covariance;
    problem.model.readings[line.first..line.end].iter().map(move |reading| {
        let a = reading.gradient(v);
        checked(*reading, reading.residual(v), a.dot(&(covariance * a)))
    })
}

/// Every turn, with the line it was read at.
pub(super) fn of_turns<'a>(
    problem: &'a Problem<'_>,
    inverse: &'a Inverse<'_>,
    x: &'a Positions,
) -> impl Iterator<Item = (usize, Checked)> + 'a {
    problem.model.turns.iter().map(move |turn| {
        let (residual, ..) = turn_residual(turn, problem.model, x);
        (turn.line, checked(turn.reading, residual, inverse.of_turn(turn, problem, x)))
    })
}

/// Every reading at a node, with the node.
pub(super) fn of_points<'a>(
    problem: &'a Problem<'_>,
    inverse: &'a Inverse<'_>,
    x: &'a Positions,
) -> impl Iterator<Item = (usize, Checked)> + 'a {
    problem.model.points.iter().map(move |point| {
        let (at, by_position) = above_ground(problem.ground, &point.reading, x[point.node]);
        let is_height = point.reading.kind == Kind::Height;
        let a = if is_height { by_position } else { point.reading.gradient(at) };
        let covariance = inverse.of_nodes(point.node, point.node);
        (point.node, checked(point.reading, point.reading.residual(at), a.dot(&(covariance * a))))
    })
}
