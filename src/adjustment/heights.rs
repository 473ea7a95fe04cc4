//! Heights above ground by back-substitution, after elevations are adjusted.

use super::raw::height;
use crate::adjustment::network::Network;
use crate::maths::ground::Ground;
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
}

impl AdjustedHeight {
    /// Where the position is not known.
    pub(super) const UNKNOWN: Self =
        Self { height: f64::NAN, sd: f64::NAN, ground: f64::NAN, follows: f64::NAN };
}

impl AdjustedHeight {
    /// The same where one standard deviation of each thing that readings share moves the elevation
    /// over the ground and the reading by so much. The elevation's part is in `sd` already.
    ///
    /// ```text
    /// var h + Σ ( (k dz + (1 − k) dh₀)² − (k dz)² )
    /// ```
    pub(super) fn shared(self, moves: impl Iterator<Item = [f64; 2]>) -> Self {
        let more = moves.map(|[above, read]| {
            let followed = self.follows * above;
            (followed + (1.0 - self.follows) * read).powi(2) - followed * followed
        });
        let variance = self.sd.powi(2) + more.sum::<f64>();
        Self { sd: variance.max(0.0).sqrt(), ..self }
    }
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
    AdjustedHeight { height, sd, ground: g, follows }
}

#[cfg(test)]
mod tests {
    use super::super::written::survey;
    use super::*;
    use crate::maths::quantity::{Bearing, Incline};

    /// On ground that falls by 0.6 to the east and 0.8 to the north the point at (4, 0, −0.4) stands
    /// 2 m above −2.4. How far z − g is known: (0.6, 0.8, 1) with the covariance makes 0.36 · 0.04 +
    /// 0.64 · 0.01 + 0.09 + 1.2 · 0.02 + 1.6 · 0.01 = 0.1508. Read 2.3 m ± 0.05 over ground rough by
    /// 0.1: k = 0.0025 / 0.0125 = 0.2, h = 2.3 − 0.2 · 0.3 and var h = 0.002 + 0.04 · 0.1508. Where none
    /// was read: 2 m with 0.01 + 0.1508.
    #[test]
    fn rough_ground_leaves_the_height_that_was_read() {
        let table = "trail,anchor,tape_m,bearing_deg,height_m\nBor,0,,,2.3\nBor,1,3,0,";
        let (_, network) = survey(table, "");
        let precision =
            Precision { height_m: 0.05, height_per_m: 0.0, ground_m: 0.1, ..Precision::default() };
        let fall = Incline::from_degrees(45.0).unwrap();
        let ground = Ground::slope(fall, Bearing::from_radians(0.75_f64.atan())).unwrap();
        let position = Vector3::new(4.0, 0.0, -0.4);
        let covariance = Matrix3::new(0.04, 0.0, 0.02, 0.0, 0.01, 0.01, 0.02, 0.01, 0.09);
        let of =
            |node| back_substituted(&network, &precision, &ground, node, (&position, &covariance));
        let expected = [
            (0, [2.24, 0.008_032_f64.sqrt(), -2.4, 0.2]),
            (1, [2.0, 0.160_8_f64.sqrt(), -2.4, 1.0]),
        ];
        for (node, numbers) in expected {
            let AdjustedHeight { height, sd, ground, follows } = of(node);
            for (found, known) in [height, sd, ground, follows].into_iter().zip(numbers) {
                assert!((found - known).abs() < 1e-12, "{node}: {found} for {known}");
            }
        }
    }
}
