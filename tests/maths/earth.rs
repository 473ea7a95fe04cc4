//! The earth against published and independently computed values.

use crate::reference;

use approx::assert_abs_diff_eq;
use jiff::civil::{Date, date};
use perchline::maths::earth::convergence::{
    convergence_in_zone, utm_convergence, utm_coordinates, utm_zone,
};
use perchline::maths::earth::declination::{Field, decimal_year, declination, field};
use perchline::maths::earth::ellipsoid::{cartesian, geodetic};
use perchline::maths::earth::frame::{Frame, Position};
use perchline::maths::quantity::{Elevation, Latitude, Longitude};
use proptest::prelude::{ProptestConfig, prop_assert, proptest};
use reference::cases;
use serde_json::Value;
use std::f64::consts::{FRAC_PI_2, PI};

fn number(case: &Value, key: &str) -> f64 {
    case[key].as_f64().unwrap_or_else(|| panic!("{key} in {case}"))
}

fn position(north: f64, east: f64, metres: f64) -> Position {
    let east = if east > 180.0 { east - 360.0 } else { east };
    Position {
        latitude: Latitude::from_degrees(north).unwrap(),
        longitude: Longitude::from_degrees(east).unwrap(),
        elevation: Elevation::from_metres(metres),
    }
}

/// The field at a case's place; its date is a decimal year under `year`.
fn field_of(case: &Value, year: &str) -> Field {
    let metres = 1000.0 * number(case, "height_km");
    let place = position(number(case, "lat"), number(case, "lon"), metres);
    field(place, number(case, year)).unwrap()
}

/// How far two directions differ, in [0°, 180°].
fn apart(a: f64, b: f64) -> f64 {
    let turn = (a - b).rem_euclid(360.0);
    turn.min(360.0 - turn)
}

#[test]
fn igrf14_agrees_with_an_independent_synthesis() {
    let cases = cases("declination_igrf14_computed", 30);
    for case in &cases {
        // Ten printed digits: half a unit of the last is 5e-6 nT, 5e-9 degrees below 100.
        let field = field_of(case, "decimal_year");
        assert_abs_diff_eq!(field.north, number(case, "X"), epsilon = 1e-5);
        assert_abs_diff_eq!(field.east, number(case, "Y"), epsilon = 1e-5);
        assert_abs_diff_eq!(field.down, number(case, "Z"), epsilon = 1e-5);
        let degrees = field.declination().to_degrees();
        assert_abs_diff_eq!(degrees, number(case, "D"), epsilon = 1e-8);
    }
}

#[test]
fn the_definitive_field_of_2010_agrees_with_the_published_calculator() {
    let mut ran = 0;
    for case in &cases("declination_igrf13_ncei", 30) {
        let field = field_of(case, "decimal_year");
        let own = number(case, "IGRF14_own_synthesis_D_deg");
        assert_abs_diff_eq!(field.declination().to_degrees(), own, epsilon = 1e-8);
        // Only 2010 is definitive in both generations: later rows of the thirteenth are forecast.
        if number(case, "decimal_year") < 2010.5 {
            assert_abs_diff_eq!(field.north, number(case, "X_nT"), epsilon = 0.0501);
            assert_abs_diff_eq!(field.east, number(case, "Y_nT"), epsilon = 0.0501);
            assert_abs_diff_eq!(field.down, number(case, "Z_nT"), epsilon = 0.0501);
            ran += 1;
        }
    }
    assert_eq!(ran, 10);
}

/// How far the field lies from the rows of a world magnetic model: the largest difference of any
/// component (nT) over all rows; of declination (degrees) over those with a horizontal field above
/// 6,000 nT, and how many these are. Below, near the dip poles, a compass is of no use, and that
/// model itself warns.
fn from_world_model(cases: &[Value]) -> (f64, f64, usize) {
    let (mut component, mut degrees, mut compared) = (0.0_f64, 0.0_f64, 0);
    for case in cases {
        let field = field_of(case, "date");
        for (ours, key) in [(field.north, "X"), (field.east, "Y"), (field.down, "Z")] {
            component = component.max((ours - number(case, key)).abs());
        }
        if number(case, "H") > 6000.0 {
            degrees = degrees.max(apart(field.declination().to_degrees(), number(case, "D")));
            compared += 1;
        }
    }
    (component, degrees, compared)
}

/// The world magnetic model is another model of the same field, forecast for five years from its
/// own epoch; ours was made after the epochs 2015 and 2020 had run out and knows what came. A
/// forecast of the core field strays by up to some 150 nT in five years, which is 0.2° where the
/// horizontal field is weak. Both models of 2025 are forecasts from the same observations.
#[test]
fn the_field_stays_near_the_world_magnetic_models() {
    let models = [
        (cases("declination_wmm2015_published", 6), 0.2, 6),
        (cases("declination_wmm2020_published", 50), 0.2, 45),
        (cases("declination_wmm2025_published", 11), 0.05, 10),
    ];
    for (cases, tolerance, rows) in models {
        let (component, degrees, compared) = from_world_model(&cases);
        assert!(component < 160.0, "{component} nT");
        assert!(degrees < tolerance, "{degrees} degrees");
        assert_eq!(compared, rows);
    }
}

#[test]
fn the_model_holds_from_1900_to_2030_and_not_a_day_longer() {
    let wood = position(46.1, 14.9, 620.0);
    let known = |day: Date| declination(wood, day).is_some();
    assert!(!known(date(1899, 12, 31)));
    assert!(known(date(1900, 1, 1)));
    assert!(known(date(2030, 1, 1)));
    assert!(!known(date(2030, 1, 2)));
    assert!(field(wood, f64::NAN).is_none());
}

#[test]
fn a_date_is_a_share_of_its_own_year() {
    assert_abs_diff_eq!(decimal_year(date(2026, 7, 4)), 2026.0 + 184.0 / 365.0, epsilon = 1e-12);
    assert_abs_diff_eq!(decimal_year(date(2024, 12, 31)), 2024.0 + 365.0 / 366.0, epsilon = 1e-12);
    assert_abs_diff_eq!(decimal_year(date(1900, 1, 1)), 1900.0, epsilon = 1e-12);
}

#[test]
fn at_a_pole_the_field_is_finite_and_joins_on_to_its_neighbourhood() {
    for (pole, beside) in [(90.0, 89.999_999_9), (-90.0, -89.999_999_9)] {
        for east in [-180.0, -75.0, 0.0, 14.9, 90.0] {
            let at = field(position(pole, east, 0.0), 2026.5).unwrap();
            let near = field(position(beside, east, 0.0), 2026.5).unwrap();
            assert_abs_diff_eq!(at.north, near.north, epsilon = 1e-3);
            assert_abs_diff_eq!(at.east, near.east, epsilon = 1e-3);
            assert_abs_diff_eq!(at.down, near.down, epsilon = 1e-3);
        }
    }
}

#[test]
fn local_coordinates_agree_with_the_topocentric_conversion() {
    let cases = cases("geodetic_to_enu", 16);
    for case in &cases {
        let [at, origin] = [["lat", "lon", "h"], ["lat0", "lon0", "h0"]]
            .map(|keys| keys.map(|key| number(case, key)))
            .map(|[north, east, metres]| position(north, east, metres));
        let local = Frame::at(origin).local(at);
        let expected = ["east_m", "north_m", "up_m"].map(|key| number(case, key));
        for (k, metres) in expected.into_iter().enumerate() {
            assert_abs_diff_eq!(local[k], metres, epsilon = 1e-6);
        }
        // The reverse, from the printed metres (a micrometre): 1e-11 of a radian.
        let back = Frame::at(origin).geodetic(expected).unwrap();
        assert_abs_diff_eq!(back.latitude.to_degrees(), number(case, "lat"), epsilon = 1e-10);
        assert_abs_diff_eq!(back.longitude.to_degrees(), number(case, "lon"), epsilon = 1e-10);
        assert_abs_diff_eq!(back.elevation.to_metres(), number(case, "h"), epsilon = 1e-6);
    }
}

/// A plan is that of the place at the origin's elevation: where a case stands at that elevation it
/// is the published one. It leads back to the same latitude and longitude whatever stands there.
#[test]
fn a_plan_is_that_of_the_level_surface_and_leads_back_whatever_the_height() {
    let cases = cases("geodetic_to_enu", 16);
    let mut level = 0;
    for case in &cases {
        let origin = position(number(case, "lat0"), number(case, "lon0"), number(case, "h0"));
        let at = position(number(case, "lat"), number(case, "lon"), number(case, "h"));
        let frame = Frame::at(origin);
        let [east, north] = frame.plan(at.latitude, at.longitude);
        if (number(case, "h") - number(case, "h0")).abs() < 1e-9 {
            assert_abs_diff_eq!(east, number(case, "east_m"), epsilon = 1e-6);
            assert_abs_diff_eq!(north, number(case, "north_m"), epsilon = 1e-6);
            level += 1;
        }
        for rise in [-1000.0, 0.0, 180.0, 1000.0] {
            let back = frame.placed([east, north, rise]).unwrap();
            let apart = (back.longitude.to_degrees() - at.longitude.to_degrees()).rem_euclid(360.0);
            assert_abs_diff_eq!(apart.min(360.0 - apart), 0.0, epsilon = 1e-11);
            let latitude = back.latitude.to_degrees();
            assert_abs_diff_eq!(latitude, at.latitude.to_degrees(), epsilon = 1e-11);
            let elevation = back.elevation.to_metres();
            assert_abs_diff_eq!(elevation, number(case, "h0") + rise, epsilon = 1e-9);
        }
    }
    assert!(level >= 3, "{level}");
}

#[test]
fn grid_convergence_agrees_with_three_other_ways() {
    let cases = cases("utm_convergence", 16);
    for case in &cases {
        let place = position(number(case, "lat"), number(case, "lon"), 0.0);
        let stated = u8::try_from(case["zone"].as_u64().unwrap()).unwrap();
        let degrees = convergence_in_zone(place, stated).to_degrees();
        assert_abs_diff_eq!(degrees, number(case, "convergence_deg"), epsilon = 1e-9);
        let [east, north] = utm_coordinates(place, stated, number(case, "lat") < 0.0);
        // The printed decimals, and what the series leaves out far from the meridian.
        assert_abs_diff_eq!(east, number(case, "easting_m"), epsilon = 1e-4);
        assert_abs_diff_eq!(north, number(case, "northing_m"), epsilon = 1e-4);
        // Two cases state a zone that is not the place's own: one to measure far from the
        // meridian, one on a border, which belongs to the zone east of it.
        let own = match case["place"].as_str().unwrap() {
            "Bergen forced zone 31" => 32,
            "equator edge" => 19,
            _ => stated,
        };
        assert_eq!(utm_zone(place.latitude, place.longitude), own, "{case}");
        assert_eq!(utm_convergence(place), convergence_in_zone(place, own));
    }
}

#[test]
fn a_zone_begins_on_its_western_border() {
    let zone = |north: f64, east: f64| {
        let place = position(north, east, 0.0);
        utm_zone(place.latitude, place.longitude)
    };
    // Every border: 30, 60 and 120 among them do not survive degrees to radians and back.
    for border in 0..60_u8 {
        let east = f64::from(border) * 6.0 - 180.0;
        assert_eq!(zone(10.0, east), border + 1, "{east}");
    }
    assert_eq!(zone(10.0, 180.0), zone(10.0, -180.0), "one meridian, one zone");
}

#[test]
fn norway_and_svalbard_have_zones_of_their_own() {
    let zone = |north: f64, east: f64| {
        let place = position(north, east, 0.0);
        utm_zone(place.latitude, place.longitude)
    };
    let norway = [((55.9, 4.0), 31), ((56.0, 3.0), 32), ((63.9, 2.9), 31), ((64.0, 5.0), 31)];
    let svalbard = [((78.0, 8.9), 31), ((78.0, 9.0), 33), ((78.0, 21.0), 35), ((78.0, 33.0), 37)];
    let outside = [((71.9, 8.0), 32), ((78.0, 42.0), 38), ((78.0, -1.0), 30)];
    for ((north, east), expected) in [&norway[..], &svalbard, &outside].concat() {
        assert_eq!(zone(north, east), expected, "{north} {east}");
    }
}

#[test]
fn the_two_names_of_the_antimeridian_have_one_convergence() {
    let [east, west] = [180.0, -180.0].map(|lon| utm_convergence(position(-16.8, lon, 0.0)));
    assert_abs_diff_eq!(east.to_degrees(), west.to_degrees(), epsilon = 1e-12);
    // Three degrees west of its meridian, in the south: grid north lies east of true north.
    assert!(east.to_degrees() > 0.8 && east.to_degrees() < 0.9);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn earth_centred_coordinates_lead_back(
        phi in -FRAC_PI_2..=FRAC_PI_2,
        lambda in -PI..PI,
        height in -1000.0..100_000.0_f64,
    ) {
        let [back_phi, back_lambda, back_height] = geodetic(cartesian(phi, lambda, height));
        prop_assert!((back_phi - phi).abs() < 1e-12);
        prop_assert!((back_lambda - lambda).abs() * phi.cos() < 1e-12);
        prop_assert!((back_height - height).abs() < 1e-6);
    }

    #[test]
    fn local_coordinates_lead_back(
        (north, east, metres) in (-89.9..89.9_f64, -180.0..=180.0_f64, -100.0..5000.0_f64),
        offset in [-20_000.0..20_000.0_f64, -20_000.0..20_000.0_f64, -100.0..3000.0_f64],
    ) {
        let frame = Frame::at(position(north, east, metres));
        let back = frame.local(frame.geodetic(offset).unwrap());
        for k in 0..3 {
            prop_assert!((back[k] - offset[k]).abs() < 1e-7);
        }
    }

    #[test]
    fn the_origin_is_zero_and_up_is_up(
        (north, east, metres) in (-90.0..=90.0_f64, -180.0..=180.0_f64, -100.0..5000.0_f64),
        rise in 0.0..1000.0_f64,
    ) {
        let origin = position(north, east, metres);
        let frame = Frame::at(origin);
        prop_assert!(frame.origin() == origin && frame.local(origin).iter().all(|axis| axis.abs() < 1e-12));
        let [e, n, up] = frame.local(position(north, east, metres + rise));
        prop_assert!(e.abs() < 1e-8 && n.abs() < 1e-8 && (up - rise).abs() < 1e-8);
    }

    /// East of the meridian of a northern zone, grid north lies east; the signs turn together.
    #[test]
    fn convergence_is_odd_about_the_equator(north in 0.1..55.0_f64, east in -180.0..180.0_f64) {
        let [above, below] = [north, -north].map(|lat| utm_convergence(position(lat, east, 0.0)));
        prop_assert!((above.to_degrees() + below.to_degrees()).abs() < 1e-12);
    }
}
