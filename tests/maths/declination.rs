//! Declination by calendar date, as a survey asks for it, at field stations and in towns.

use crate::reference;

use jiff::civil::Date;
use perchline::maths::earth::declination::{decimal_year, declination};
use perchline::maths::earth::frame::Position;
use perchline::maths::quantity::{Elevation, Latitude, Longitude};
use reference::cases;
use serde_json::Value;

fn number(case: &Value, key: &str) -> f64 {
    case[key].as_f64().unwrap()
}

/// How far our declination lies from a case's, degrees; its date must give its decimal year.
fn off(case: &Value) -> f64 {
    let day: Date = case["date"].as_str().unwrap().parse().unwrap();
    // Printed to six decimals.
    assert!((decimal_year(day) - number(case, "decimal_year")).abs() < 6e-7, "{case}");
    let place = Position {
        latitude: Latitude::from_degrees(number(case, "lat")).unwrap(),
        longitude: Longitude::from_degrees(number(case, "lon")).unwrap(),
        elevation: Elevation::from_metres(1000.0 * number(case, "height_km")),
    };
    let ours = declination(place, day).unwrap().to_degrees();
    (ours - number(case, "D")).abs()
}

/// The references are world magnetic models, each forecast for five years from its epoch; ours
/// was made in 2025 of the same field. A forecast strays with its age: up to 0.1° for those that
/// have run out, 0.05° for that of 2025. A needle is read to a whole degree.
#[test]
fn declination_at_field_stations() {
    let mut compared = [0; 2];
    for case in &cases("declination_wmm_sites_computed", 24) {
        let fresh = case["model"] == "WMM2025";
        let tolerance = if fresh { 0.05 } else { 0.1 };
        assert!(off(case) < tolerance, "{} degrees: {case}", off(case));
        compared[usize::from(fresh)] += 1;
    }
    assert_eq!(compared.iter().sum::<i32>(), 24);
    assert!(compared[1] >= 8, "{compared:?}");
}

#[test]
fn declination_in_two_towns() {
    let cases = cases("declination_wmm2025_calculator", 2);
    for case in &cases {
        assert!(off(case) < 0.05, "{} degrees: {case}", off(case));
    }
}
