//! The ground under a survey, in its local frame.
//!
//! In: a model (level, a plane, stated points, a raster). Out: its elevation at a place with both
//! slopes, which the solver needs, metres above the origin's ground.
//! Fixed before the adjustment; its roughness about the model is a standard deviation elsewhere.
//! Left out: reading raster files (room `input`).

mod points;
mod raster;

use crate::quantity::{Bearing, Incline};
use points::Points;
pub use raster::Raster;

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
    pub fn slope(angle: Incline, downhill: Bearing) -> Self {
        let (sin, cos) = downhill.to_radians().sin_cos();
        let fall = angle.to_radians().tan();
        let (slope_east, slope_north) = (-fall * sin, -fall * cos);
        Self(Model::Plane(Sample { elevation: 0.0, slope_east, slope_north }))
    }

    /// Ground through stated points (east, north, elevation, metres): their least-squares plane,
    /// and what is left of each, weighted by inverse squared distance.
    pub fn points(stated: &[[f64; 3]]) -> Self {
        Self(Model::Points(Points::through(stated)))
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
