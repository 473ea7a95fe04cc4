//! Ground by a raster of elevations, bilinear between the centres of its cells.

use super::Sample;

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
    /// A raster of `columns` cells of `cell` metres a row; `elevations` from the north-west, row
    /// by row. `None` if they do not fill at least two rows of at least two columns.
    pub fn new(columns: usize, corner: [f64; 2], cell: f64, elevations: Vec<f64>) -> Option<Self> {
        let rows = elevations.len().checked_div(columns)?;
        let fits = columns >= 2 && rows >= 2 && rows * columns == elevations.len() && cell > 0.0;
        fits.then_some(Self { columns, rows, corner, cell, elevations })
    }

    pub(super) fn at(&self, east: f64, north: f64) -> Option<Sample> {
        let (column, x) = place(east, self.corner[0], self.cell, self.columns)?;
        let (row, y) = place(north, self.corner[1], self.cell, self.rows)?;
        let value = |dx: usize, dy: usize| {
            self.elevations[(self.rows - 1 - row - dy) * self.columns + column + dx]
        };
        let (sw, se, nw, ne) = (value(0, 0), value(1, 0), value(0, 1), value(1, 1));
        let (south, north) = (sw + x * (se - sw), nw + x * (ne - nw));
        let elevation = south + y * (north - south);
        let slope_east = ((se - sw) * (1.0 - y) + (ne - nw) * y) / self.cell;
        let slope_north = (north - south) / self.cell;
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
