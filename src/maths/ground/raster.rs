//! Ground by a raster of elevations, bilinear between the centres of its cells.

use super::{GroundError, Sample};
use std::sync::Arc;

/// Where the cells of a raster lie: column and row, counted from the first centre, of every place
/// in the local frame. They are polynomials of the second degree in east and north about a middle:
/// what is left out of a map projection grows by the cube of the distance over the square of the
/// earth's radius, 3 cm at 10 km.
#[derive(Clone, Copy, Debug)]
pub struct Placing {
    middle: [f64; 2],
    column: Quadratic,
    row: Quadratic,
}

impl Placing {
    /// Square cells along east and north, `cell` metres wide, with the centre of the first, in the
    /// north-west, at `first`.
    pub fn square(first: [f64; 2], cell: f64) -> Self {
        let (column, row) =
            ([0.0, 1.0 / cell, 0.0, 0.0, 0.0, 0.0], [0.0, 0.0, -1.0 / cell, 0.0, 0.0, 0.0]);
        Self { middle: first, column: Quadratic(column), row: Quadratic(row) }
    }

    /// The polynomials nearest to `cell_of`, which gives column and row of a place; by differences
    /// over 1 km. `None` where it gives none.
    pub fn about(middle: [f64; 2], cell_of: impl Fn(f64, f64) -> Option<[f64; 2]>) -> Option<Self> {
        let at = |east: f64, north: f64| cell_of(middle[0] + east * STEP, middle[1] + north * STEP);
        let around = [
            at(0.0, 0.0)?,
            at(1.0, 0.0)?,
            at(-1.0, 0.0)?,
            at(0.0, 1.0)?,
            at(0.0, -1.0)?,
            at(1.0, 1.0)?,
            at(-1.0, -1.0)?,
        ];
        let [column, row] = [0, 1].map(|k| Quadratic::through(around.map(|cell| cell[k])));
        Some(Self { middle, column, row })
    }
}

/// Metres over which differences are taken.
const STEP: f64 = 1000.0;

/// ```text
/// c₀ + c₁ e + c₂ n + c₃ e² + c₄ e n + c₅ n²
/// ```
#[derive(Clone, Copy, Debug)]
struct Quadratic([f64; 6]);

impl Quadratic {
    /// Through its values in the middle, one step east, west, north and south, north-east and
    /// south-west.
    fn through([o, e, w, n, s, ne, sw]: [f64; 7]) -> Self {
        let squared = STEP * STEP;
        let (ee, nn) = ((e + w - 2.0 * o) / 2.0, (n + s - 2.0 * o) / 2.0);
        let both = (ne + sw - 2.0 * o) / 2.0 - ee - nn;
        let across = [(e - w) / 2.0 / STEP, (n - s) / 2.0 / STEP];
        Self([o, across[0], across[1], ee / squared, both / squared, nn / squared])
    }

    /// The value and its derivatives by east and north.
    fn at(&self, e: f64, n: f64) -> [f64; 3] {
        let [c0, c1, c2, c3, c4, c5] = self.0;
        let value = c0 + e * (c1 + c3 * e + c4 * n) + n * (c2 + c5 * n);
        [value, c1 + 2.0 * c3 * e + c4 * n, c2 + c4 * e + 2.0 * c5 * n]
    }
}

/// A regular grid of elevations.
#[derive(Clone, Debug)]
pub struct Raster {
    columns: usize,
    rows: usize,
    placing: Placing,
    /// Row by row; not a number where there is none.
    elevations: Arc<Vec<f64>>,
    /// Taken off each.
    zero: f64,
}

impl Raster {
    /// A raster of `size` columns and rows, whose cells lie as `placing` says; `elevations` row by
    /// row, not a number where there is none.
    ///
    /// # Errors
    /// Fewer than two columns or rows, elevations that do not fill them or are all missing, cells
    /// without size, a number that is infinite.
    pub fn new(
        size: [usize; 2],
        placing: Placing,
        elevations: impl Into<Arc<Vec<f64>>>,
    ) -> Result<Self, GroundError> {
        let (elevations, [columns, rows]) = (elevations.into(), size);
        if columns < 2 || rows < 2 {
            return Err(GroundError::TooFewCells { size });
        }
        if columns.checked_mul(rows) != Some(elevations.len()) {
            return Err(GroundError::WrongCount { size, elevations: elevations.len() });
        }
        let Placing { middle, column, row } = placing;
        let mut placed = column.0.iter().chain(&row.0).chain(&middle);
        if !placed.all(|n| n.is_finite()) || elevations.iter().any(|z| z.is_infinite()) {
            return Err(GroundError::NotFinite);
        }
        if elevations.iter().all(|z| z.is_nan()) {
            return Err(GroundError::NoElevations);
        }
        Ok(Self { columns, rows, placing, elevations, zero: 0.0 })
    }

    /// The same ground counted from `zero`.
    #[must_use]
    pub fn above(self, zero: f64) -> Self {
        Self { zero, ..self }
    }

    /// Bilinear in the square between four centres, x and y its shares along columns and rows; the
    /// slopes by the chain rule:
    ///
    /// ```text
    /// z = (1 − y) (a + x (b − a)) + y (c + x (d − c))      a b
    /// ∂z/∂e = ∂z/∂x ∂x/∂e + ∂z/∂y ∂y/∂e                    c d
    /// ```
    /// `None` outside the outermost centres and in any square with a missing corner.
    pub(super) fn at(&self, east: f64, north: f64) -> Option<Sample> {
        let Placing { middle, column, row } = &self.placing;
        let (e, n) = (east - middle[0], north - middle[1]);
        let ([across, across_e, across_n], [down, down_e, down_n]) =
            (column.at(e, n), row.at(e, n));
        let (column, x) = square(across, self.columns)?;
        let (row, y) = square(down, self.rows)?;
        let value = |dx: usize, dy: usize| self.elevations[(row + dy) * self.columns + column + dx];
        let (a, b, c, d) = (value(0, 0), value(1, 0), value(0, 1), value(1, 1));
        let (upper, lower) = (a + x * (b - a), c + x * (d - c));
        let elevation = upper + y * (lower - upper) - self.zero;
        let (by_x, by_y) = ((b - a) * (1.0 - y) + (d - c) * y, lower - upper);
        let slope_east = by_x * across_e + by_y * down_e;
        let slope_north = by_x * across_n + by_y * down_n;
        elevation.is_finite().then_some(Sample { elevation, slope_east, slope_north })
    }
}

/// The square of a column or row among `count` centres, and the share of the way to the next.
fn square(at: f64, count: usize) -> Option<(usize, f64)> {
    if !(0.0..=(count - 1) as f64).contains(&at) {
        return None;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within the grid")]
    let whole = (at.floor() as usize).min(count - 2);
    Some((whole, at - whole as f64))
}
