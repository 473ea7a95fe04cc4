//! Heights above ground by back-substitution, after elevations are adjusted.

use super::raw::height;
use crate::ground::Ground;
use crate::network::Network;
use crate::survey::settings::Precision;
use nalgebra::{Matrix3, Vector3};

/// The height of a node above ground, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AdjustedHeight {
    /// Above the ground beneath.
    pub height: f64,
    /// Its standard deviation.
    pub sd: f64,
    /// Elevation of the ground model there.
    pub ground: f64,
    /// How far the height follows a change of the elevation: 1 on smooth ground, 0 where the
    /// height was read and the ground is rough.
    pub follows: f64,
    /// Standard deviation of what the elevation does not tell.
    pub own_sd: f64,
}

impl AdjustedHeight {
    /// Where the position is not known.
    pub(super) const UNKNOWN: Self = Self {
        height: f64::NAN,
        sd: f64::NAN,
        ground: f64::NAN,
        follows: f64::NAN,
        own_sd: f64::NAN,
    };
}

/// The height at elevation z over ground g, when h₀ was read with variance σ² and the ground is
/// rough with variance ρ²:
///
/// ```text
/// k = σ² / (σ² + ρ²),   h = h₀ + k (z − g − h₀),   var h = σ²ρ²/(σ² + ρ²) + k² var(z − g)
/// ```
/// Where none was read, h = z − g with variance var(z − g) + ρ².
pub(super) fn back_substituted(
    network: &Network,
    precision: &Precision,
    ground: &Ground,
    node: usize,
    (position, covariance): (&Vector3<f64>, &Matrix3<f64>),
) -> AdjustedHeight {
    let sample = ground.at(position.x, position.y);
    let (g, slope) =
        sample.map_or((0.0, [0.0; 2]), |s| (s.elevation, [s.slope_east, s.slope_north]));
    let by_position = Vector3::new(-slope[0], -slope[1], 1.0);
    let above = position.z - g;
    let variance_above = by_position.dot(&(covariance * by_position)).max(0.0);
    let rough = precision.ground_m.powi(2);
    let (height, follows, own) = match height(network, precision, node) {
        Some((read, sd)) => {
            let (read_variance, both) = (sd * sd, sd * sd + rough);
            let k = read_variance / both;
            (read + k * (above - read), k, read_variance * rough / both)
        }
        None => (above, 1.0, rough),
    };
    let sd = (own + follows * follows * variance_above).sqrt();
    AdjustedHeight { height, sd, ground: g, follows, own_sd: own.sqrt() }
}
