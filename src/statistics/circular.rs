//! Directions: the mean vector and the Rayleigh test.

/// Sums of cosines and sines of directions.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MeanVector {
    n: usize,
    cos: f64,
    sin: f64,
}

impl MeanVector {
    /// Adds a direction by its cosine and sine.
    pub fn push(&mut self, cos: f64, sin: f64) {
        self.n += 1;
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
    pub fn n(&self) -> usize {
        self.n
    }

    /// Mean cosine; `None` of nothing.
    pub fn mean_cos(&self) -> Option<f64> {
        (self.n > 0).then(|| self.cos / self.n as f64)
    }

    /// Mean sine; `None` of nothing.
    pub fn mean_sin(&self) -> Option<f64> {
        (self.n > 0).then(|| self.sin / self.n as f64)
    }

    /// Mean direction, radians in (−π, π]; `None` of nothing or where all cancel.
    pub fn direction(&self) -> Option<f64> {
        (self.n > 0 && self.cos.hypot(self.sin) > 1e-12).then(|| self.sin.atan2(self.cos))
    }

    /// Mean resultant length, 0 to 1. Source:
    /// [`Source::Fisher1993`](crate::sources::Source::Fisher1993).
    pub fn resultant(&self) -> Option<f64> {
        (self.n > 0).then(|| self.cos.hypot(self.sin) / self.n as f64)
    }

    /// The chance of a resultant this long among directions without preference: the approximation
    /// of Greenwood and Durand as in [`Source::Zar2010`](crate::sources::Source::Zar2010), which
    /// stays positive, with R the resultant length; `None` of fewer than two.
    ///
    /// ```text
    /// p = exp( w − (1 + 2n) ) = exp( −4R² / (w + 1 + 2n) )      w = √(1 + 4n + 4(n² − R²))
    /// ```
    pub fn rayleigh_p(&self) -> Option<f64> {
        let n = self.n as f64;
        let r2 = self.cos * self.cos + self.sin * self.sin;
        let w = (1.0 + 4.0 * n + 4.0 * (n * n - r2)).sqrt();
        // The second form: the first takes two large numbers from each other.
        (self.n > 1).then(|| (-4.0 * r2 / (w + 1.0 + 2.0 * n)).exp())
    }
}
