//! What the steep legs of a part share: how closely they keep to the plumb line is known as well
//! as they tell together, and no better.

use super::factor::{Blocks, Pattern};
use super::observation::Kind;
use super::shared::{Column, Sharing};
use super::weights::Model;
use nalgebra::Vector3;

/// How far every node of a part moves with one standard deviation of the shared lean. The adjusted
/// positions follow the weak readings of all steep legs at once; `None` where there are none.
///
/// ```text
/// N u = Σ a dr / σ²        a derivative of a reading, dr how far it moves, σ its deviation
/// ```
pub(super) fn column(model: &Model, pattern: &Pattern, factor: &Blocks) -> Option<Column> {
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
    Some(Column { moves: u, heights: Vec::new(), sharing: Sharing::Part })
}

#[cfg(test)]
mod tests {
    use super::super::observation::Observation;
    use super::super::solve::Problem;
    use super::super::weights::ModelLine;
    use super::*;
    use crate::maths::ground::Ground;
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
        let Column { moves, .. } = column(&model, &problem.pattern, &factor).unwrap();
        let known = [[0.0; 3], [0.0, 0.24, 0.0], [-0.1, 0.24, 0.0]].map(Vector3::from);
        for (found, known) in moves.iter().zip(known) {
            assert!((found - known).norm() < 1e-9, "{found} for {known}");
        }
        assert!(
            column(&Model { leaning: vec![], ..model.clone() }, &problem.pattern, &factor)
                .is_none()
        );
    }
}
