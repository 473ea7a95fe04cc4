//! What a survey's frame may not change of a path, and what no path may break.

use crate::reference;
use crate::walks;

use approx::assert_abs_diff_eq;
use perchline::maths::quantity::Turn;
use perchline::measures::metrics::{Metric, Shape, hull_area, hull_volume};
use proptest::collection::vec;
use proptest::{prop_assert, proptest};
use reference::cases;
use walks::{measured, number, places, walk, whole};

/// Turned by `by` radians about the vertical, then moved.
fn moved(places: &[[f64; 3]], by: f64, [east, north, up]: [f64; 3]) -> Vec<[f64; 3]> {
    let (sin, cos) = by.sin_cos();
    let place =
        |[e, n, z]: &[f64; 3]| [cos * e - sin * n + east, sin * e + cos * n + north, z + up];
    places.iter().map(place).collect()
}

/// What may not change where a walk is turned, moved or walked backwards.
const LASTING: [Metric; 9] = [
    Metric::PathLength,
    Metric::HorizontalLength,
    Metric::NetDisplacement,
    Metric::VerticalDistance,
    Metric::Straightness,
    Metric::DailyHomeRange,
    Metric::HullVolume,
    Metric::LargestSpan,
    Metric::RadiusOfGyration,
];

proptest! {
    #[test]
    fn turning_moving_and_reversing_change_no_length(
        walked in vec([-20.0..20.0_f64, -20.0..20.0_f64, 0.0..15.0_f64], 4..20),
        by in 0.0..6.3_f64,
        to in [-500.0..500.0_f64, -500.0..500.0_f64, -50.0..50.0_f64],
    ) {
        let mut other = moved(&walked, by, to);
        other.reverse();
        let [before, after] = [&walked, &other].map(|places| measured(places, 0.0));
        for metric in LASTING {
            let [before, after] = [before, after].map(|values| values[metric.at()]);
            prop_assert!((before - after).abs() < 1e-9 * (1.0 + before), "{metric:?}");
        }
    }

    /// Turned bodies have faces that are level only up to rounding.
    #[test]
    fn turning_and_moving_change_no_hull(
        by in 0.0..6.3_f64,
        to in [-500.0..500.0_f64, -500.0..500.0_f64, -50.0..50.0_f64],
    ) {
        for case in cases("convex_hulls", 7).iter().filter(|case| case["volume"].is_f64()) {
            let found = hull_volume(&moved(&places(&case["points"]), by, to));
            prop_assert!((found - number(case, "volume")).abs() < 1e-8, "{}", case["id"]);
        }
    }

    /// A draw keeps to its tape, length² = run² + rise², unless its rise alone is longer; the
    /// estimate retracted on itself stays as it is.
    #[test]
    fn a_retracted_draw_keeps_to_its_tape(
        walked in vec([-20.0..20.0_f64, -20.0..20.0_f64, 0.0..15.0_f64], 3..12),
        noise in vec([-0.1..0.1_f64, -0.1..0.1_f64, -0.1..0.1_f64], 12),
    ) {
        let (path, geometry) = walk(&walked);
        let subject = whole(&path, 0.0);
        let estimate = Shape::of(&subject, &geometry);
        let [mut same, mut drawn] = [estimate.clone(), estimate.clone()];
        for (point, noise) in drawn.points.iter_mut().zip(&noise) {
            *point = [0, 1, 2].map(|k| point[k] + noise[k]);
        }
        same.retract(&estimate);
        drawn.retract(&estimate);
        for leg in 0..path.legs.len() {
            prop_assert!((same.lengths[leg] - estimate.lengths[leg]).abs() < 1e-12);
            // √(l² − u²) of a steep leg: rounding in l² of some 1e-13 m², and its root.
            prop_assert!((same.runs[leg] - estimate.runs[leg]).abs() < 1e-6);
            let (length, run, rise) = (drawn.lengths[leg], drawn.runs[leg], drawn.rises[leg]);
            prop_assert!((run.hypot(rise) - length.max(rise.abs())).abs() < 1e-9);
        }
    }
}

/// A straight line has no area, and so no intensity of use, whatever way it lies.
#[test]
fn a_straight_line_has_no_area() {
    for bearing in 0..360_u16 {
        let (sin, cos) = Turn::from_degrees(f64::from(bearing)).to_radians().sin_cos();
        let place = |length: f64| [480.0 + length * sin, length * cos - 500.0, 0.0];
        let line = [0.0, 3.3, 8.0, 10.9, 13.1].map(place);
        assert_abs_diff_eq!(hull_area(&line.map(|[east, north, _]| [east, north])), 0.0);
        assert!(!measured(&line, 0.0)[Metric::IntensityOfUse.at()].is_finite(), "{bearing}");
    }
}
