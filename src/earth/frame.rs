//! East, north, up on the tangent plane at an origin.

use super::ellipsoid::{cartesian, geodetic};
use crate::quantity::{Elevation, Latitude, Longitude};
use nalgebra::{Matrix3, Vector3};

/// A place on the globe (WGS 84).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Position {
    /// North positive.
    pub latitude: Latitude,
    /// East positive.
    pub longitude: Longitude,
    /// Above the ellipsoid.
    pub elevation: Elevation,
}

impl Position {
    fn cartesian(&self) -> Vector3<f64> {
        let (phi, lambda) = (self.latitude.to_radians(), self.longitude.to_radians());
        Vector3::from(cartesian(phi, lambda, self.elevation.to_metres()))
    }
}

/// The tangent plane at an origin. Source: the topocentric conversion of
/// [`Source::Epsg2019`](crate::sources::Source::Epsg2019).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    origin: Position,
    centre: Vector3<f64>,
    /// Its rows are the directions east, north and up.
    rotation: Matrix3<f64>,
}

impl Frame {
    /// The frame at `origin`.
    pub fn at(origin: Position) -> Self {
        let (sp, cp) = origin.latitude.to_radians().sin_cos();
        let (sl, cl) = origin.longitude.to_radians().sin_cos();
        let rotation = Matrix3::new(-sl, cl, 0.0, -sp * cl, -sp * sl, cp, cp * cl, cp * sl, sp);
        Self { origin, centre: origin.cartesian(), rotation }
    }

    /// Its origin.
    pub fn origin(&self) -> Position {
        self.origin
    }

    /// East, north and up of a position, metres.
    pub fn local(&self, position: Position) -> [f64; 3] {
        (self.rotation * (position.cartesian() - self.centre)).into()
    }

    /// The position at east, north and up, metres.
    pub fn geodetic(&self, local: [f64; 3]) -> Option<Position> {
        let xyz = self.centre + self.rotation.tr_mul(&Vector3::from(local));
        let [phi, lambda, height] = geodetic(xyz.into());
        Some(Position {
            latitude: Latitude::from_radians(phi)?,
            longitude: Longitude::from_radians(lambda)?,
            elevation: Elevation::from_metres(height),
        })
    }
}
