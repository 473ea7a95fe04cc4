//! Ground by a raster of elevations, bilinear between the centres of its cells.

use super::{GroundError, Sample};

/// A regular grid of elevations in the local frame.
#[derive(Clone, Debug)]
pub struct Raster {
    columns: usize,
    rows: usize,
    /// Metres east and north of the centre of the south-western cell.
    corner: [f64; 2],
    cell: f64,
    /// Row by row from the north; not a number where there is none.
    elevations: Vec<f64>,
}

impl Raster {
    /// A raster of `size` columns and rows, its cells `cell` metres wide, the centre of the
    /// south-western one at `corner`; `elevations` from the north-west, row by row, not a number
    /// where there is none.
    ///
    /// # Errors
    /// Fewer than two columns or rows, elevations that do not fill them or are all missing, a cell
    /// without size, a number that is infinite.
    pub fn new(
        size: [usize; 2],
        corner: [f64; 2],
        cell: f64,
        elevations: Vec<f64>,
    ) -> Result<Self, GroundError> {
        let [columns, rows] = size;
        if columns < 2 || rows < 2 {
            return Err(GroundError::TooFewCells { size });
        }
        if columns.checked_mul(rows) != Some(elevations.len()) {
            return Err(GroundError::WrongCount { size, elevations: elevations.len() });
        }
        let frame = [corner[0], corner[1], cell];
        if !frame.iter().all(|n| n.is_finite()) || elevations.iter().any(|z| z.is_infinite()) {
            return Err(GroundError::NotFinite);
        }
        if cell <= 0.0 {
            return Err(GroundError::CellSize { cell });
        }
        if elevations.iter().all(|z| z.is_nan()) {
            return Err(GroundError::NoElevations);
        }
        Ok(Self { columns, rows, corner, cell, elevations })
    }

    /// Bilinear in the square between four centres, x and y its shares east and north:
    ///
    /// ```text
    /// z = (1 − y) (sw + x (se − sw)) + y (nw + x (ne − nw))
    /// ```
    /// `None` outside the outermost centres and in any square with a missing corner.
    pub(super) fn at(&self, east: f64, north: f64) -> Option<Sample> {
        let (column, x) = place(east, self.corner[0], self.cell, self.columns)?;
        let (row, y) = place(north, self.corner[1], self.cell, self.rows)?;
        let value = |dx: usize, dy: usize| {
            self.elevations[(self.rows - 1 - row - dy) * self.columns + column + dx]
        };
        let (sw, se, nw, ne) = (value(0, 0), value(1, 0), value(0, 1), value(1, 1));
        let (lower, upper) = (sw + x * (se - sw), nw + x * (ne - nw));
        let elevation = lower + y * (upper - lower);
        let slope_east = ((se - sw) * (1.0 - y) + (ne - nw) * y) / self.cell;
        let slope_north = (upper - lower) / self.cell;
        elevation.is_finite().then_some(Sample { elevation, slope_east, slope_north })
    }
}

/// The cell of a coordinate among `count`, and the share of the way to the next.
fn place(at: f64, first: f64, cell: f64, count: usize) -> Option<(usize, f64)> {
    let along = (at - first) / cell;
    if !(0.0..=(count - 1) as f64).contains(&along) {
        return None;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within the grid")]
    let whole = (along.floor() as usize).min(count - 2);
    Some((whole, along - whole as f64))
}
