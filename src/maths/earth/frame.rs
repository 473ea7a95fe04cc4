//! East, north, up on the tangent plane at an origin.

use super::ellipsoid::{cartesian, geodetic, prime_vertical};
use crate::maths::quantity::{Elevation, Latitude, Longitude};
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
/// [`Source::Epsg2019`](crate::survey::sources::Source::Epsg2019).
///
/// A survey counts heights from the level surface through its origin, not from the plane, which
/// leaves that surface by d² / 2 R (1.3 m at 4 km). So its plan is the plan of the places of that
/// surface ([`plan`](Self::plan)), and leads back to them ([`placed`](Self::placed)), whatever
/// height is found above: a known point comes back as it was given.
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

    /// East and north, metres, of the place below or above which everything at this latitude and
    /// longitude stands: at the origin's elevation.
    pub fn plan(&self, latitude: Latitude, longitude: Longitude) -> [f64; 2] {
        let elevation = self.origin.elevation;
        let [east, north, _] = self.local(Position { latitude, longitude, elevation });
        [east, north]
    }

    /// The position whose plan is east and north, and which stands `rise` above the origin, metres.
    ///
    /// The place on the origin's level surface by Newton's rule along the plane's normal. Within
    /// 100 km each step more than doubles the digits.
    pub fn placed(&self, [east, north, rise]: [f64; 3]) -> Option<Position> {
        const STEPS: usize = 20;
        const NEAR: f64 = 1e-9; // metres
        let level = self.origin.elevation.to_metres();
        let mut up = -east.hypot(north).powi(2) / (2.0 * prime_vertical(0.0));
        let mut place = self.geodetic([east, north, up])?;
        for _ in 0..STEPS {
            let off = place.elevation.to_metres() - level;
            if off.abs() < NEAR {
                break;
            }
            up -= off / self.steepness(place);
            place = self.geodetic([east, north, up])?;
        }
        Some(Position { elevation: Elevation::from_metres(level + rise), ..place })
    }

    /// Metres of height gained by a metre along the plane's normal: the cosine of the angle between
    /// that and the vertical at a place.
    fn steepness(&self, place: Position) -> f64 {
        let (sin, cos) = place.latitude.to_radians().sin_cos();
        let (sin_lambda, cos_lambda) = place.longitude.to_radians().sin_cos();
        let vertical = Vector3::new(cos * cos_lambda, cos * sin_lambda, sin);
        (self.rotation * vertical).z
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
