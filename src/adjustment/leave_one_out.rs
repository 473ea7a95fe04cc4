//! What all readings but its own make of one line, and what is left if the line reads otherwise.

use super::observation::Observation;
use nalgebra::{Matrix3, SymmetricEigen, Vector3};

/// What all other readings make of one line: their sum of squares as a function of the vector v
/// along it, about the solution v̂.
///
/// ```text
/// Ω(v) = least − 2 g·(v − v̂) + (v − v̂)ᵀ I (v − v̂)
/// ```
#[derive(Clone, Copy, Debug)]
pub(super) struct Rest {
    pub(super) at: Vector3<f64>,
    pub(super) least: f64,
    pub(super) pull: Vector3<f64>,
    /// How well the others know the vector, 1/m²; zero in directions that nothing else tells.
    pub(super) information: Matrix3<f64>,
}

impl Rest {
    /// The sum of squares of all other readings, were the vector `v`.
    pub(super) fn cost(&self, v: Vector3<f64>) -> f64 {
        let d = v - self.at;
        self.least - 2.0 * self.pull.dot(&d) + d.dot(&(self.information * d))
    }

    /// Half its derivative.
    fn slope(&self, v: Vector3<f64>) -> Vector3<f64> {
        self.information * (v - self.at) - self.pull
    }

    /// The vector that the others make of the line, and the directions in which they tell it.
    pub(super) fn told(&self) -> (Vector3<f64>, Matrix3<f64>) {
        let eigen = SymmetricEigen::new(self.information);
        let (mut inverse, mut directions) = (Matrix3::zeros(), Matrix3::zeros());
        for (axis, value) in eigen.eigenvectors.column_iter().zip(eigen.eigenvalues.iter()) {
            if *value > LEAST_INFORMATION {
                inverse += axis * axis.transpose() / *value;
                directions += axis * axis.transpose();
            }
        }
        (self.at + inverse * self.pull, directions)
    }

    /// The least sum of squares of all readings when the line reads `readings` instead, from a
    /// start near the minimum. The readings see the line less `offset`: they start at another anchor.
    pub(super) fn with(
        &self,
        readings: &[Observation],
        start: Vector3<f64>,
        offset: Vector3<f64>,
    ) -> f64 {
        const STEPS: usize = 12;
        let cost = |v: Vector3<f64>| {
            let of = |o: &Observation| (o.residual(v - offset) / o.sd).powi(2);
            self.cost(v) + readings.iter().map(of).sum::<f64>()
        };
        let (mut v, mut held) = (start, 0.0);
        let mut lowest = cost(v);
        for _ in 0..STEPS {
            let (mut gradient, mut hessian) = (self.slope(v), self.information);
            for o in readings {
                let (a, weight) = (o.gradient(v - offset), o.sd.powi(-2));
                gradient += a * (weight * o.residual(v - offset));
                hessian += a * a.transpose() * weight;
            }
            hessian += Matrix3::from_diagonal_element(held + 1e-9);
            let Some(step) = hessian.cholesky().map(|factor| factor.solve(&gradient)) else {
                break;
            };
            let lower = cost(v - step);
            if lower > lowest {
                held = (10.0 * held).max(10.0);
                continue;
            }
            (v, held) = (v - step, held / 10.0);
            let still = lowest - lower < 1e-3;
            lowest = lower;
            if still {
                break;
            }
        }
        lowest
    }
}

/// Others know a direction if they know it better than to a kilometre.
pub(super) const LEAST_INFORMATION: f64 = 1e-6;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::adjustment::observation::Kind;

    fn diagonal(x: f64, y: f64, z: f64) -> Matrix3<f64> {
        Matrix3::from_diagonal(&Vector3::new(x, y, z))
    }

    fn assert_near(found: Vector3<f64>, expected: [f64; 3]) {
        assert!((found - Vector3::from(expected)).norm() < 1e-9, "{found} for {expected:?}");
    }

    /// At d = (1, 2, 1): 5 − 2 (1 − 2) + 4 + 4 = 15, and I d − g = (4, 2, 0) − (1, 0, −2).
    #[test]
    fn what_the_others_make_of_a_line_is_a_parabola() {
        let at = Vector3::new(1.0, 2.0, 3.0);
        let pull = Vector3::new(1.0, 0.0, -2.0);
        let rest = Rest { at, least: 5.0, pull, information: diagonal(4.0, 1.0, 0.0) };
        let v = at + Vector3::new(1.0, 2.0, 1.0);
        assert!((rest.cost(v) - 15.0).abs() < 1e-12);
        assert_near(rest.slope(v), [3.0, 2.0, 2.0]);
    }

    /// In plan the information (2 1; 1 2) has the inverse (2 −1; −1 2) / 3; nothing tells the rise.
    #[test]
    fn the_others_tell_a_line_where_they_know_it() {
        let information = Matrix3::new(2.0, 1.0, 0.0, 1.0, 2.0, 0.0, 0.0, 0.0, 1e-7);
        let (at, pull) = (Vector3::new(1.0, 2.0, 3.0), Vector3::new(3.0, 0.0, 7.0));
        let (told, directions) = Rest { at, least: 0.0, pull, information }.told();
        assert_near(told, [1.0 + 2.0, 2.0 - 1.0, 3.0]);
        assert!((directions - diagonal(1.0, 1.0, 0.0)).norm() < 1e-9);
    }

    /// The others say 3 m east, to 0.1 m: with a tape of 5 ± 0.1 m both give way by a metre, 100 + 100;
    /// with a rise of 1 ± 0.1 m by half of one, 25 + 25.
    #[test]
    fn a_line_and_the_others_meet_half_way() {
        let at = Vector3::new(3.0, 0.0, 0.0);
        let (pull, information) = (Vector3::zeros(), diagonal(100.0, 100.0, 100.0));
        let rest = Rest { at, least: 7.0, pull, information };
        let with = |readings: &[Observation], offset: [f64; 3]| {
            rest.with(readings, at, Vector3::from(offset))
        };
        let tape = Observation::new(Kind::Tape, 5.0, 0.1);
        let rise = Observation::new(Kind::Rise, 1.0, 0.1);
        let near = |found: f64, expected: f64| {
            assert!((found - expected).abs() < 1e-3, "{found} for {expected}");
        };
        near(with(&[], [0.0; 3]), 7.0);
        near(with(&[tape], [0.0; 3]), 207.0);
        near(with(&[rise], [0.0; 3]), 57.0);
        // The readings see the line less the offset: it would have to rise 2 m, and to run 5.
        near(with(&[rise], [0.0, 0.0, 1.0]), 207.0);
        near(with(&[Observation { value: 3.0, ..tape }], [2.0, 0.0, 0.0]), 207.0);
        // From far off, past where the first step is too long.
        let far = rest.with(&[tape], Vector3::new(-0.2, 0.1, 3.0), Vector3::zeros());
        near(far, 207.0);
    }
}
