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
    /// start near the minimum. `offset` is added to the line before its readings see it.
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
