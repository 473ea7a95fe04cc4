//! The errors of a connected part, one by one: what each does to the adjusted positions.
//!
//! In: the model at its solution. Out: for each reading what one standard deviation of its error adds
//! to the right-hand side of the normal equations, those of readings apart from those of what is
//! stated. A reading is truth plus error, so that the estimate carries the error already; what is
//! stated (a plumb leg's offset, rough ground, a direction that was carried on) is a mean about which
//! the truth scatters. The two bend what is measured in opposite ways.
//!
//! ```text
//! N x = Aᵀ W ε        a reading with derivative a and deviation σ adds a ε / σ²
//! ```

use super::normal::{Positions, above_ground, along, turn_residual};
use super::observation::{Kind, Observation};
use super::raw::height;
use super::solve::Problem;
use super::weights::{ModelLine, ModelPoint};
use crate::adjustment::network::Network;
use crate::maths::quantity::{Lanes, Number};
use crate::survey::settings::Precision;
use nalgebra::Vector3;

/// Where an error comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// A reading: truth and its error.
    Read,
    /// Something stated: the truth lies about it.
    Stated,
}

impl Origin {
    /// Of a reading along a line.
    fn of(reading: &Observation) -> Self {
        if reading.assumed || reading.stated { Self::Stated } else { Self::Read }
    }
}

/// What one standard deviation adds at both ends of a line, with opposite signs.
#[derive(Clone, Copy, Debug)]
struct LineError {
    from: usize,
    to: usize,
    by: Vector3<f64>,
}

/// What one standard deviation adds at the ends of a line and of the line that it was turned from.
#[derive(Clone, Copy, Debug)]
struct TurnError([LineError; 2]);

/// What one standard deviation adds at a node, and to the height there beside what its elevation
/// tells, metres.
#[derive(Clone, Copy, Debug)]
struct PointError {
    node: usize,
    by: Vector3<f64>,
    own: f64,
}

/// The errors of one origin.
#[derive(Clone, Debug, Default)]
pub(super) struct Errors {
    lines: Vec<LineError>,
    turns: Vec<TurnError>,
    points: Vec<PointError>,
}

/// The errors of readings, and those of what is stated.
#[derive(Clone, Debug, Default)]
pub(super) struct AllErrors([Errors; 2]);

impl AllErrors {
    /// Those of a part with these `nodes` at its solution `x`. `within` is what each line was held by,
    /// 1/m², where its readings left it loose.
    pub(super) fn of(
        problem: &Problem<'_>,
        (network, precision): (&Network, &Precision),
        nodes: &[usize],
        x: &Positions,
        within: &[f64],
    ) -> Self {
        let mut all = Self::default();
        all.add_lines(problem, x);
        all.add_turns(problem, x);
        all.add_within(problem, within);
        let sd_of = |local: usize| height(network, precision, nodes[local]).map(|(_, sd)| sd);
        all.add_points(problem, x, |local| [sd_of(local).unwrap_or(0.0), precision.ground_m]);
        for local in (0..nodes.len()).filter(|&local| sd_of(local).is_none()) {
            all.add_point(Origin::Stated, local, Vector3::zeros(), precision.ground_m);
        }
        all
    }

    /// The errors of an origin.
    pub(super) fn from(&self, origin: Origin) -> &Errors {
        &self.0[origin as usize]
    }

    fn add_line(&mut self, origin: Origin, line: &ModelLine, by: Vector3<f64>) {
        self.0[origin as usize].lines.push(LineError { from: line.from, to: line.to, by });
    }

    fn add_point(&mut self, origin: Origin, node: usize, by: Vector3<f64>, own: f64) {
        self.0[origin as usize].points.push(PointError { node, by, own });
    }

    fn add_lines(&mut self, problem: &Problem<'_>, x: &Positions) {
        for line in &problem.model.lines {
            let v = along(line, x);
            for reading in &problem.model.readings[line.first..line.end] {
                self.add_line(Origin::of(reading), line, reading.gradient(v) / reading.sd);
            }
        }
    }

    fn add_turns(&mut self, problem: &Problem<'_>, x: &Positions) {
        let model = problem.model;
        for turn in &model.turns {
            let (_, by_line, by_before) = turn_residual(turn, model, x);
            let end = |line: usize, by: Vector3<f64>| {
                let ModelLine { from, to, .. } = model.lines[line];
                LineError { from, to, by: by / turn.reading.sd }
            };
            let ends = [end(turn.line, by_line), end(turn.before, by_before)];
            self.0[Origin::of(&turn.reading) as usize].turns.push(TurnError(ends));
        }
    }

    /// A line held to its own length on every axis.
    fn add_within(&mut self, problem: &Problem<'_>, within: &[f64]) {
        for (line, weight) in problem.model.lines.iter().zip(within) {
            for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
                self.add_line(Origin::Stated, line, axis * weight.sqrt());
            }
        }
    }

    /// Controls are readings. The link of a height to its elevation has two errors: σ of the reading
    /// and ρ of the rough ground.
    ///
    /// ```text
    /// k = σ² / (σ² + ρ²),   δh = k (δz − δg) + (1 − k) σ z₁ − k ρ z₂
    /// ```
    fn add_points(
        &mut self,
        problem: &Problem<'_>,
        x: &Positions,
        deviations: impl Fn(usize) -> [f64; 2],
    ) {
        for &ModelPoint { node, reading } in &problem.model.points {
            let (at, derivative) = above_ground(problem.ground, &reading, x[node]);
            if reading.kind != Kind::Height {
                self.add_point(Origin::Read, node, reading.gradient(at) / reading.sd, 0.0);
                continue;
            }
            let [sd, rough] = deviations(node);
            let both = sd.hypot(rough);
            let (k, by) = ((sd / both).powi(2), derivative / reading.sd);
            self.add_point(Origin::Read, node, by * (sd / both), (1.0 - k) * sd);
            self.add_point(Origin::Stated, node, by * (rough / both), -k * rough);
        }
    }
}

impl Errors {
    /// Adds `normal` numbers times each error to the right-hand side `b`, and to `own`.
    pub(super) fn draw(
        &self,
        mut normal: impl FnMut() -> Lanes,
        b: &mut [[Lanes; 3]],
        own: &mut [Lanes],
    ) {
        let mut add = |node: usize, by: Vector3<f64>, z: Lanes| {
            for (axis, &by) in b[node].iter_mut().zip(by.iter()) {
                *axis = *axis + Lanes::of(by) * z;
            }
        };
        for &LineError { from, to, by } in &self.lines {
            let z = normal();
            add(to, by, z);
            add(from, -by, z);
        }
        for TurnError(lines) in &self.turns {
            let z = normal();
            for &LineError { from, to, by } in lines {
                add(to, by, z);
                add(from, -by, z);
            }
        }
        for &PointError { node, by, own: beside } in &self.points {
            let z = normal();
            add(node, by, z);
            own[node] = own[node] + Lanes::of(beside) * z;
        }
    }
}

#[cfg(test)]
mod tests;
