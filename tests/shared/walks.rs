//! Walks laid out by hand, and what is measured on them.

use perchline::adjustment::network::Layout;
use perchline::adjustment::path::{EscapeFound, Geometry, Leg, LegClass, Path, Point};
use perchline::measures::metrics::{Shape, Subject, Values, measure};
use perchline::survey::leg_support::LegSupport;
use serde_json::Value;

pub(crate) fn number(case: &Value, key: &str) -> f64 {
    case[key].as_f64().unwrap()
}

pub(crate) fn numbers(list: &Value) -> Vec<f64> {
    list.as_array().unwrap().iter().map(|number| number.as_f64().unwrap()).collect()
}

pub(crate) fn places(list: &Value) -> Vec<[f64; 3]> {
    list.as_array().unwrap().iter().map(|place| numbers(place).try_into().unwrap()).collect()
}

/// A walk along `places` over ground of elevation 0; a leg without a run is a plumb line.
pub(crate) fn walk(places: &[[f64; 3]]) -> (Path, Geometry) {
    let visit = |at| Point { node: at, row: at, section: 1, escape: false };
    let plumb = |p: &[[f64; 3]]| (p[1][0] - p[0][0]).hypot(p[1][1] - p[0][1]) < 1e-9;
    let leg = |(from, pair): (usize, &[[f64; 3]])| Leg {
        from,
        to: from + 1,
        line: Some(from),
        section: 1,
        escape: false,
        counted: true,
        class: if plumb(pair) { LegClass::Plumb } else { LegClass::Measured },
        turned: false,
        assumed: false,
        gap: None,
        support: LegSupport::default(),
    };
    let path = Path {
        trail: 0,
        points: (0..places.len()).map(visit).collect(),
        legs: places.windows(2).enumerate().map(leg).collect(),
        escape: EscapeFound::None,
        layout: Layout::MEASURED,
        whole: true,
        has_gap: false,
        out_of_reach: false,
        cut_short: false,
        settled: true,
    };
    let heights = places.iter().map(|place| place[2]).collect();
    (path, Geometry { points: places.to_vec(), heights })
}

/// The whole of a path: reversals above `threshold` count, extended metrics are wanted.
pub(crate) fn whole(path: &Path, threshold: f64) -> Subject {
    Subject::new(path, &path.legs, 0, 0.5).with(threshold, f64::NAN, true)
}

pub(crate) fn measured(places: &[[f64; 3]], threshold: f64) -> Values {
    let (path, geometry) = walk(places);
    let subject = whole(&path, threshold);
    measure(&subject, &Shape::of(&subject, &geometry))
}
