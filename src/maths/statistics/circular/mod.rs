//! Directions: the mean vector and its interval, the Rayleigh test and the V-test, two samples compared.
//!
//! In: angles in radians, from any zero either way round, one an animal. Out: radians; `None` where a
//! direction is not defined. Assumes that directions are independent. Left out: axes without a sense (double
//! the angles first, halve what comes out), and weights.

mod deviation;
mod mean_direction;
mod two_samples;
mod von_mises;

pub use deviation::{Deviations, deviations};
pub use mean_direction::{FEWEST, SYMMETRIC_FROM, interval_of_direction};
pub use two_samples::{TwoDirections, two_directions, watson_u2};

use super::interval::{normal_cdf, normal_density};
use std::f64::consts::{PI, TAU};

/// The angle in (−π, π].
pub fn wrapped(angle: f64) -> f64 {
    let wrapped = PI - (PI - angle).rem_euclid(TAU);
    if wrapped <= -PI { PI } else { wrapped }
}

/// Sums of cosines and sines of directions.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MeanVector {
    n: f64,
    cos: f64,
    sin: f64,
}

impl MeanVector {
    /// Of `n` directions, by the sums of their cosines and sines.
    pub fn of_sums([n, cos, sin]: [f64; 3]) -> Self {
        Self { n, cos, sin }
    }

    /// Adds a direction by its cosine and sine.
    pub fn push(&mut self, cos: f64, sin: f64) {
        self.n += 1.0;
        self.cos += cos;
        self.sin += sin;
    }

    /// The mean vector of angles in radians.
    pub fn of(angles: impl IntoIterator<Item = f64>) -> Self {
        let mut sum = Self::default();
        for angle in angles {
            let (sin, cos) = angle.sin_cos();
            sum.push(cos, sin);
        }
        sum
    }

    /// How many directions.
    pub fn n(&self) -> f64 {
        self.n
    }

    /// Mean cosine; `None` of nothing.
    pub fn mean_cos(&self) -> Option<f64> {
        (self.n > 0.0).then(|| self.cos / self.n)
    }

    /// Mean sine; `None` of nothing.
    pub fn mean_sin(&self) -> Option<f64> {
        (self.n > 0.0).then(|| self.sin / self.n)
    }

    /// Mean direction, radians in (−π, π]; `None` of nothing or where all cancel.
    pub fn direction(&self) -> Option<f64> {
        (self.n > 0.0 && self.cos.hypot(self.sin) > 1e-12).then(|| self.sin.atan2(self.cos))
    }

    /// Mean resultant length, 0 to 1. Source:
    /// [`Source::Fisher1993`](crate::survey::sources::Source::Fisher1993).
    pub fn resultant(&self) -> Option<f64> {
        (self.n > 0.0).then(|| self.cos.hypot(self.sin) / self.n)
    }

    /// The chance of a resultant this long among directions without preference: the approximation
    /// of Greenwood and Durand as in [`Source::Zar2010`](crate::survey::sources::Source::Zar2010), which
    /// stays positive, with R the resultant length; `None` of fewer than two.
    ///
    /// ```text
    /// p = exp( w − (1 + 2n) ) = exp( −4R² / (w + 1 + 2n) )      w = √(1 + 4n + 4(n² − R²))
    /// ```
    pub fn rayleigh_p(&self) -> Option<f64> {
        let n = self.n;
        let r2 = self.cos * self.cos + self.sin * self.sin;
        let w = (1.0 + 4.0 * n + 4.0 * (n * n - r2)).sqrt();
        // The second form: the first takes two large numbers from each other.
        (self.n > 1.0).then(|| (-4.0 * r2 / (w + 1.0 + 2.0 * n)).exp())
    }

    /// The V-test: whether directions gather about one that was stated beforehand, radians.
    /// `None` of fewer than two.
    ///
    /// ```text
    /// V = R cos(mean − stated)      u = V √(2/n)
    /// p = 1 − Φ(u) + φ(u) ( (3u − u³)/16n + (15u + 305u³ − 125u⁵ + 9u⁷)/4608n² )
    /// ```
    /// u as in [`Source::Zar2010`](crate::survey::sources::Source::Zar2010). The series of p is the
    /// Edgeworth expansion of a sum of cosines (cumulants ½, −⅜, 5/4), derived here; the normal
    /// term alone is off by a tenth of p for a handful of animals.
    pub fn v_test(&self, stated: f64) -> Option<VTest> {
        let n = self.n;
        let v = self.cos * stated.cos() + self.sin * stated.sin();
        let u = v * (2.0 / n).sqrt();
        let first = (3.0 * u - u.powi(3)) / (16.0 * n);
        let second = 15.0 * u + 305.0 * u.powi(3) - 125.0 * u.powi(5) + 9.0 * u.powi(7);
        let series = first + second / (4608.0 * n * n);
        let p = normal_cdf(-u) + normal_density(u) * series;
        (self.n > 1.0).then(|| VTest { v, u, p: p.clamp(0.0, 1.0) })
    }
}

/// What the V-test found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VTest {
    /// The part of the resultant that points the stated way, R cos(mean − stated).
    pub v: f64,
    /// V over its standard deviation.
    pub u: f64,
    /// The one-sided chance of a V as large.
    pub p: f64,
}

#[cfg(test)]
mod tests;
