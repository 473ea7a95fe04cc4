//! Robust weights and the compass rule, against published traverses and by properties.

use crate::field;
use crate::reference;

use approx::assert_abs_diff_eq;
use field::{Rebuilt, Tables};
use perchline::adjustment::{Adjusted, Method, adjust};
use perchline::maths::ground::Ground;
use reference::cases;
use serde_json::Value;

fn by(ours: &Rebuilt, method: Method) -> Adjusted {
    let precision = &ours.survey.settings.precision;
    adjust(&ours.network, precision, &Ground::flat(), method, false)
}

/// Closed figures of the reference: the compass rule puts every point where the book does.
#[test]
fn the_compass_rule_agrees_with_published_traverses() {
    let mut ran = 0;
    for case in cases("traverse_compass_rule", 6) {
        let Some(legs) = case["recomputed"]["legs"].as_array() else { continue };
        let published = |leg: &Value| {
            let number = |key: &str| leg[key].as_f64().unwrap();
            let (length, azimuth) = (number("length"), number("azimuth_deg"));
            let run = number("latitude").hypot(number("departure"));
            ((run - length).abs() < 1e-5).then_some((length, azimuth))
        };
        let Some(read) = legs.iter().map(published).collect::<Option<Vec<_>>>() else {
            continue; // latitudes and departures that do not agree with their own lengths
        };
        let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,incline_deg\nA,0,,,\n");
        for (k, (length, azimuth)) in read.iter().enumerate() {
            let name = if k + 1 < read.len() { k + 1 } else { 0 };
            anchors += &format!("A,{name},{length},{azimuth},0\n");
        }
        let settings = String::from("bearings.north = 'true'\n");
        let ours = Tables { anchors, settings, ..Tables::default() }.rebuild();
        let adjusted = by(&ours, Method::CompassRule);
        let points = case["recomputed"]["adjusted_points"].as_array().unwrap();
        for (k, point) in points.iter().enumerate().take(read.len() - 1) {
            let [east, north, _] = adjusted.positions[ours.node(&(k + 1).to_string())];
            let expected =
                |axis: &str| point[axis].as_f64().unwrap() - case["start"][axis].as_f64().unwrap();
            // Bearings were printed to a tenth of a microdegree.
            assert_abs_diff_eq!(east, expected("east"), epsilon = 2e-5);
            assert_abs_diff_eq!(north, expected("north"), epsilon = 2e-5);
        }
        ran += 1;
    }
    assert!(ran >= 3, "{ran}");
}

/// A loop in space: heights close as well, in proportion to the taped length.
#[test]
fn the_compass_rule_spreads_heights_likewise() {
    let case =
        cases("traverse_compass_rule", 6).into_iter().find(|case| case["id"] == "3d-tree-loop");
    let case = case.unwrap();
    let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,incline_deg\nA,R,,,\n");
    for leg in case["observations"].as_array().unwrap() {
        let to = leg["to"].as_str().unwrap();
        let [tape, azimuth, incline] = ["tape", "azimuth_deg", "incline_deg"].map(|key| &leg[key]);
        anchors += &format!("A,{to},{tape},{azimuth},{incline}\n");
    }
    let settings = String::from("bearings.north = 'true'\n");
    let ours = Tables { anchors, settings, ..Tables::default() }.rebuild();
    let adjusted = by(&ours, Method::CompassRule);
    for point in case["recomputed"]["points"].as_array().unwrap() {
        let node = ours.node(point["point"].as_str().unwrap());
        for axis in 0..3 {
            let expected = point["adjusted_by_slope_length"][axis].as_f64().unwrap();
            assert_abs_diff_eq!(adjusted.positions[node][axis], expected, epsilon = 1e-8);
        }
    }
}

/// Two loops that share a leg. The first, 4 m east, 3 m north and 5.1 m back, fails to meet by
/// (−0.08, −0.06) over 12.1 m, which corrects the leg from 0 to 1. The second, from 0 two metres
/// south and 4.5 m to 1, finds that leg as corrected: what is left falls on its own 6.5 m.
#[test]
fn a_leg_corrected_by_one_loop_stays_for_the_next() {
    let anchors = "trail,anchor,tape_m,bearing_deg,incline_deg\nA,0,,,\nA,1,4,90,0\nA,2,3,0,0\n\
                   A,0,5.1,233.13010235415598,0\nA,3,2,180,0\nA,1,4.5,63.43494882292201,0\n";
    let settings = String::from("bearings.north = 'true'\n");
    let ours = Tables { anchors: anchors.into(), settings, ..Tables::default() }.rebuild();
    let adjusted = by(&ours, Method::CompassRule);
    let first = [4.0 + 0.08 * 4.0 / 12.1, 0.06 * 4.0 / 12.1];
    let second = [first[0] + 0.08 * 3.0 / 12.1, first[1] + 3.0 + 0.06 * 3.0 / 12.1];
    // The last leg goes by (2, 1) / √5.
    let off = [4.5 * 0.8_f64.sqrt() - first[0], 4.5 * 0.2_f64.sqrt() - 2.0 - first[1]];
    let third = [-off[0] * 2.0 / 6.5, -2.0 - off[1] * 2.0 / 6.5];
    for (name, [east, north]) in [("0", [0.0; 2]), ("1", first), ("2", second), ("3", third)] {
        let found = adjusted.positions[ours.node(name)];
        assert_abs_diff_eq!(found[0], east, epsilon = 1e-9);
        assert_abs_diff_eq!(found[1], north, epsilon = 1e-9);
        assert_abs_diff_eq!(found[2], 0.0, epsilon = 1e-12);
    }
}

/// A tie written from an anchor that nothing else tells is walked backwards: from 2, which lies 4 m
/// north and 3 m east, 4 m south.
#[test]
fn a_tie_is_walked_from_the_end_that_is_known() {
    let tables = Tables {
        anchors: "trail,anchor,tape_m,bearing_deg,incline_deg\nA,0,,,\nA,1,4,0,0\nA,2,3,90,0\n\
                  A,3,,,\n"
            .into(),
        ties: "trail,from,to,tape_m,bearing_deg,incline_deg\nA,3,2,4,0,0\n".into(),
        settings: "bearings.north = 'true'\n".into(),
        ..Tables::default()
    };
    let ours = tables.rebuild();
    for method in Method::ALL {
        let found = by(&ours, method).positions[ours.node("3")];
        for (found, known) in found.into_iter().zip([3.0, 0.0, 0.0]) {
            assert_abs_diff_eq!(found, known, epsilon = 1e-6);
        }
    }
}

/// A line measured six times, once by a slip of a metre: the robust mean is Huber's, where the sum
/// of the bounded residuals vanishes.
#[test]
fn robust_weights_give_hubers_mean() {
    let tapes = [5.01, 4.99, 5.02, 4.98, 5.00];
    let anchors = "trail,anchor,tape_m,bearing_deg,incline_deg\nA,0,,,\nA,1,6,90,0\n";
    let mut ties = String::from("trail,from,to,tape_m\n");
    for tape in tapes {
        ties += &format!("A,0,1,{tape}\n");
    }
    let settings = "bearings.north = 'true'\n[precision]\ntape_m = 0.03\ntape_per_m = 0\n";
    let ours =
        Tables { anchors: anchors.into(), ties, settings: settings.into(), ..Tables::default() };
    let ours = ours.rebuild();
    let [plain, robust] =
        [Method::LeastSquares, Method::Robust].map(|m| by(&ours, m).positions[ours.node("1")][0]);
    assert_abs_diff_eq!(plain, (tapes.iter().sum::<f64>() + 6.0) / 6.0, epsilon = 1e-4);
    // Five good readings within k of it, the bad one beyond: 5 m = Σ good + k σ.
    let hubers = 5.0 + 1.345 * 0.03 / 5.0;
    assert_abs_diff_eq!(robust, hubers, epsilon = 2e-4);
}

/// A turn read as 150° for 90°, against three ties that agree: the robust end lies nearer to them.
#[test]
fn a_slip_of_a_turn_loses_weight() {
    let tables = Tables {
        anchors: "trail,anchor,tape_m,bearing_deg,turn_deg,incline_deg\nA,0,,,,\nA,1,3,0,,0\n\
                  A,2,4,,150,0\n"
            .into(),
        ties: format!("trail,from,to,tape_m,bearing_deg\n{}", "A,0,2,5,53.13\n".repeat(3)),
        settings: "bearings.north = 'true'\n".into(),
        ..Tables::default()
    };
    let ours = tables.rebuild();
    let off = |method: Method| {
        let [east, north, _] = by(&ours, method).positions[ours.node("2")];
        (east - 4.0).hypot(north - 3.0)
    };
    let (plain, robust) = (off(Method::LeastSquares), off(Method::Robust));
    assert!(plain > 0.05 && robust < 0.5 * plain, "{plain} {robust}");
}

/// Where nothing closes, all four methods put the anchors in the same places.
#[test]
fn methods_agree_where_nothing_closes() {
    let anchors = "trail,anchor,tape_m,bearing_deg,incline_deg\nA,0,,,\nA,1,4,10,10\nA,2,4,120,0\n";
    let ours = Tables {
        anchors: anchors.into(),
        settings: "bearings.north = 'true'\n".into(),
        ..Tables::default()
    };
    let ours = ours.rebuild();
    let end = ours.node("2");
    for method in Method::ALL {
        for axis in 0..3 {
            let expected = ours.adjusted.positions[end][axis];
            assert_abs_diff_eq!(by(&ours, method).positions[end][axis], expected, epsilon = 1e-4);
        }
    }
}
