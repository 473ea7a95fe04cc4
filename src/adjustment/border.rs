//! The border of a part's normal equations: how its readings change with the common errors.
//!
//! ```text
//! | N   B | | dx |       N of the positions, by blocks; B = Σ a d / σ², D = Σ d² / σ²
//! | Bᵀ  D | | dc |       a derivative of a residual by position, d by a common error
//! ```

use super::common::{Common, Evidence, Instrument};
use super::linear::stretch_plumb;
use super::normal::{Positions, above_ground, along};
use super::observation::{Kind, Observation};
use super::raw::height_shares;
use super::shared::{Column, Sharing};
use super::solve::Problem;
use super::weights::{Model, ModelPoint};
use crate::adjustment::network::{Component, Network};
use crate::survey::settings::Precision;
use nalgebra::{DMatrix, DVector, Vector3};
use std::collections::BTreeMap;

/// What the border is made from.
pub(super) struct Edge<'a> {
    pub(super) network: &'a Network,
    pub(super) precision: &'a Precision,
    pub(super) common: &'a Common,
    pub(super) part: &'a Component,
}

/// One common error of a part.
#[derive(Clone, Debug)]
struct Unknown {
    /// Its column of B, by local node.
    b: Vec<Vector3<f64>>,
    /// Its own part of the gradient.
    pull: f64,
    /// How far the height at each node was read too high, metres for a whole.
    heights: Vec<f64>,
}

/// The border of a part: its unknowns by place in the study, ascending.
#[derive(Clone, Debug, Default)]
pub(super) struct Border {
    unknowns: BTreeMap<usize, Unknown>,
    /// D, by pairs of them.
    d: BTreeMap<(usize, usize), f64>,
}

/// A part's answer to a whole of each of its common errors.
#[derive(Clone, Debug)]
pub(super) struct Response {
    /// By place in the study.
    unknowns: Vec<usize>,
    /// N⁻¹ B: how far each node was read too far, metres.
    moves: Vec<Vec<Vector3<f64>>>,
    heights: Vec<Vec<f64>>,
}

impl Border {
    /// The border at the positions `x`.
    pub(super) fn of(edge: &Edge<'_>, problem: &Problem<'_>, x: &Positions) -> Self {
        let mut border = Self::default();
        border.lines(edge, problem, x);
        for point in problem.model.points.iter().filter(|p| p.reading.kind == Kind::Height) {
            border.height(edge, (problem, point), x);
        }
        for (node, &[plan, up]) in problem.model.held.iter().enumerate() {
            let keep = |held: bool| if held { 0.0 } else { 1.0 };
            let free = Vector3::new(keep(plan), keep(plan), keep(up));
            border.unknowns.values_mut().for_each(|u| u.b[node].component_mul_assign(&free));
        }
        border
    }

    fn lines(&mut self, edge: &Edge<'_>, problem: &Problem<'_>, x: &Positions) {
        let model = problem.model;
        for (line, &entered) in model.lines.iter().zip(&edge.part.lines) {
            let (v, observer) = (along(line, x), edge.network.lines[entered].observer);
            for reading in &model.readings[line.first..line.end] {
                let felt = felt(reading, v);
                let at = felt.and_then(|(instrument, _)| edge.common.at(instrument, observer));
                let Some((at, (_, by))) = at.zip(felt) else { continue };
                let pull = reading.gradient(v) * (by * reading.sd.powi(-2));
                let unknown = self.unknown(at, x.len());
                unknown.b[line.to] += pull;
                unknown.b[line.from] -= pull;
                self.add(&[(at, by)], reading.sd, reading.residual(v));
            }
        }
    }

    /// Heights read at one node by several observers have one mean.
    fn height(
        &mut self,
        edge: &Edge<'_>,
        (problem, point): (&Problem<'_>, &ModelPoint),
        x: &Positions,
    ) {
        let reading = &point.reading;
        let mut felt: BTreeMap<usize, f64> = BTreeMap::new();
        let node = edge.part.nodes[point.node];
        for (observer, share) in height_shares(edge.network, edge.precision, node) {
            if let Some(at) = edge.common.at(Instrument::Height, observer) {
                *felt.entry(at).or_default() += share;
            }
        }
        let (above, derivative) = above_ground(problem.ground, reading, x[point.node]);
        for share in felt.values_mut() {
            *share *= above.z;
        }
        for (&at, &by) in &felt {
            let unknown = self.unknown(at, x.len());
            unknown.b[point.node] += derivative * (by * reading.sd.powi(-2));
            unknown.heights[point.node] = by;
        }
        let felt: Vec<(usize, f64)> = felt.into_iter().collect();
        self.add(&felt, reading.sd, reading.residual(above));
    }

    fn unknown(&mut self, at: usize, nodes: usize) -> &mut Unknown {
        self.unknowns.entry(at).or_insert_with(|| Unknown {
            b: vec![Vector3::zeros(); nodes],
            pull: 0.0,
            heights: vec![0.0; nodes],
        })
    }

    /// Adds one reading's own part: how it is `felt`, its standard deviation and its residual.
    fn add(&mut self, felt: &[(usize, f64)], sd: f64, residual: f64) {
        let weight = sd.powi(-2);
        for &(a, by) in felt {
            if let Some(unknown) = self.unknowns.get_mut(&a) {
                unknown.pull += by * weight * residual;
            }
            for &(b, other) in felt {
                *self.d.entry((a, b)).or_default() += by * weight * other;
            }
        }
    }

    /// What the part says of its common errors, positions eliminated; `None` where they are all it
    /// has.
    ///
    /// ```text
    /// information = D − Bᵀ N⁻¹ B,   pull = Σ d r / σ² − (N⁻¹ B)ᵀ gradient
    /// ```
    pub(super) fn evidence(
        edge: &Edge<'_>,
        problem: &Problem<'_>,
        x: &Positions,
    ) -> Option<Evidence> {
        let model = as_read(problem.model, edge.precision, x);
        let read = Problem { model: &model, ..problem.clone() };
        Self::of(edge, &read, x).eliminated(&read, x)
    }

    fn eliminated(&self, read: &Problem<'_>, x: &Positions) -> Option<Evidence> {
        let (system, _) = read.normal(x).ok()?;
        let all: Vec<(&usize, &Unknown)> = self.unknowns.iter().collect();
        let solved = |(_, u): &(&usize, &Unknown)| {
            let mut moves = u.b.clone();
            read.pattern.solve(&system.blocks, &mut moves);
            moves
        };
        let moves: Vec<Vec<Vector3<f64>>> = all.iter().map(solved).collect();
        let dot = |a: &[Vector3<f64>], b: &[Vector3<f64>]| {
            a.iter().zip(b).map(|(a, b)| a.dot(b)).sum::<f64>()
        };
        let information = DMatrix::from_fn(all.len(), all.len(), |i, j| {
            let own = self.d.get(&(*all[i].0, *all[j].0)).copied().unwrap_or(0.0);
            let by_moves = dot(&all[i].1.b, &moves[j]) + dot(&all[j].1.b, &moves[i]);
            own - 0.5 * by_moves
        });
        let pull = |i: usize| all[i].1.pull - dot(&moves[i], &system.gradient);
        Some(Evidence {
            unknowns: all.iter().map(|(at, _)| **at).collect(),
            information,
            pull: DVector::from_fn(all.len(), |i, _| pull(i)),
        })
    }

    /// How the part follows its common errors; `solve` turns a column of B into one of N⁻¹ B.
    pub(super) fn response(self, solve: impl Fn(&mut [Vector3<f64>])) -> Response {
        let (unknowns, all): (Vec<usize>, Vec<Unknown>) = self.unknowns.into_iter().unzip();
        let (mut moves, heights): (Vec<Vec<Vector3<f64>>>, Vec<Vec<f64>>) =
            all.into_iter().map(|unknown| (unknown.b, unknown.heights)).unzip();
        for b in &mut moves {
            solve(b);
        }
        Response { unknowns, moves, heights }
    }
}

/// The readings as far as they are evidence: without those of steep legs, which are what the model
/// makes of tape and heights; and the tape along a plumb leg without what its lean adds, which many
/// such legs would else make a scale of.
fn as_read(model: &Model, precision: &Precision, x: &Positions) -> Model {
    let mut read = model.clone();
    for line in &model.lines {
        let readings = &mut read.readings[line.first..line.end];
        stretch_plumb(readings, along(line, x).z, precision.plumb_m);
        for reading in readings.iter_mut().filter(|reading| reading.kind == Kind::Steep) {
            reading.sd = f64::INFINITY;
        }
    }
    read
}

impl Response {
    /// What one standard deviation of each thing that the study leaves unknown moves; those that move
    /// nothing here are left out.
    pub(super) fn columns(&self, common: &Common) -> Vec<Column> {
        let column = |at: usize| {
            let by = common.moves(&self.unknowns, at);
            by.iter().any(|by| *by != 0.0).then(|| Column {
                moves: combined(&self.moves, &by),
                heights: combined(&self.heights, &by),
                sharing: Sharing::Study(at),
            })
        };
        (0..common.unknowns.len()).filter_map(column).collect()
    }
}

/// What reads too much puts a position too far: − Σ by · moves.
fn combined<T>(moves: &[Vec<T>], by: &[f64]) -> Vec<T>
where
    T: Copy + std::ops::Mul<f64, Output = T> + std::iter::Sum,
{
    let nodes = moves.first().map_or(0, Vec::len);
    (0..nodes).map(|n| moves.iter().zip(by).map(|(m, by)| m[n] * -by).sum()).collect()
}

/// The instrument of a reading, and how its residual changes with a whole of its common error: by what
/// was adjusted, since the noise of what was read would pass for a scale. What the model assumes was
/// read by none.
fn felt(reading: &Observation, v: Vector3<f64>) -> Option<(Instrument, f64)> {
    match reading.kind {
        _ if reading.assumed => None,
        Kind::Tape => Some((Instrument::Tape, v.norm())),
        Kind::Bearing | Kind::BackBearing if reading.sideways => {
            Some((Instrument::Compass, v.x * reading.toward[0] + v.y * reading.toward[1]))
        }
        Kind::Bearing | Kind::BackBearing => Some((Instrument::Compass, reading.scale)),
        _ => None,
    }
}
