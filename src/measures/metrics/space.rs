//! The room a path takes: distances, spans, radius of gyration.

use super::length::path_length;
use super::shape::Shape;
use crate::maths::quantity::{Number, norm, square};

/// From one place to another.
#[inline]
fn between<N: Number>(a: [N; 3], b: [N; 3]) -> [N; 3] {
    [b[0] - a[0], b[1] - a[1], b[2] - a[2]]
}

/// Distance between two points in space, metres.
#[inline]
pub fn distance<N: Number>(a: [N; 3], b: [N; 3]) -> N {
    norm(between(a, b))
}

/// Greatest distance from the start, metres.
pub fn max_distance<N: Number>(shape: &Shape<'_, N>) -> N {
    let start = shape.points[shape.start];
    let squares = shape.visited().map(|point| square(between(start, shape.points[point])));
    squares.fold(N::of(0.0), N::max).sqrt()
}

/// Highest less lowest elevation, metres.
pub fn elevation_range<N: Number>(shape: &Shape<'_, N>) -> N {
    let ups = || shape.visited().map(|point| shape.points[point][2]);
    ups().fold(N::of(f64::NEG_INFINITY), N::max) - ups().fold(N::of(f64::INFINITY), N::min)
}

/// Root mean squared distance from the centre, weighted by length along the path, metres; not a
/// number for a path without length.
///
/// ```text
/// ∫ |x − c|² ds over a leg = length · ( |mid − c|² + length² / 12 )
/// ```
pub fn radius_of_gyration<N: Number>(shape: &Shape<'_, N>) -> N {
    let middle = |leg: usize| {
        let [a, b] = shape.legs[leg].map(|point| shape.points[point]);
        [0, 1, 2].map(|k| N::of(0.5) * (a[k] + b[k]))
    };
    let total = path_length(shape);
    let mut centre = [N::of(0.0); 3];
    for (leg, &length) in shape.lengths.iter().enumerate() {
        let middle = middle(leg);
        centre = [0, 1, 2].map(|k| centre[k] + length * middle[k] / total);
    }
    let moment = shape.lengths.iter().enumerate().fold(N::of(0.0), |sum, (leg, &length)| {
        let away = square(between(centre, middle(leg)));
        sum + length * (away + length * length / N::of(12.0))
    });
    (moment / total).sqrt()
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
