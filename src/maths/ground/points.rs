//! Ground through stated elevations: a plane and what is left of each point.

use super::{GroundError, Sample};

/// A plane, and points with their elevations above it.
#[derive(Clone, Debug)]
pub(super) struct Points {
    centre: [f64; 2],
    plane: Sample,
    /// East, north, and elevation above the plane.
    rest: Vec<[f64; 3]>,
}

/// Closer than this, metres, a place is the point itself: the weights would overflow.
const AT_POINT: f64 = 1e-6;
/// Closer than this, metres, two points are one place stated twice.
const ONE_PLACE: f64 = 0.01;
/// Points that spread less than this share across their line say nothing of the tilt across it: a
/// hand's breadth of roughness would swing the plane, and with it all ground beside the line.
const NARROW: f64 = 0.1;

impl Points {
    /// One point makes level ground, two a tilt along their line, more the plane of least squares.
    pub(super) fn through(stated: &[[f64; 3]]) -> Result<Self, GroundError> {
        let stated = places(stated)?;
        let count = stated.len() as f64;
        let mean = |k: usize| stated.iter().map(|point| point[k]).sum::<f64>() / count;
        let middle = [mean(0), mean(1), mean(2)];
        let [slope_east, slope_north] = tilt(&stated, middle);
        let plane = Sample { elevation: middle[2], slope_east, slope_north };
        let mut points = Self { centre: [middle[0], middle[1]], plane, rest: Vec::new() };
        points.rest = stated.iter().map(|&[e, n, z]| [e, n, z - points.on_plane(e, n)]).collect();
        Ok(points)
    }

    fn on_plane(&self, east: f64, north: f64) -> f64 {
        self.plane.elevation
            + self.plane.slope_east * (east - self.centre[0])
            + self.plane.slope_north * (north - self.centre[1])
    }

    /// Plane plus what is left, r:
    ///
    /// ```text
    /// r = Σ wᵢ rᵢ / Σ wᵢ,   wᵢ = 1 / dᵢ²,   ∂r = Σ ∂wᵢ (rᵢ − r) / Σ wᵢ,   ∂wᵢ = −2 wᵢ² (x − xᵢ)
    /// ```
    /// Smooth everywhere, the points included, where it is level and r = rᵢ. Far away r fades to
    /// the mean of all rᵢ, which is zero: there the plane carries on.
    pub(super) fn at(&self, east: f64, north: f64) -> Sample {
        let on_plane = self.on_plane(east, north);
        let squared = |e: f64, n: f64| (east - e).powi(2) + (north - n).powi(2);
        let here = |point: &&[f64; 3]| squared(point[0], point[1]) < AT_POINT * AT_POINT;
        if let Some(&[_, _, r]) = self.rest.iter().find(here) {
            return Sample { elevation: on_plane + r, ..self.plane };
        }
        let weighted = || self.rest.iter().map(|&[e, n, r]| (1.0 / squared(e, n), [e, n, r]));
        let sum: f64 = weighted().map(|(w, _)| w).sum();
        let r = weighted().map(|(w, [_, _, ri])| w * ri).sum::<f64>() / sum;
        let slope = |x: f64, k: usize| {
            weighted().map(|(w, p)| -2.0 * w * w * (x - p[k]) * (p[2] - r)).sum::<f64>() / sum
        };
        Sample {
            elevation: on_plane + r,
            slope_east: self.plane.slope_east + slope(east, 0),
            slope_north: self.plane.slope_north + slope(north, 1),
        }
    }
}

/// The stated points, each place once.
fn places(stated: &[[f64; 3]]) -> Result<Vec<[f64; 3]>, GroundError> {
    if stated.iter().flatten().any(|number| !number.is_finite()) {
        return Err(GroundError::NotFinite);
    }
    let mut places: Vec<[f64; 3]> = Vec::new();
    for &[east, north, elevation] in stated {
        let before = places.iter().find(|p| (p[0] - east).hypot(p[1] - north) < ONE_PLACE);
        match before.map(|place| place[2]) {
            None => places.push([east, north, elevation]),
            Some(other) if (other - elevation).abs() < ONE_PLACE => {}
            Some(other) => {
                let elevations = [other.min(elevation), other.max(elevation)];
                return Err(GroundError::TwoElevations { east, north, elevations });
            }
        }
    }
    if places.is_empty() { Err(GroundError::NoPoints) } else { Ok(places) }
}

/// The slopes east and north of the plane of least squares, along the axes in which the points
/// spread: with u, v the long and the short one (unit vectors) and s the sums of products,
///
/// ```text
/// slope = u (s_uz / s_uu) + v (s_vz / s_vv),   tan 2α = 2 s_en / (s_ee − s_nn),   u = (cos α, sin α)
/// ```
/// without an axis along which they hardly spread.
fn tilt(stated: &[[f64; 3]], middle: [f64; 3]) -> [f64; 2] {
    let sum = |product: &dyn Fn([f64; 3]) -> f64| -> f64 {
        stated.iter().map(|p| product([p[0] - middle[0], p[1] - middle[1], p[2] - middle[2]])).sum()
    };
    let twice_east_north = 2.0 * sum(&|[e, n, _]| e * n);
    let alpha = 0.5 * twice_east_north.atan2(sum(&|[e, n, _]| e * e - n * n));
    let (sin, cos) = alpha.sin_cos();
    let [long, short] = [[cos, sin], [-sin, cos]].map(|axis| {
        let along = move |e: f64, n: f64| axis[0] * e + axis[1] * n;
        let spread = sum(&|[e, n, _]| along(e, n).powi(2));
        (axis, spread, sum(&|[e, n, z]| along(e, n) * z))
    });
    let mut slope = [0.0; 2];
    for (axis, spread, with_elevation) in [long, short] {
        if spread > 0.0 && spread > NARROW * NARROW * long.1 {
            slope[0] += axis[0] * with_elevation / spread;
            slope[1] += axis[1] * with_elevation / spread;
        }
    }
    slope
}
