//! Ground through stated elevations: a plane and what is left of each point.

use super::Sample;
use nalgebra::{DMatrix, DVector};

/// A plane, and points with their elevations above it.
#[derive(Clone, Debug)]
pub(super) struct Points {
    centre: [f64; 2],
    plane: Sample,
    /// East, north, and elevation above the plane.
    rest: Vec<[f64; 3]>,
}

/// Closer than this, metres, a place is the point itself.
const AT_POINT: f64 = 1e-6;

impl Points {
    /// One point makes level ground, two a tilt along their line, more the plane of least squares.
    pub(super) fn through(stated: &[[f64; 3]]) -> Self {
        let n = (stated.len() as f64).max(1.0);
        let mean = |k: usize| stated.iter().map(|point| point[k]).sum::<f64>() / n;
        let centre = [mean(0), mean(1)];
        let offsets = DMatrix::from_fn(stated.len(), 2, |row, k| stated[row][k] - centre[k]);
        let elevations = DVector::from_fn(stated.len(), |row, _| stated[row][2] - mean(2));
        // The singular values tell how many directions the points span; the rest stay level.
        let slopes = offsets.svd(true, true).solve(&elevations, 1e-6);
        let slope = |k: usize| slopes.as_ref().map_or(0.0, |slopes| slopes[k]);
        let plane = Sample { elevation: mean(2), slope_east: slope(0), slope_north: slope(1) };
        let mut points = Self { centre, plane, rest: Vec::new() };
        points.rest = stated
            .iter()
            .map(|&[e, n, elevation]| [e, n, elevation - points.on_plane(e, n)])
            .collect();
        points
    }

    fn on_plane(&self, east: f64, north: f64) -> f64 {
        self.plane.elevation
            + self.plane.slope_east * (east - self.centre[0])
            + self.plane.slope_north * (north - self.centre[1])
    }

    /// Plane plus Σ wᵢ rᵢ / Σ wᵢ with wᵢ = 1 / distanceᵢ²; its derivatives by the quotient rule.
    pub(super) fn at(&self, east: f64, north: f64) -> Sample {
        let (mut w, mut wr) = (0.0, 0.0);
        let (mut dw, mut dwr) = ([0.0; 2], [0.0; 2]);
        for &[e, n, r] in &self.rest {
            let d = [east - e, north - n];
            let squared = d[0] * d[0] + d[1] * d[1];
            if squared < AT_POINT * AT_POINT {
                let elevation = self.on_plane(east, north) + r;
                return Sample { elevation, ..self.plane };
            }
            w += 1.0 / squared;
            wr += r / squared;
            for k in 0..2 {
                let by = -2.0 * d[k] / (squared * squared);
                dw[k] += by;
                dwr[k] += by * r;
            }
        }
        if w == 0.0 {
            return Sample { elevation: self.on_plane(east, north), ..self.plane };
        }
        let rest = wr / w;
        let slope = |k: usize| (dwr[k] - rest * dw[k]) / w;
        Sample {
            elevation: self.on_plane(east, north) + rest,
            slope_east: self.plane.slope_east + slope(0),
            slope_north: self.plane.slope_north + slope(1),
        }
    }
}
