//! Whole shapes of paths: analytic geometry, and noise alone.

use crate::reference;
use crate::walks;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use perchline::adjustment::path::strata::LengthByHeight;
use perchline::maths::quantity::Turn;
use perchline::measures::metrics::climb::{ascent, descent};
use perchline::measures::metrics::height::heights;
use perchline::measures::metrics::tortuosity::expected_squared_net;
use perchline::measures::metrics::turning::{direction, turn};
use perchline::measures::metrics::{
    Metric, Noise, Shape, Subject, hull_area, hull_volume, measure,
};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use reference::cases;
use walks::{measured, number, numbers, places, walk, whole};

/// The files print 13 or 14 digits; the numbers in them stay below 100.
const PRINTED: f64 = 1e-11;

/// A walk of these elevations, one metre east a leg.
fn profile(elevations: &[f64]) -> Vec<[f64; 3]> {
    elevations.iter().enumerate().map(|(at, &up)| [at as f64, 0.0, up]).collect()
}

fn degrees(radians: f64) -> f64 {
    Turn::from_radians(radians).to_degrees()
}

/// Convention: the radius of gyration is weighted by length along the path, not over anchors.
#[test]
fn paths_of_known_geometry() {
    let (mut compared, mut spread_out) = (0, 0);
    for case in cases("path_geometry", 6) {
        let values = measured(&places(&case["points_east_north_up"]), 0.0);
        let expected = &case["computed"];
        for (metric, key) in [
            (Metric::PathLength, "length_3d"),
            (Metric::HorizontalLength, "length_horizontal"),
            (Metric::NetDisplacement, "net_3d"),
            (Metric::NetDisplacementHorizontal, "net_horizontal"),
            (Metric::Ascent, "ascent"),
            (Metric::Descent, "descent"),
            (Metric::AscentThreshold, "ascent"),
            (Metric::DescentThreshold, "descent"),
            (Metric::VerticalShare, "vertical_share"),
            (Metric::Straightness, "straightness_3d"),
            (Metric::HeightMean, "mean_height_length_weighted"),
            (Metric::RadiusOfGyration, "radius_of_gyration_length_weighted"),
            (Metric::LargestSpan, "largest_span_3d"),
            (Metric::DailyHomeRange, "hull_area_plan"),
            (Metric::HullVolume, "hull_volume"),
        ] {
            assert_abs_diff_eq!(values[metric.at()], number(expected, key), epsilon = PRINTED);
            compared += 1;
        }
        if number(expected, "hull_area_plan") > 0.0 {
            let [intensity, area] = [Metric::IntensityOfUse, Metric::AreaToLength].map(Metric::at);
            let (root, plain) = ("intensity_L_over_sqrtA", "intensity_L_over_A");
            assert_abs_diff_eq!(values[intensity], number(expected, root), epsilon = PRINTED);
            assert_relative_eq!(
                values[area].recip(),
                number(expected, plain),
                max_relative = 1e-12
            );
            spread_out += 1;
        }
    }
    assert_eq!((compared, spread_out), (6 * 15, 5));
}

/// Legs of 1, 2, 4 and 8 m: mean 15/4, median 3, squares about the mean 115/4 over 3. An odd
/// number of legs has a median that is one of them; one leg has no spread.
#[test]
fn steps_of_a_walk() {
    let along = |places: &[f64]| places.iter().map(|&east| [east, 0.0, 0.0]).collect::<Vec<_>>();
    let steps = [Metric::StepMean, Metric::StepMedian, Metric::StepSd].map(Metric::at);
    for (places, expected) in [
        (&[0.0, 4.0, 5.0, 13.0, 15.0][..], [15.0 / 4.0, 3.0, (115.0_f64 / 12.0).sqrt()]),
        (&[0.0, 5.0, 6.0, 9.0], [3.0, 3.0, 2.0]),
        (&[0.0, 1.0, 4.0], [2.0, 2.0, 2.0_f64.sqrt()]),
        (&[0.0, 1.0, 3.0, 6.0, 10.0, 15.0], [3.0, 3.0, 2.5_f64.sqrt()]),
    ] {
        let values = measured(&along(places), 0.0);
        for (at, expected) in steps.iter().zip(expected) {
            assert_relative_eq!(values[*at], expected, max_relative = 1e-12);
        }
    }
    assert!(measured(&along(&[0.0, 2.0]), 0.0)[steps[2]].is_nan());
}

/// North, east, south and south again: turns of 90°, 90° and 0°, so that the mean cosine is 1/3,
/// the mean sine 2/3, their vector √5/3 long towards atan 2. All runs are 2 m: b = 0, and
/// S = 2 / √(2 · (1 + c) / (1 − c)) = 1; with the sine (1 − c² − s²) / ((1 − c)² + s²) = 1/2.
#[test]
fn turns_to_one_side() {
    let places = [[0.0, 0.0], [0.0, 2.0], [2.0, 2.0], [2.0, 0.0], [2.0, -2.0]];
    let values = measured(&places.map(|[east, north]| [east, north, 1.0]), 0.0);
    for (metric, expected) in [
        (Metric::TurnMean, 2.0_f64.atan()),
        (Metric::TurnResultant, 5.0_f64.sqrt() / 3.0),
        (Metric::Sinuosity, 1.0),
        (Metric::SinuosityGeneral, 2.0),
        (Metric::Turn3dMean, std::f64::consts::PI / 3.0),
        (Metric::Turn3dResultant, 1.0 / 3.0),
    ] {
        assert_relative_eq!(values[metric.at()], expected, max_relative = 1e-9);
    }
}

/// North 1 m, east 3 m and 2 m more: p = 2, b² = (1 + 1 + 0)/3 / 4 = 1/6, turns of 90° and 0° make
/// c = s = 1/2, so S = 2 / √(2 (3 + 1/6)). A walk of such moves is expected to go
/// 3 · 14/3 + 2 · 4 (2 · Re z + Re z²) = 22 m², as Re z² = 0; it went 5² + 1².
#[test]
fn uneven_steps_of_a_walk() {
    let values = measured(&[[0.0; 3], [0.0, 1.0, 0.0], [3.0, 1.0, 0.0], [5.0, 1.0, 0.0]], 0.0);
    let sinuosity = 2.0 / (19.0_f64 / 3.0).sqrt();
    assert_relative_eq!(values[Metric::Sinuosity.at()], sinuosity, max_relative = 1e-12);
    assert_relative_eq!(values[Metric::CrwDeviation.at()], 26.0 / 22.0, max_relative = 1e-12);
}

/// North 2 m, east 2 m, south 1 m in steps of 1 m. Of two steps in a row one is straight and the other
/// goes round a corner, of which it has gone t of its way: q = √(t² + (1 − t)²) long, it turns right by
/// an angle whose cosine is (1 − t) / q or t / q. Over t from 0 to 1 both have the mean asinh 1 / √2, q
/// has (√2 + asinh 1) / (2 √2), and q² has 2/3.
#[test]
fn an_equally_stepped_walk() {
    let places = [[0.0, 0.0], [0.0, 2.0], [2.0, 2.0], [2.0, 1.0]].map(|[e, n]| [e, n, 3.0]);
    let (path, geometry) = walk(&places);
    let subject = Subject::new(&path, &path.legs, 0, 0.5).with(0.0, 1.0, true);
    let values = measure(&subject, &Shape::of(&subject, &geometry));
    let (root, asinh) = (2.0_f64.sqrt(), 1.0_f64.asinh());
    let cosine = asinh / root;
    let chord = 0.5 * (1.0 + (root + asinh) / (2.0 * root));
    let variation2 = 0.5 * (1.0 + 2.0 / 3.0) / (chord * chord) - 1.0;
    let bracket = (1.0 + cosine) / (1.0 - cosine) + variation2;
    for (metric, expected) in [
        (Metric::SinuosityStepped, 2.0 / (chord * bracket).sqrt()),
        (Metric::TurnResultantStepped, asinh),
        (Metric::StraightnessStepped, 5.0_f64.sqrt() / (5.0 * chord)),
    ] {
        assert_relative_eq!(values[metric.at()], expected, max_relative = 1e-4);
    }
}

/// Points surrounded by the corners of the estimate take no part in the hull of a draw: the area
/// of the reference with and without that short cut.
#[test]
fn surrounded_points_change_no_area() {
    for case in cases("path_geometry", 6) {
        let (path, geometry) = walk(&places(&case["points_east_north_up"]));
        let none = |n: usize| vec![0.0; n];
        let noise = Noise {
            rises: none(path.legs.len()),
            heights: none(path.points.len()),
            elevations: none(path.points.len()),
        };
        let subject = whole(&path, 0.0).with_noise(&geometry, &noise);
        let values = measure(&subject, &Shape::of(&subject, &geometry));
        let area = number(&case["computed"], "hull_area_plan");
        assert_abs_diff_eq!(values[Metric::DailyHomeRange.at()], area, epsilon = PRINTED);
    }
}

/// A cosine within 1e-16 of 1 leaves its angle open by 1e-8 radians, which is 1e-6 degrees.
#[test]
fn turns_of_known_geometry() {
    let mut compared = 0;
    for case in cases("path_geometry", 6) {
        let (path, geometry) = walk(&places(&case["points_east_north_up"]));
        let subject = whole(&path, 0.0);
        let shape = Shape::of(&subject, &geometry);
        let expected = &case["computed"];
        let in_space = numbers(&expected["turning_3d_deg"]);
        let mean = in_space.iter().sum::<f64>() / in_space.len() as f64;
        let found = measure(&subject, &shape)[Metric::Turn3dMean.at()];
        assert_abs_diff_eq!(degrees(found), mean, epsilon = 2e-6);
        let in_plan = expected["turning_plan_deg_clockwise_positive"].as_array().unwrap();
        for (leg, stated) in in_plan.iter().enumerate() {
            let [one, cos, sin] = turn(direction(&shape, leg), direction(&shape, leg + 1));
            let found = (one > 0.0).then(|| degrees(sin.atan2(cos)));
            match stated.as_f64() {
                Some(stated) => assert_abs_diff_eq!(found.unwrap(), stated, epsilon = 1e-9),
                None => assert_eq!(found, None, "beside a plumb leg there is no turn in plan"),
            }
            compared += 1;
        }
    }
    assert_eq!(compared, 2 + 1 + 5 + 35 + 23 + 5);
}

/// Convention: a reversal counts only where it exceeds the threshold.
#[test]
fn climbs_of_a_walk() {
    for case in cases("ascent_with_threshold", 4) {
        let values = measured(&profile(&numbers(&case["heights"])), number(&case, "threshold"));
        for (metric, key) in [
            (Metric::Ascent, "raw_ascent"),
            (Metric::Descent, "raw_descent"),
            (Metric::AscentThreshold, "ascent"),
            (Metric::DescentThreshold, "descent"),
        ] {
            assert_abs_diff_eq!(values[metric.at()], number(&case, key), epsilon = PRINTED);
        }
    }
    let values = measured(&profile(&[0.0, 2.0, 1.5, 3.0]), 0.5);
    assert_abs_diff_eq!(values[Metric::DescentThreshold.at()], 0.0);
}

#[test]
fn heights_of_a_walk() {
    let mut spread = LengthByHeight::default();
    for case in cases("height_strata", 3) {
        let legs = case["legs"].as_array().unwrap();
        let mut elevations = vec![number(&legs[0], "height_from")];
        elevations.extend(legs.iter().map(|leg| number(leg, "height_to")));
        let (path, geometry) = walk(&profile(&elevations));
        let subject = whole(&path, 0.0);
        let mut shape = Shape::of(&subject, &geometry);
        shape.lengths = legs.iter().map(|leg| number(leg, "length")).collect();
        let edge = numbers(&case["edges"])[1];
        let found = heights(&shape, edge, [f64::NAN; 3], &mut spread);
        assert_abs_diff_eq!(found.max, number(&case, "highest"));
        assert_abs_diff_eq!(found.mean, number(&case, "mean_height"), epsilon = PRINTED);
        let above = 1.0 - numbers(&case["shares"])[0];
        assert_abs_diff_eq!(found.above, above, epsilon = PRINTED);
    }
}

/// Mean and spread of the ascent that noise alone makes, over seeded level trails: each within
/// four of its own standard errors (that of a spread as of a normal number).
#[test]
fn noise_alone_climbs() {
    const TRAILS: usize = 20_000;
    let mut random = Xoshiro256PlusPlus::seed_from_u64(1);
    for case in cases("phantom_climb_level_trail", 3) {
        let legs = usize::try_from(case["legs"].as_u64().unwrap()).unwrap();
        let (path, mut geometry) = walk(&profile(&vec![0.0; legs + 1]));
        let subject = whole(&path, 0.0);
        let mut sums = [0.0; 3];
        for _ in 0..TRAILS {
            for point in &mut geometry.points {
                let noise: f64 = StandardNormal.sample(&mut random);
                point[2] = number(&case, "sd_height") * noise;
            }
            let shape = Shape::of(&subject, &geometry);
            let (up, down) = (ascent(&shape), descent(&shape));
            sums = [sums[0] + up, sums[1] + down, sums[2] + up * up];
        }
        let [up, down, square] = sums.map(|sum| sum / TRAILS as f64);
        let sd = number(&case, "sd_phantom_ascent");
        let four = 4.0 * sd / (TRAILS as f64).sqrt();
        assert_abs_diff_eq!(up, number(&case, "expected_phantom_ascent"), epsilon = four);
        assert_abs_diff_eq!(down, number(&case, "expected_phantom_descent"), epsilon = four);
        let spread = (square - up * up).sqrt();
        assert_abs_diff_eq!(spread, sd, epsilon = four / 2.0_f64.sqrt());
    }
}

#[test]
fn hulls_of_points_that_span_nothing_are_empty() {
    assert_abs_diff_eq!(hull_area(&[]), 0.0);
    assert_abs_diff_eq!(hull_area(&[[1.0, 2.0], [4.0, 6.0]]), 0.0);
    assert_abs_diff_eq!(hull_volume(&[]), 0.0);
    assert_abs_diff_eq!(hull_volume(&[[1.0, 2.0, 3.0]; 5]), 0.0);
    let level = [[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0], [1.0, 1.0]];
    assert_abs_diff_eq!(hull_volume(&level.map(|[e, n]| [e, n, 2.0])), 0.0);
}

/// As z nears 1 the walk nears a straight one, whose squared steps add to n m₂ + n (n − 1) m₁².
#[test]
fn a_nearly_straight_walk_is_expected_far_away() {
    let straight = 25.0 * 1.1 + 25.0 * 24.0;
    for off in [0.0, 1e-11, 1e-9, 1e-7] {
        let expected = expected_squared_net(25, [1.0, 1.1], [1.0 - off, 0.0]).unwrap();
        assert_relative_eq!(expected, straight, max_relative = 10.0 * off + 1e-14);
    }
    assert_eq!(expected_squared_net(0, [1.0, 1.1], [0.5, 0.0]), None);
}
