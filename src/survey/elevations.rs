//! A raster of elevations as its file gives it, in plan coordinates of its own.

use std::sync::Arc;

/// The plan coordinates in which the cells of a raster lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlanSystem {
    /// Degrees of longitude and latitude, WGS 84.
    Geographic,
    /// Easting and northing in a zone of the UTM grid, metres.
    Utm {
        /// 1 to 60.
        zone: u8,
        /// Whether northings count from ten million metres below the equator.
        south: bool,
    },
}

/// A raster of elevations. Coordinates are longitude and latitude, or easting and northing.
#[derive(Clone, Debug)]
pub struct ElevationRaster {
    /// What its coordinates are.
    pub system: PlanSystem,
    /// Columns and rows.
    pub size: [usize; 2],
    /// The centre of the first cell.
    pub first: [f64; 2],
    /// From one column to the next.
    pub to_column: [f64; 2],
    /// From one row to the next.
    pub to_row: [f64; 2],
    /// Metres above the sea, row by row; not a number where there is none.
    pub elevations: Arc<Vec<f64>>,
}

impl ElevationRaster {
    /// Column and row of a place by its coordinates, in parts of cells from the first centre.
    pub fn cell_of(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let ([a, c], [b, d]) = (self.to_column, self.to_row);
        let (x, y) = (x - self.first[0], y - self.first[1]);
        let area = a * d - b * c;
        [(d * x - b * y) / area, (a * y - c * x) / area]
    }
}
