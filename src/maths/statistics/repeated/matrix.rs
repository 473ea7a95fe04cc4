//! The small symmetric systems of a fit: as wide as there are coefficients.

/// A factor L, row by row, with L L' the matrix.
#[derive(Clone, Debug)]
pub(super) struct Factor {
    rows: Vec<Vec<f64>>,
}

impl Factor {
    /// Cholesky's factor; `None` where a pivot falls to less than a billionth of what it was.
    pub(super) fn of(matrix: &[Vec<f64>]) -> Option<Self> {
        let mut rows: Vec<Vec<f64>> = Vec::with_capacity(matrix.len());
        for (at, line) in matrix.iter().enumerate() {
            let mut row: Vec<f64> = Vec::with_capacity(at + 1);
            for (other, entry) in line.iter().enumerate().take(at) {
                let before = dot(&row, &rows[other]);
                row.push((entry - before) / rows[other][other]);
            }
            let pivot = line[at] - dot(&row, &row);
            if pivot.is_nan() || pivot <= 1e-9 * line[at] {
                return None;
            }
            row.push(pivot.sqrt());
            rows.push(row);
        }
        Some(Self { rows })
    }

    /// L⁻¹ b, whose squares add up to b' M⁻¹ b.
    pub(super) fn half(&self, b: &[f64]) -> Vec<f64> {
        let mut half: Vec<f64> = Vec::with_capacity(b.len());
        for (row, b) in self.rows.iter().zip(b) {
            let rest = b - dot(&half, row);
            half.push(rest / row[half.len()]);
        }
        half
    }

    /// M⁻¹ b.
    pub(super) fn solve(&self, b: &[f64]) -> Vec<f64> {
        let mut x = self.half(b);
        for at in (0..x.len()).rev() {
            x[at] /= self.rows[at][at];
            for before in 0..at {
                x[before] -= self.rows[at][before] * x[at];
            }
        }
        x
    }

    /// b' M⁻¹ c.
    pub(super) fn product(&self, b: &[f64], c: &[f64]) -> f64 {
        dot(&self.half(b), &self.half(c))
    }

    /// ln |M|.
    pub(super) fn log_determinant(&self) -> f64 {
        self.rows.iter().enumerate().map(|(at, row)| 2.0 * row[at].ln()).sum()
    }
}

/// Of as many numbers as the shorter list has.
pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Adds `factor` times `row` to a sum of rows.
pub(super) fn add(sum: &mut [f64], factor: f64, row: &[f64]) {
    for (sum, x) in sum.iter_mut().zip(row) {
        *sum += factor * x;
    }
}
