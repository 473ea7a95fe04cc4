//! The room a path takes: distances, spans, radius of gyration.

use super::shape::Shape;

/// Length of a vector. Metres squared neither overflow nor vanish, so that the guarded `hypot`,
/// many times slower, is not needed in what every draw repeats.
#[inline]
pub fn norm<const N: usize>(v: [f64; N]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}

/// Distance between two points in space, metres.
#[inline]
pub fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    norm([b[0] - a[0], b[1] - a[1], b[2] - a[2]])
}

/// Greatest distance from the start, metres.
pub fn max_distance(shape: &Shape<'_>) -> f64 {
    let start = shape.points[shape.start];
    shape.visited().map(|point| distance(start, shape.points[point])).fold(0.0, f64::max)
}

/// Highest less lowest elevation, metres.
pub fn elevation_range(shape: &Shape<'_>) -> f64 {
    let ups = || shape.visited().map(|point| shape.points[point][2]);
    ups().fold(f64::NEG_INFINITY, f64::max) - ups().fold(f64::INFINITY, f64::min)
}

/// Root mean squared distance from the centre, weighted by length along the path, metres; not a
/// number for a path without length.
///
/// ```text
/// ∫ |x − c|² ds over a leg = length · ( |mid − c|² + length² / 12 )
/// ```
pub fn radius_of_gyration(shape: &Shape<'_>) -> f64 {
    let middle = |leg: usize| {
        let [a, b] = shape.legs[leg].map(|point| shape.points[point]);
        [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1]), 0.5 * (a[2] + b[2])]
    };
    let total: f64 = shape.lengths.iter().sum();
    let mut centre = [0.0; 3];
    for (leg, length) in shape.lengths.iter().enumerate() {
        let middle = middle(leg);
        for k in 0..3 {
            centre[k] += length * middle[k] / total;
        }
    }
    let moment = |(leg, length): (usize, &f64)| {
        length * (distance(centre, middle(leg)).powi(2) + length * length / 12.0)
    };
    (shape.lengths.iter().enumerate().map(moment).sum::<f64>() / total).sqrt()
}

/// Greatest distance between two of the points, metres.
pub fn largest_span(points: &[[f64; 3]]) -> f64 {
    let mut span: f64 = 0.0;
    for (at, &a) in points.iter().enumerate() {
        for &b in &points[at + 1..] {
            span = span.max(distance(a, b));
        }
    }
    span
}
