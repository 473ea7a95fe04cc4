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

#[cfg(test)]
mod tests {
    use super::super::observation::Observation;
    use super::super::solve::Problem;
    use super::super::weights::ModelLine;
    use super::*;
    use crate::ground::Ground;
    use std::f64::consts::FRAC_PI_2;

    /// A leg up from the release, steep towards north, ± 0.5 m, and found within 1 m of the plumb
    /// line: N = 4 + 1, pulled by 4 · 0.3, moves 0.24 m. Another comes down to its end from the east,
    /// its far end first: N = 1 + 1, pulled by 0.2, moves 0.1 m more from there to here.
    #[test]
    fn legs_move_by_the_share_of_their_steep_reading() {
        let plumb = |east: bool| Observation::new(Kind::Plumb { east }, 0.0, 1.0);
        let rise = Observation::new(Kind::Rise, 1.0, 0.1);
        let steep = |sd: f64, azimuth: f64| Observation::new(Kind::Steep, 0.4, sd).toward(azimuth);
        let of_line = |sd, azimuth| [steep(sd, azimuth), plumb(true), plumb(false), rise];
        let model = Model {
            lines: vec![
                ModelLine { from: 0, to: 1, first: 0, end: 4 },
                ModelLine { from: 2, to: 1, first: 4, end: 8 },
            ],
            readings: [of_line(0.5, 0.0), of_line(1.0, FRAC_PI_2)].concat(),
            leaning: vec![(0, 0.3), (1, 0.2)],
            held: vec![[true, true], [false, false], [false, false]],
            ..Model::default()
        };
        let ground = Ground::flat();
        let problem = Problem::new(&model, &ground, 3);
        let places = [Vector3::zeros(), Vector3::new(0.0, 0.4, 1.0), Vector3::new(-0.4, 0.4, 0.0)];
        let (factor, _) = problem.factor(&places).ok().unwrap();
        let Lean(moves) = Lean::of(&model, &problem.pattern, &factor).unwrap();
        let known = [[0.0; 3], [0.0, 0.24, 0.0], [-0.1, 0.24, 0.0]].map(Vector3::from);
        for (found, known) in moves.iter().zip(known) {
            assert!((found - known).norm() < 1e-9, "{found} for {known}");
        }
        assert!(
            Lean::of(&Model { leaning: vec![], ..model.clone() }, &problem.pattern, &factor)
                .is_none()
        );
    }

    /// (1, 2, 0) and (4, 2, 0): the line between moves by (3, 0, 0).
    #[test]
    fn a_line_moves_by_the_difference_of_its_ends() {
        let lean = Lean(vec![Vector3::new(1.0, 2.0, 0.0), Vector3::new(4.0, 2.0, 0.0)]);
        let square = |v: Vector3<f64>| v * v.transpose();
        assert_eq!(lean.of_node(0), square(Vector3::new(1.0, 2.0, 0.0)));
        assert_eq!(lean.between(0, 1), square(Vector3::new(3.0, 0.0, 0.0)));
    }
}
