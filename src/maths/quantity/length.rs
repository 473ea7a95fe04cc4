//! Lengths: [`Length`] along a tape, [`Height`] above ground, [`Elevation`] above the datum.

use std::ops::{Add, Sub};

/// One international foot in metres, exact by definition (1959 agreement).
const FOOT: f64 = 0.3048;

/// A measured length, in metres.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Length(f64);

impl Length {
    /// A length of `value` metres.
    pub fn from_metres(value: f64) -> Self {
        Self(value)
    }

    /// A length of `value` international feet.
    pub fn from_feet(value: f64) -> Self {
        Self(value * FOOT)
    }

    /// Metres.
    pub fn to_metres(self) -> f64 {
        self.0
    }
}

/// A height above the ground beneath; negative in a burrow.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Height(f64);

impl Height {
    /// A height of `value` metres above ground.
    pub fn from_metres(value: f64) -> Self {
        Self(value)
    }

    /// A height of `value` international feet above ground.
    pub fn from_feet(value: f64) -> Self {
        Self(value * FOOT)
    }

    /// Metres above ground.
    pub fn to_metres(self) -> f64 {
        self.0
    }
}

/// An elevation above the datum of its source (the ellipsoid, or the origin's ground in the local
/// frame); never a height above ground.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Elevation(f64);

impl Elevation {
    /// An elevation of `value` metres.
    pub fn from_metres(value: f64) -> Self {
        Self(value)
    }

    /// Metres.
    pub fn to_metres(self) -> f64 {
        self.0
    }
}

impl Add<Height> for Elevation {
    type Output = Self;
    /// The elevation of a point `height` above ground that lies at this elevation.
    fn add(self, height: Height) -> Self {
        Self(self.0 + height.0)
    }
}

impl Sub for Elevation {
    type Output = Height;
    /// The height of this elevation above the ground elevation `ground`.
    fn sub(self, ground: Self) -> Height {
        Height(self.0 - ground.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ten_feet() {
        assert!((Length::from_feet(10.0).to_metres() - 3.048).abs() < 1e-15);
    }

    #[test]
    fn ground_and_height_make_an_elevation_and_back() {
        let top = Elevation::from_metres(420.0) + Height::from_metres(3.5);
        assert!(((top - Elevation::from_metres(420.0)).to_metres() - 3.5).abs() < 1e-12);
    }
}
