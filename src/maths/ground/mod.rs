//! The ground under a survey, in its local frame.
//!
//! In: a model (level, a plane, stated points, a raster). Out: its elevation at a place with both
//! slopes, which the solver needs, metres above the origin's ground; or, while it is made, a
//! [`GroundError`] in the user's words.
//! Fixed before the adjustment; its roughness about the model is a standard deviation elsewhere.
//! Assumes ground that can be walked on: one elevation a place, no overhang.
//! Left out: reading raster files (`survey/input`).

mod error;
mod points;
mod raster;

use crate::maths::quantity::{Bearing, Incline};
pub use error::GroundError;
use points::Points;
pub use raster::{Placing, Raster};

/// Steeper than this, degrees, a plane is a cliff and its elevation means nothing.
const STEEPEST: f64 = 80.0;

/// The ground at one place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sample {
    /// Metres above the origin's ground.
    pub elevation: f64,
    /// Rise for each metre east.
    pub slope_east: f64,
    /// Rise for each metre north.
    pub slope_north: f64,
}

/// A model of the ground.
#[derive(Clone, Debug, Default)]
pub struct Ground(Model);

#[derive(Clone, Debug, Default)]
enum Model {
    #[default]
    Flat,
    Plane(Sample),
    Points(Points),
    Raster(Raster),
}

impl Ground {
    /// Level ground at the origin's elevation.
    pub fn flat() -> Self {
        Self(Model::Flat)
    }

    /// A plane through the origin that falls by `angle` in the direction `downhill`.
    ///
    /// # Errors
    /// A plane steeper than 80°.
    pub fn slope(angle: Incline, downhill: Bearing) -> Result<Self, GroundError> {
        if angle.to_degrees().abs() > STEEPEST {
            return Err(GroundError::TooSteep { degrees: angle.to_degrees() });
        }
        let (sin, cos) = downhill.to_radians().sin_cos();
        let fall = angle.to_radians().tan();
        let (slope_east, slope_north) = (-fall * sin, -fall * cos);
        Ok(Self(Model::Plane(Sample { elevation: 0.0, slope_east, slope_north })))
    }

    /// Ground through stated points (east, north, elevation, metres): their least-squares plane,
    /// and what is left of each, weighted by inverse squared distance.
    ///
    /// # Errors
    /// No point, a number that is none, or one place with two elevations.
    pub fn points(stated: &[[f64; 3]]) -> Result<Self, GroundError> {
        Points::through(stated).map(|points| Self(Model::Points(points)))
    }

    /// Ground by a raster.
    pub fn raster(raster: Raster) -> Self {
        Self(Model::Raster(raster))
    }

    /// Whether it is level throughout.
    pub fn is_flat(&self) -> bool {
        matches!(self.0, Model::Flat)
    }

    /// The ground at a place (metres east and north of the origin); `None` where a raster has no
    /// elevation.
    pub fn at(&self, east: f64, north: f64) -> Option<Sample> {
        match &self.0 {
            Model::Flat => Some(Sample::default()),
            Model::Plane(plane) => Some(Sample {
                elevation: plane.slope_east * east + plane.slope_north * north,
                ..*plane
            }),
            Model::Points(points) => Some(points.at(east, north)),
            Model::Raster(raster) => raster.at(east, north),
        }
    }
}
