//! Angles: [`Bearing`] (wrapped), [`Turn`] (signed), [`Incline`] (±90°), latitude and longitude.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// One degree in radians.
const DEGREE: f64 = PI / 180.0;
/// One gon (400 to the circle) in radians.
const GON: f64 = PI / 200.0;

/// The angle in [-π, π) that differs from `radians` by whole turns.
pub fn wrap_half_turn(radians: f64) -> f64 {
    (radians + PI).rem_euclid(TAU) - PI
}

/// A direction in plan, clockwise from north, in [0°, 360°).
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Bearing(f64);

impl Bearing {
    /// A bearing of `value` radians; whole turns are taken off.
    pub fn from_radians(value: f64) -> Self {
        let wrapped = value.rem_euclid(TAU);
        Self(if wrapped < TAU { wrapped } else { 0.0 }) // -1e-20 would wrap to TAU itself
    }

    /// A bearing of `value` degrees; whole turns are taken off.
    pub fn from_degrees(value: f64) -> Self {
        Self::from_radians(value * DEGREE)
    }

    /// A bearing of `value` gon, 400 to the circle.
    pub fn from_gon(value: f64) -> Self {
        Self::from_radians(value * GON)
    }

    /// The 16 points of the compass, clockwise from north.
    pub const POINTS: &[&str] = &[
        "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW",
        "NW", "NNW",
    ];

    /// A bearing by its name among the 16 points of the compass, in any case.
    pub fn from_point(name: &str) -> Option<Self> {
        let place = Self::POINTS.iter().position(|point| point.eq_ignore_ascii_case(name))?;
        Some(Self::from_degrees(22.5 * place as f64))
    }

    /// The nearest of the 16 points of the compass.
    pub fn to_point(self) -> &'static str {
        let half = TAU / 2.0 / Self::POINTS.len() as f64;
        let off = |k: usize| wrap_half_turn(self.0 - 2.0 * half * k as f64).abs();
        (0..Self::POINTS.len())
            .find(|&k| off(k) <= half)
            .map_or(Self::POINTS[0], |k| Self::POINTS[k])
    }

    /// The direction of the plan vector (`east`, `north`); `None` for the zero vector.
    pub fn of_vector(east: f64, north: f64) -> Option<Self> {
        (east != 0.0 || north != 0.0).then(|| Self::from_radians(east.atan2(north)))
    }

    /// Radians in [0, 2π).
    pub fn to_radians(self) -> f64 {
        self.0
    }

    /// Degrees in [0, 360).
    pub fn to_degrees(self) -> f64 {
        self.0 / DEGREE
    }

    /// The bearing read from the other end of the line.
    #[must_use]
    pub fn reversed(self) -> Self {
        Self::from_radians(self.0 + PI)
    }

    /// The bearing after turning by `turn`, right positive.
    #[must_use]
    pub fn turned_by(self, turn: Turn) -> Self {
        Self::from_radians(self.0 + turn.0)
    }

    /// The smaller turn from `before` to here, right positive, in [-180°, 180°).
    pub fn turn_from(self, before: Self) -> Turn {
        Turn(wrap_half_turn(self.0 - before.0))
    }
}

/// A change of direction in plan, right positive; not wrapped.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Turn(f64);

impl Turn {
    /// A turn of `value` radians, right positive.
    pub fn from_radians(value: f64) -> Self {
        Self(value)
    }

    /// A turn of `value` degrees, right positive.
    pub fn from_degrees(value: f64) -> Self {
        Self(value * DEGREE)
    }

    /// Radians, right positive.
    pub fn to_radians(self) -> f64 {
        self.0
    }

    /// Degrees, right positive.
    pub fn to_degrees(self) -> f64 {
        self.0 / DEGREE
    }
}

/// The steepness of a line, up positive, in [-90°, 90°].
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Incline(f64);

impl Incline {
    /// An incline of `value` radians; `None` beyond the vertical.
    pub fn from_radians(value: f64) -> Option<Self> {
        (value.abs() <= FRAC_PI_2).then_some(Self(value))
    }

    /// An incline of `value` degrees; `None` beyond the vertical.
    pub fn from_degrees(value: f64) -> Option<Self> {
        (value.abs() <= 90.0).then_some(Self(value * DEGREE))
    }

    /// The incline of a line with this `rise` over this `run` (both metres, run not negative).
    pub fn of_rise(rise: f64, run: f64) -> Self {
        Self(rise.atan2(run))
    }

    /// Radians, up positive.
    pub fn to_radians(self) -> f64 {
        self.0
    }

    /// Degrees, up positive.
    pub fn to_degrees(self) -> f64 {
        self.0 / DEGREE
    }
}

/// Geodetic latitude, north positive, in [-90°, 90°].
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Latitude(f64);

impl Latitude {
    /// `value` radians; `None` beyond a pole.
    pub fn from_radians(value: f64) -> Option<Self> {
        (value.abs() <= FRAC_PI_2).then_some(Self(value))
    }

    /// `value` degrees north; `None` beyond a pole.
    pub fn from_degrees(value: f64) -> Option<Self> {
        (value.abs() <= 90.0).then_some(Self(value * DEGREE))
    }

    /// Radians, north positive.
    pub fn to_radians(self) -> f64 {
        self.0
    }

    /// Degrees, north positive.
    pub fn to_degrees(self) -> f64 {
        self.0 / DEGREE
    }
}

/// Geodetic longitude, east positive, in [-180°, 180°].
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Longitude(f64);

impl Longitude {
    /// `value` radians; `None` beyond half a turn.
    pub fn from_radians(value: f64) -> Option<Self> {
        (value.abs() <= PI).then_some(Self(value))
    }

    /// `value` degrees east; `None` beyond half a turn.
    pub fn from_degrees(value: f64) -> Option<Self> {
        (value.abs() <= 180.0).then_some(Self(value * DEGREE))
    }

    /// Radians, east positive.
    pub fn to_radians(self) -> f64 {
        self.0
    }

    /// Degrees, east positive.
    pub fn to_degrees(self) -> f64 {
        self.0 / DEGREE
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_bearing_just_under_zero_stays_under_a_full_turn() {
        assert!(Bearing::from_degrees(-1e-20).to_degrees().abs() < 1e-15);
        assert!((Bearing::from_degrees(-90.0).to_degrees() - 270.0).abs() < 1e-12);
    }

    #[test]
    fn gon_and_points_agree_with_degrees() {
        assert!((Bearing::from_gon(100.0).to_degrees() - 90.0).abs() < 1e-12);
        assert!((Bearing::from_point("ssw").unwrap().to_degrees() - 202.5).abs() < 1e-12);
        assert!(Bearing::from_point("NORTH").is_none());
    }

    #[test]
    fn an_incline_beyond_the_vertical_is_refused() {
        assert!(Incline::from_degrees(90.0).is_some());
        assert!(Incline::from_degrees(90.1).is_none());
    }

    proptest! {
        #[test]
        fn turning_by_a_turn_arrives(before in 0.0..360.0_f64, after in 0.0..360.0_f64) {
            let (before, after) = (Bearing::from_degrees(before), Bearing::from_degrees(after));
            let arrived = before.turned_by(after.turn_from(before));
            prop_assert!(arrived.turn_from(after).to_radians().abs() < 1e-9);
        }
    }
}
