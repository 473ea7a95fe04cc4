//! Why a model of the ground cannot be made.

use crate::maths::quantity::{degrees, metres};
use std::error::Error;
use std::fmt::{Display, Formatter, Result as Formatted};

/// Why a model of the ground cannot be made, in words for the user.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GroundError {
    /// A plane that is a cliff.
    TooSteep {
        /// Its steepness.
        degrees: f64,
    },
    /// Ground by points, without any.
    NoPoints,
    /// A coordinate, an elevation or a cell size that is not a finite number.
    NotFinite,
    /// Two points at one place that differ in elevation.
    TwoElevations {
        /// The place, metres east of the origin.
        east: f64,
        /// The place, metres north of the origin.
        north: f64,
        /// The lower and the higher elevation.
        elevations: [f64; 2],
    },
    /// A raster of fewer than two columns or rows.
    TooFewCells {
        /// Its columns and rows.
        size: [usize; 2],
    },
    /// A raster whose elevations do not fill its columns and rows.
    WrongCount {
        /// Its columns and rows.
        size: [usize; 2],
        /// How many elevations there are.
        elevations: usize,
    },
    /// A raster without a single elevation.
    NoElevations,
}

impl Display for GroundError {
    fn fmt(&self, f: &mut Formatter<'_>) -> Formatted {
        match *self {
            Self::TooSteep { degrees: angle } => {
                write!(f, "a slope of {} is a cliff; the limit is 80°", degrees(angle))
            }
            Self::NoPoints => write!(f, "no control has an elevation to lay the ground through"),
            Self::NotFinite => write!(f, "a position, elevation or cell size is not a number"),
            Self::TwoElevations { east, north, elevations: [low, high] } => {
                let (east, north) = (metres(east), metres(north));
                let (low, high) = (metres(low), metres(high));
                write!(f, "two ground points at one place ({east} east, {north} north) ")?;
                write!(f, "have different elevations, {low} and {high} above the origin's ground")
            }
            Self::TooFewCells { size: [columns, rows] } => {
                write!(f, "a raster of {columns} × {rows} cells; it takes at least 2 × 2")
            }
            Self::WrongCount { size: [columns, rows], elevations } => {
                write!(f, "a raster of {columns} × {rows} cells with {elevations} elevations")
            }
            Self::NoElevations => write!(f, "a raster in which every cell is without elevation"),
        }
    }
}

impl Error for GroundError {}
