//! The rows of table 4 on perches and refuges.

use super::supports::steepness;
use super::{Analysis, spread};
use crate::maths::quantity::count_of;
use crate::maths::statistics::describe::mean;
use crate::measures::support::perches::{Period, Place, Stay};
use crate::results::usage::all_stays;
use crate::survey::names::Name;
use crate::survey::rows::{AnchorRow, Perch};
use std::collections::BTreeSet;

/// Which stays a row is of.
type Rule = fn(&Stay) -> bool;

const KINDS: [(&str, Rule); 3] = [
    ("perch, animal seen", |s| s.place == Place::Perch && s.evidence == Some(Perch::Seen)),
    ("perch, by sign", |s| s.place == Place::Perch && s.evidence == Some(Perch::Sign)),
    ("refuge", |s| s.place == Place::Refuge),
];

/// Day and night apart; a stay without a time is in neither.
const PERIODS: [(&str, Option<Period>); 3] =
    [(" by day", Some(Period::Day)), (" by night", Some(Period::Night)), ("", None)];

/// One row a kind and time of day that there is.
pub(super) fn rows(analysis: &Analysis) -> Vec<Vec<String>> {
    let stays = all_stays(analysis);
    let mut rows = Vec::new();
    for (kind, rule) in KINDS {
        for (when, period) in PERIODS {
            let here = |stay: &&Stay| rule(stay) && stay.period == period;
            let own: Vec<&Stay> = stays.iter().filter(here).collect();
            if !own.is_empty() {
                rows.push(row(analysis, &format!("{kind}{when}"), &own));
            }
        }
    }
    rows
}

fn row(analysis: &Analysis, name: &str, own: &[&Stay]) -> Vec<String> {
    let animal = |stay: &Stay| {
        let listed = analysis.listed(&analysis.paths[stay.trail])?;
        analysis.survey.trails[listed].animal
    };
    let anchor = |stay: &Stay| {
        let point = analysis.paths[stay.trail].points[stay.point];
        (&analysis.survey.anchors[point.row], analysis.adjusted.heights[point.node].height)
    };
    let animals: BTreeSet<Name> = own.iter().filter_map(|stay| animal(stay)).collect();
    let means = |value: &dyn Fn(&AnchorRow, f64) -> Option<f64>| {
        let known = |value: &f64| value.is_finite(); // heights of a trail that did not settle are not
        let of = |name: &Name| {
            let mine = own.iter().filter(|stay| animal(stay) == Some(*name)).map(|s| anchor(s));
            let values = mine.filter_map(|(row, height)| value(row, height)).filter(known);
            mean(&values.collect::<Vec<_>>())
        };
        spread(&animals.iter().filter_map(of).collect::<Vec<_>>())
    };
    let supports: BTreeSet<&str> = own
        .iter()
        .filter_map(|stay| anchor(stay).0.support)
        .map(|support| analysis.survey.text(support))
        .collect();
    let supports: Vec<&str> = supports.into_iter().collect();
    let on = if supports.is_empty() { String::new() } else { format!(": {}", supports.join(", ")) };
    vec![
        format!("{name}{on}"),
        "–".into(),
        own.len().to_string(),
        count_of(animals.len(), "animal"),
        means(&|row, _| row.diameter_cm),
        means(&|row, _| steepness(row)),
        means(&|_, height| Some(height)),
        "–".into(),
        "–".into(),
        "–".into(),
    ]
}
