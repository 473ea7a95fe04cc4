//! Convex hulls: area in plan, volume in space.

use crate::maths::quantity::Number;
use nalgebra::Vector3;
use std::cmp::Ordering;

/// Area of the convex hull of plan points, m²; 0 where they lie in one line.
pub fn hull_area(points: &[[f64; 2]]) -> f64 {
    area(&mut points.to_vec())
}

/// The corners of the convex hull of plan points by their index, counter-clockwise and closed.
pub(super) fn corners(points: &[[f64; 2]]) -> Vec<usize> {
    let mut outline = points.to_vec();
    keep_outline(&mut outline);
    let index = |corner| points.iter().position(|point| eastward(point, corner).is_eq());
    outline.iter().filter_map(index).collect()
}

/// Room for the points of a path that may lie on its outline.
#[derive(Debug)]
pub(super) struct Outline<N> {
    depths: Vec<N>,
    points: Vec<[f64; 2]>,
}

impl<N> Default for Outline<N> {
    fn default() -> Self {
        Self { depths: Vec::new(), points: Vec::new() }
    }
}

impl<N: Number> Outline<N> {
    /// Area of the convex hull of plan points, m². `corners` are some of them, closed. A point to
    /// the left of every side between them is surrounded, whatever their shape, and takes no part.
    pub(super) fn area(&mut self, points: &[[N; 2]], corners: &[usize]) -> N {
        self.depths.clear();
        let surrounded = if corners.is_empty() { 0.0 } else { f64::INFINITY };
        self.depths.resize(points.len(), N::of(surrounded));
        for side in corners.windows(2) {
            let [from, to] = [points[side[0]], points[side[1]]];
            for (depth, &point) in self.depths.iter_mut().zip(points) {
                *depth = depth.min(cross(from, to, point));
            }
        }
        N::lanes(|lane| {
            let outer = |(point, depth): (&[N; 2], &N)| {
                (depth.lane(lane) <= 0.0).then(|| point.map(|axis| axis.lane(lane)))
            };
            self.points.clear();
            self.points.extend(points.iter().zip(&self.depths).filter_map(outer));
            area(&mut self.points)
        })
    }
}

/// Area of the convex hull of plan points, m², of which it keeps the outline.
fn area(points: &mut Vec<[f64; 2]>) -> f64 {
    keep_outline(points);
    let twice: f64 = points.windows(2).map(|p| p[0][0] * p[1][1] - p[1][0] * p[0][1]).sum();
    let area = 0.5 * twice.abs();
    // Rounding opens a straight line by some 1e-16 of its reach squared: that is no area.
    let reach = points.iter().flatten().fold(0.0, |reach: f64, at| reach.max(at.abs()));
    if area > STRAIGHT * reach * reach { area } else { 0.0 }
}

/// Keeps of plan points the corners of their convex hull, counter-clockwise and closed. Source: the
/// monotone chain of [`Source::Andrew1979`](crate::survey::sources::Source::Andrew1979).
pub(super) fn keep_outline(points: &mut Vec<[f64; 2]>) {
    points.sort_unstable_by(eastward);
    // Rightward along the lower side and back along the upper, in the room after the points.
    let count = points.len();
    for at in 0..count {
        chain(points, count, points[at]);
    }
    let turn = points.len().saturating_sub(1);
    for at in (0..count.saturating_sub(1)).rev() {
        chain(points, turn, points[at]);
    }
    points.drain(..count);
}

/// From west to east, and from south to north where that is the same.
pub(super) fn eastward(a: &[f64; 2], b: &[f64; 2]) -> Ordering {
    a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
}

/// Adds a point to the chain that begins at `first`, which turns left all along.
fn chain(points: &mut Vec<[f64; 2]>, first: usize, point: [f64; 2]) {
    while let [.., a, b] = points[first..]
        && cross(a, b, point) <= 0.0
    {
        points.pop();
    }
    points.push(point);
}

/// An area below this share of the reach squared is rounding.
pub(super) const STRAIGHT: f64 = 1e-13;

pub(super) fn cross<N: Number>(o: [N; 2], a: [N; 2], b: [N; 2]) -> N {
    (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])
}

/// A face of the hull by the indices of its corners, seen from outside counter-clockwise.
type Face = [usize; 3];

/// Volume of the convex hull of points in space, m³; 0 where they lie in one plane. Grown point by
/// point: faces that see a new point give way to a cone from their outline to it.
pub fn hull_volume(points: &[[f64; 3]]) -> f64 {
    let points: Vec<Vector3<f64>> = points.iter().map(|&point| point.into()).collect();
    let Some(mut faces) = first_tetrahedron(&points) else { return 0.0 };
    for new in 0..points.len() {
        let sees = |face: &Face| height_over(&points, face, new) > TOUCHING;
        let (seen, kept): (Vec<Face>, Vec<Face>) = faces.into_iter().partition(sees);
        let edges = |face: &Face| [[face[0], face[1]], [face[1], face[2]], [face[2], face[0]]];
        let all: Vec<[usize; 2]> = seen.iter().flat_map(edges).collect();
        let rim = all.iter().filter(|&&[a, b]| !all.contains(&[b, a]));
        faces = kept;
        faces.extend(rim.map(|&[a, b]| [a, b, new]));
    }
    let base = points[faces[0][0]];
    let cone = |face: &Face| {
        let [a, b, c] = face.map(|corner| points[corner] - base);
        a.dot(&b.cross(&c)) / 6.0
    };
    faces.iter().map(cone).sum::<f64>().abs()
}

/// Closer to a face than this, metres, a point lies on it.
const TOUCHING: f64 = 1e-9;

/// Height of a point over the plane of a face, outward positive, metres.
fn height_over(points: &[Vector3<f64>], face: &Face, point: usize) -> f64 {
    let [a, b, c] = face.map(|corner| points[corner]);
    let normal = (b - a).cross(&(c - a));
    normal.dot(&(points[point] - a)) / normal.norm().max(f64::MIN_POSITIVE)
}

/// Four points that span a volume; `None` where there are none.
fn first_tetrahedron(points: &[Vector3<f64>]) -> Option<Vec<Face>> {
    let farthest = |measure: &dyn Fn(usize) -> f64| {
        let far = (0..points.len()).max_by(|&a, &b| measure(a).total_cmp(&measure(b)))?;
        (measure(far) > TOUCHING).then_some(far)
    };
    let a = 0;
    let b = farthest(&|p| (points[p] - points[a]).norm())?;
    let line = (points[b] - points[a]).normalize();
    let c = farthest(&|p| (points[p] - points[a]).cross(&line).norm())?;
    let d = farthest(&|p| height_over(points, &[a, b, c], p).abs())?;
    let [b, c] = if height_over(points, &[a, b, c], d) > 0.0 { [c, b] } else { [b, c] };
    Some(vec![[a, b, c], [a, d, b], [b, d, c], [c, d, a]])
}
