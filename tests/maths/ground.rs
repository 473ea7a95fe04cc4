//! The ground models: by hand, through their own points, and slopes against differences.

use approx::assert_abs_diff_eq;
use perchline::maths::ground::{Ground, GroundError, Placing, Raster, Sample};
use perchline::maths::quantity::{Bearing, Incline};
use proptest::collection::vec;
use proptest::prelude::{Just, Strategy, TestCaseError, prop_assert, prop_oneof, proptest};

fn sloping(angle: f64, downhill: f64) -> Result<Ground, GroundError> {
    Ground::slope(Incline::from_degrees(angle).unwrap(), Bearing::from_degrees(downhill))
}

fn elevation(ground: &Ground, east: f64, north: f64) -> f64 {
    ground.at(east, north).unwrap().elevation
}

/// Three columns, two rows, 10 m cells; the south-western centre at (100, 200).
fn small(elevations: [f64; 6]) -> Result<Raster, GroundError> {
    Raster::new([3, 2], Placing::square([100.0, 210.0], 10.0), elevations.to_vec())
}

#[test]
fn flat_ground_is_zero_everywhere() {
    assert!(Ground::flat().is_flat() && Ground::default().is_flat());
    assert_eq!(Ground::flat().at(12.0, -900.0), Some(Sample::default()));
}

#[test]
fn a_slope_falls_downhill_and_is_level_across() {
    // 45° down to the south-west (225°): one metre down for each metre that way.
    let ground = sloping(45.0, 225.0).unwrap();
    let diagonal = 10.0 / 2.0_f64.sqrt();
    assert_abs_diff_eq!(elevation(&ground, -diagonal, -diagonal), -10.0, epsilon = 1e-12);
    assert_abs_diff_eq!(elevation(&ground, diagonal, -diagonal), 0.0, epsilon = 1e-12);
    assert_abs_diff_eq!(elevation(&ground, 0.0, 0.0), 0.0);
    // 30° down to the east: tan 30° = 1/√3 for each metre.
    let sample = sloping(30.0, 90.0).unwrap().at(3.0, 7.0).unwrap();
    assert_abs_diff_eq!(sample.elevation, -(3.0_f64.sqrt()), epsilon = 1e-12);
    assert_abs_diff_eq!(sample.slope_east, -1.0 / 3.0_f64.sqrt(), epsilon = 1e-12);
    assert_abs_diff_eq!(sample.slope_north, 0.0, epsilon = 1e-12);
}

#[test]
fn a_cliff_is_no_slope() {
    assert!(sloping(80.0, 0.0).is_ok());
    let error = sloping(-85.0, 0.0).unwrap_err();
    assert_eq!(error.to_string(), "a slope of -85.0° is a cliff; the limit is 80°");
}

#[test]
fn one_point_is_level_and_two_tilt_along_their_line_only() {
    let one = Ground::points(&[[5.0, 5.0, 2.5]]).unwrap();
    assert_abs_diff_eq!(elevation(&one, -400.0, 90.0), 2.5, epsilon = 1e-12);
    let two = Ground::points(&[[0.0, 0.0, 0.0], [30.0, 40.0, 10.0]]).unwrap();
    // 10 m up over 50 m; from the origin (80, 60) lies 96 m along the line, (40, −30) beside it.
    assert_abs_diff_eq!(elevation(&two, 80.0, 60.0), 19.2, epsilon = 1e-9);
    assert_abs_diff_eq!(elevation(&two, 40.0, -30.0), 0.0, epsilon = 1e-9);
}

#[test]
fn three_points_make_their_plane() {
    let plane = |east: f64, north: f64| 3.0 + 0.2 * east - 0.1 * north;
    let stated = [[0.0, 0.0], [50.0, 5.0], [10.0, 40.0]].map(|[e, n]| [e, n, plane(e, n)]);
    let ground = Ground::points(&stated).unwrap();
    for (east, north) in [(20.0, 20.0), (-70.0, 300.0), (50.0, 5.0)] {
        assert_abs_diff_eq!(elevation(&ground, east, north), plane(east, north), epsilon = 1e-9);
    }
}

#[test]
fn points_nearly_in_line_do_not_tilt_the_ground_beside_them() {
    // The plane exactly through these rises 1 m for each metre north: 30 m beside the line, 30 m up.
    let ground = Ground::points(&[[0.0, 0.0, 0.0], [50.0, 0.5, 0.5], [100.0, 0.0, 0.0]]).unwrap();
    assert_abs_diff_eq!(elevation(&ground, 50.0, 0.5), 0.5, epsilon = 1e-9);
    assert!(elevation(&ground, 50.0, 30.0).abs() < 0.5);
}

#[test]
fn far_outside_its_points_the_plane_carries_on() {
    // A saddle: its plane is level at 1 m.
    let saddle = [[0.0, 0.0, 2.0], [20.0, 20.0, 2.0], [20.0, 0.0, 0.0], [0.0, 20.0, 0.0]];
    let ground = Ground::points(&saddle).unwrap();
    assert_abs_diff_eq!(elevation(&ground, 5000.0, 3000.0), 1.0, epsilon = 1e-4);
}

#[test]
fn points_that_make_no_ground_are_refused_in_words() {
    let refused = |stated: &[[f64; 3]]| Ground::points(stated).unwrap_err();
    assert_eq!(refused(&[]), GroundError::NoPoints);
    assert_eq!(refused(&[[0.0, 0.0, f64::NAN]]), GroundError::NotFinite);
    let words = refused(&[[4.0, 3.0, 1.0], [9.0, 9.0, 0.0], [4.0, 3.0, 0.5]]).to_string();
    assert_eq!(
        words,
        "two ground points at one place (4.00 m east, 3.00 m north) have different elevations, \
         0.50 m and 1.00 m above the origin's ground"
    );
    // The same point stated twice is one point.
    let twice = Ground::points(&[[4.0, 3.0, 1.0], [4.0, 3.0, 1.0]]).unwrap();
    assert_abs_diff_eq!(elevation(&twice, 0.0, 0.0), 1.0, epsilon = 1e-12);
}

#[test]
fn a_raster_starts_in_the_north_west() {
    let ground = Ground::raster(small([1.0, 2.0, 4.0, 5.0, 6.0, 10.0]).unwrap());
    for (east, north, expected) in [
        (100.0, 210.0, 1.0),
        (110.0, 210.0, 2.0),
        (120.0, 210.0, 4.0),
        (100.0, 200.0, 5.0),
        (120.0, 200.0, 10.0),
        (115.0, 205.0, 5.5), // the mean of 2, 4, 6 and 10
    ] {
        assert_abs_diff_eq!(elevation(&ground, east, north), expected, epsilon = 1e-12);
    }
    let sample = ground.at(105.0, 202.0).unwrap();
    assert_abs_diff_eq!(sample.slope_east, 0.1, epsilon = 1e-12);
    assert_abs_diff_eq!(sample.slope_north, -0.4, epsilon = 1e-12);
}

#[test]
fn outside_a_raster_and_beside_a_hole_there_is_no_ground() {
    let ground = Ground::raster(small([1.0, 2.0, f64::NAN, 5.0, 6.0, 10.0]).unwrap());
    assert!(ground.at(105.0, 205.0).is_some());
    assert!(ground.at(115.0, 201.0).is_none(), "a corner of the square is missing");
    for (east, north) in [(99.9, 205.0), (120.1, 205.0), (105.0, 199.9), (105.0, 210.1)] {
        assert!(ground.at(east, north).is_none(), "{east} {north}");
    }
    assert!(ground.at(f64::NAN, 205.0).is_none());
}

#[test]
fn a_raster_that_does_not_hold_together_is_refused_in_words() {
    let refused = |size: [usize; 2], first: [f64; 2], cell: f64, elevations: &[f64]| {
        let placing = Placing::square(first, cell);
        Raster::new(size, placing, elevations.to_vec()).unwrap_err().to_string()
    };
    let (zero, level) = ([0.0; 2], [1.0; 4]);
    assert_eq!(
        refused([1, 4], zero, 1.0, &level),
        "a raster of 1 × 4 cells; it takes at least 2 × 2"
    );
    assert_eq!(refused([2, 3], zero, 1.0, &level), "a raster of 2 × 3 cells with 4 elevations");
    assert!(refused([usize::MAX, 2], zero, 1.0, &level).ends_with("with 4 elevations"));
    let not_finite = GroundError::NotFinite.to_string();
    assert_eq!(refused([2, 2], zero, 0.0, &level), not_finite);
    assert_eq!(refused([2, 2], [f64::NAN, 0.0], 1.0, &level), not_finite);
    assert_eq!(refused([2, 2], zero, f64::NAN, &level), not_finite);
    assert_eq!(refused([2, 2], zero, 1.0, &[1.0, 1.0, f64::INFINITY, 1.0]), not_finite);
    assert_eq!(refused([2, 2], zero, 1.0, &[f64::NAN; 4]), GroundError::NoElevations.to_string());
}

/// One to six points, no two closer than 5 m.
fn stated() -> impl Strategy<Value = Vec<[f64; 3]>> {
    vec((0.0..5.0, 0.0..60.0, -8.0..8.0_f64), 1..=6).prop_map(|points| {
        let apart = |(k, (e, n, z)): (usize, (f64, f64, f64))| [10.0 * k as f64 + e, n, z];
        points.into_iter().enumerate().map(apart).collect()
    })
}

/// A raster of 6 × 5 cells of 10 m from the origin on.
fn raster() -> impl Strategy<Value = Ground> {
    vec(-8.0..8.0_f64, 30).prop_map(|z| {
        Ground::raster(Raster::new([6, 5], Placing::square([0.0, 40.0], 10.0), z).unwrap())
    })
}

/// Cells that lie askew and bent, as those of a map projection do.
fn bent() -> impl Strategy<Value = Ground> {
    let cell_of = |e: f64, n: f64| {
        let (e, n) = (e / 10.0, n / 10.0);
        Some([e + 0.05 * n + 1e-3 * e * n, 4.0 - n + 0.04 * e - 5e-4 * e * e + 2e-4 * n * n])
    };
    let placing = Placing::about([12.0, 30.0], cell_of).unwrap();
    [-8.0..8.0_f64, -2.0..2.0, -2.0..2.0, -0.5..0.5].prop_map(move |[z, a, b, c]| {
        // without a step in its slope from cell to cell
        let at = |k: usize| {
            let (column, row) = ((k % 9) as f64, (k / 9) as f64);
            z + a * column + b * row + c * column * row
        };
        let cells: Vec<f64> = (0..63).map(at).collect();
        Ground::raster(Raster::new([9, 7], placing, cells).unwrap())
    })
}

fn any_ground() -> impl Strategy<Value = Ground> {
    prop_oneof![
        Just(Ground::flat()),
        (-60.0..60.0_f64, 0.0..360.0_f64).prop_map(|(angle, to)| sloping(angle, to).unwrap()),
        stated().prop_map(|points| Ground::points(&points).unwrap()),
        raster(),
        bent(),
    ]
}

/// A coordinate in cell `cell` of a raster of 10 m, off its edges, where the slope has a step.
fn within(cell: u8, share: f64) -> f64 {
    10.0 * (f64::from(cell) + share)
}

proptest! {
    #[test]
    fn slopes_agree_with_differences(
        ground in any_ground(),
        (column, x) in (0..5_u8, 0.01..0.99_f64),
        (row, y) in (0..4_u8, 0.01..0.99_f64),
    ) {
        let h = 1e-4;
        let (east, north) = (within(column, x), within(row, y));
        let sample = ground.at(east, north).unwrap();
        let rise = |de: f64, dn: f64| {
            let [after, before] = [1.0, -1.0].map(|s| elevation(&ground, east + s * de, north + s * dn));
            (after - before) / (2.0 * h)
        };
        let agree = |slope: f64, difference: f64| -> Result<(), TestCaseError> {
            prop_assert!((slope - difference).abs() < 1e-6 * (1.0 + slope.abs()));
            Ok(())
        };
        agree(sample.slope_east, rise(h, 0.0))?;
        agree(sample.slope_north, rise(0.0, h))?;
    }

    #[test]
    fn ground_passes_through_its_points_without_a_step(points in stated()) {
        let ground = Ground::points(&points).unwrap();
        for [east, north, z] in points {
            let at = ground.at(east, north).unwrap();
            prop_assert!((at.elevation - z).abs() < 1e-9);
            // Just beside the point both elevation and slopes are the same but for the distance.
            let beside = ground.at(east + 1e-5, north).unwrap();
            prop_assert!((beside.elevation - z).abs() < 1e-3);
            prop_assert!((beside.slope_east - at.slope_east).abs() < 1e-3);
            prop_assert!((beside.slope_north - at.slope_north).abs() < 1e-3);
        }
    }

    #[test]
    fn turning_the_points_turns_the_ground(points in stated(), by in 0.0..6.3_f64) {
        let (sin, cos) = by.sin_cos();
        let turned = |[e, n, z]: [f64; 3]| [cos * e - sin * n, sin * e + cos * n, z];
        let rotated: Vec<[f64; 3]> = points.iter().copied().map(turned).collect();
        let [ground, other] = [&points, &rotated].map(|stated| Ground::points(stated).unwrap());
        let [east, north, _] = turned([33.0, 21.0, 0.0]);
        prop_assert!((elevation(&ground, 33.0, 21.0) - elevation(&other, east, north)).abs() < 1e-7);
    }

    #[test]
    fn a_raster_of_a_plane_is_that_plane(
        (a, b, c) in (-5.0..5.0_f64, -2.0..2.0_f64, -2.0..2.0_f64),
        (east, north) in (100.0..=140.0_f64, -50.0..=-20.0_f64),
    ) {
        let plane = |e: f64, n: f64| a + b * (e - 100.0) + c * (n + 50.0);
        let centre = |k: usize| plane(100.0 + 10.0 * (k % 5) as f64, -20.0 - 10.0 * (k / 5) as f64);
        let cells: Vec<f64> = (0..20).map(centre).collect();
        let raster = Raster::new([5, 4], Placing::square([100.0, -20.0], 10.0), cells).unwrap();
        let sample = Ground::raster(raster).at(east, north).unwrap();
        prop_assert!((sample.elevation - plane(east, north)).abs() < 1e-10);
        prop_assert!((sample.slope_east - b).abs() < 1e-10);
        prop_assert!((sample.slope_north - c).abs() < 1e-10);
    }
}
