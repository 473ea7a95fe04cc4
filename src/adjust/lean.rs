//! What the steep legs of a part share: how closely they keep to the plumb line is known as well
//! as they tell together, and no better.

use super::factor::{Blocks, Pattern};
use super::observation::Kind;
use super::weights::Model;
use nalgebra::{Matrix3, Vector3};

/// How far every node of a part moves with one standard deviation of the shared lean, metres.
#[derive(Clone, Debug)]
pub(super) struct Lean(pub(super) Vec<Vector3<f64>>);

impl Lean {
    /// The adjusted positions follow the weak readings of all steep legs at once; `None` where
    /// there are none.
    ///
    /// ```text
    /// N u = Σ a dr / σ²        a derivative of a reading, dr how far it moves, σ its deviation
    /// ```
    pub(super) fn of(model: &Model, pattern: &Pattern, factor: &Blocks) -> Option<Self> {
        if model.leaning.is_empty() {
            return None;
        }
        let mut u = vec![Vector3::zeros(); model.held.len()];
        for &(index, shared) in &model.leaning {
            let line = &model.lines[index];
            let readings = &model.readings[line.first..line.end];
            for reading in readings.iter().filter(|reading| reading.kind == Kind::Steep) {
                let pull = reading.gradient(Vector3::zeros()) * (shared * reading.sd.powi(-2));
                u[line.to] += pull;
                u[line.from] -= pull;
            }
        }
        for (u, &[plan, up]) in u.iter_mut().zip(&model.held) {
            let keep = |held: bool| if held { 0.0 } else { 1.0 };
            u.component_mul_assign(&Vector3::new(keep(plan), keep(plan), keep(up)));
        }
        pattern.solve(factor, &mut u);
        Some(Self(u))
    }

    /// What it adds to the covariance of a node.
    pub(super) fn of_node(&self, node: usize) -> Matrix3<f64> {
        self.0[node] * self.0[node].transpose()
    }

    /// What it adds to the covariance of the vector from one node to another.
    pub(super) fn between(&self, from: usize, to: usize) -> Matrix3<f64> {
        let along = self.0[to] - self.0[from];
        along * along.transpose()
    }
}
