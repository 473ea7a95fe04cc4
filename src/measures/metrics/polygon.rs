//! Convex polygons in plan: around points, the room two of them share, the points nearest their centre.
//!
//! In: points east and north, metres. Out: corners, areas, distances. Assumes nothing of the order of
//! the points: the same points give the same polygon however they are listed. Left out: holes and
//! outlines that bend inward, which a convex hull has none of.

use super::hull::{STRAIGHT, cross, eastward, keep_outline};
use std::cmp::Ordering;

/// A convex polygon by its corners, counter-clockwise and each once; of fewer than three corners, or
/// of corners in one line, the area is 0.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Polygon {
    corners: Vec<[f64; 2]>,
}

impl Polygon {
    /// The convex hull of points, by the monotone chain of
    /// [`Source::Andrew1979`](crate::survey::sources::Source::Andrew1979).
    pub fn around(points: &[[f64; 2]]) -> Self {
        let mut corners = points.to_vec();
        keep_outline(&mut corners);
        if corners.len() > 1 && corners.first() == corners.last() {
            corners.pop();
        }
        Self { corners }
    }

    /// Its corners, counter-clockwise, metres.
    pub fn corners(&self) -> &[[f64; 2]] {
        &self.corners
    }

    /// Its area, m², as a fan of triangles from the first corner: what lies far from the origin loses
    /// no digits.
    ///
    /// ```text
    /// A = ½ Σ (p_i − p_0) × (p_{i+1} − p_0)
    /// ```
    pub fn area(&self) -> f64 {
        let Some((&first, rest)) = self.corners.split_first() else { return 0.0 };
        let twice: f64 = rest.windows(2).map(|pair| cross(first, pair[0], pair[1])).sum();
        let reach = rest.iter().map(|&corner| apart(first, corner)).fold(0.0, f64::max);
        let area = 0.5 * twice;
        if area > STRAIGHT * reach * reach { area } else { 0.0 }
    }

    /// Greatest distance between two of its corners, which is that between any two of its points,
    /// metres.
    pub fn span(&self) -> f64 {
        let after = |at: usize| &self.corners[at + 1..];
        let pairs = self.corners.iter().enumerate();
        pairs.flat_map(|(at, &a)| after(at).iter().map(move |&b| apart(a, b))).fold(0.0, f64::max)
    }

    /// What this polygon shares with another: cut along each side of the other in turn (the clipping
    /// of polygons against a convex window; common practice, no source). Polygons that only touch
    /// share a point or a line, of area 0.
    #[must_use]
    pub fn shared(&self, other: &Self) -> Self {
        if self.area() <= 0.0 || other.area() <= 0.0 {
            return Self::default();
        }
        let sides = other.corners.iter().zip(other.corners.iter().cycle().skip(1));
        let cut = |kept: Vec<[f64; 2]>, (&from, &to)| left_of(&kept, from, to);
        Self { corners: sides.fold(self.corners.clone(), cut) }
    }
}

/// The part of a convex polygon to the left of the line through two points, or on it.
fn left_of(corners: &[[f64; 2]], from: [f64; 2], to: [f64; 2]) -> Vec<[f64; 2]> {
    let mut kept = Vec::with_capacity(corners.len() + 1);
    let Some(&last) = corners.last() else { return kept };
    let mut before = (last, cross(from, to, last));
    for &corner in corners {
        let side = cross(from, to, corner);
        // The two lie strictly on either side, so that the divisor is not 0.
        if side * before.1 < 0.0 {
            let share = before.1 / (before.1 - side);
            kept.push([0, 1].map(|k| before.0[k] + share * (corner[k] - before.0[k])));
        }
        if side >= 0.0 {
            kept.push(corner);
        }
        before = (corner, side);
    }
    kept
}

/// Distance in plan, metres.
fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

/// The arithmetic mean of points, metres; `None` of none. Summed from west to east, so that their order
/// changes no digit.
pub fn centre(points: &[[f64; 2]]) -> Option<[f64; 2]> {
    let mut sorted = points.to_vec();
    sorted.sort_unstable_by(eastward);
    let first = *sorted.first()?;
    let count = sorted.len() as f64;
    // From the first on: what lies far from the origin loses no digits.
    let mean = |k: usize| sorted.iter().map(|at| at[k] - first[k]).sum::<f64>() / count;
    Some([0, 1].map(|k| first[k] + mean(k)))
}

/// So many points out of which one is left out: 5 %.
const ONE_IN: usize = 20;

/// The points without the 5 % (rounded down to whole points) that lie farthest from their arithmetic
/// mean; of two at one distance the one farther west, then south, stays. Common practice, no source.
/// `None` where 5 % of them are less than one point.
pub fn nearest_share(points: &[[f64; 2]]) -> Option<Vec<[f64; 2]>> {
    let left_out = points.len() / ONE_IN;
    if left_out == 0 {
        return None;
    }
    let centre = centre(points)?;
    let mut sorted: Vec<(f64, [f64; 2])> =
        points.iter().map(|&point| (apart(centre, point), point)).collect();
    let nearer = |a: &(f64, [f64; 2]), b: &(f64, [f64; 2])| -> Ordering {
        a.0.total_cmp(&b.0).then(eastward(&a.1, &b.1))
    };
    sorted.sort_unstable_by(nearer);
    sorted.truncate(points.len() - left_out);
    Some(sorted.into_iter().map(|(_, point)| point).collect())
}
