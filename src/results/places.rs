//! Headings towards places of the study: water, home, a feeder.

use super::Analysis;
use crate::adjustment::network::known_plan;
use crate::maths::quantity::Bearing;
use crate::maths::statistics::circular::MeanVector;
use crate::measures::compare::TestRow;
use crate::measures::compare::animals::{Roster, TrailValue};
use crate::measures::compare::directions::towards;
use std::collections::BTreeMap;

/// For each place of the settings the rows on headings towards it, an animal's nights averaged first;
/// a sentence in their stead where the place has no position.
pub(super) fn tests(
    analysis: &Analysis,
    roster: &Roster,
    bearings: &[TrailValue],
    seed: u64,
) -> Vec<(String, TestRow)> {
    let of = |(place, control): (&String, &String)| {
        let rows = match position(analysis, control) {
            Some(place_at) => {
                let pairs = pairs(analysis, roster, bearings, place_at);
                towards(control, &pairs, seed)
            }
            None => vec![TestRow {
                test: "heading_to_place",
                groups: control.clone(),
                reason: format!(
                    "the control {control} has no position: controls wants its latitude and longitude"
                ),
                ..TestRow::default()
            }],
        };
        rows.into_iter().map(|row| (place.clone(), row)).collect::<Vec<_>>()
    };
    analysis.survey.settings.places.iter().flat_map(of).collect()
}

/// East and north of a control.
fn position(analysis: &Analysis, control: &str) -> Option<[f64; 2]> {
    let survey = &analysis.survey;
    let row = survey.controls.iter().find(|row| survey.text(row.control) == control)?;
    known_plan(row, analysis.network.frame.as_ref())
}

/// Of each animal its heading and the bearing of the place from where it was released. A heading less
/// the bearing is averaged over its nights.
fn pairs(
    analysis: &Analysis,
    roster: &Roster,
    bearings: &[TrailValue],
    [east, north]: [f64; 2],
) -> Vec<[Bearing; 2]> {
    let bearing_from: BTreeMap<usize, f64> = analysis
        .shown_paths()
        .filter(|path| path.layout.is_placed())
        .filter_map(|path| {
            let node = path.points.first()?.node;
            let from = analysis.adjusted.positions.get(node)?;
            let away = (east - from[0]).hypot(north - from[1]);
            (away > 1.0)
                .then_some((analysis.listed(path)?, (east - from[0]).atan2(north - from[1])))
        })
        .collect();
    let of = |(_, trails): &(_, Vec<usize>)| {
        let own = bearings.iter().filter(|value| trails.contains(&value.listed));
        let off = own.filter_map(|value| {
            Some(
                Bearing::from_degrees(value.value).to_radians()
                    - bearing_from.get(&value.listed)?,
            )
        });
        let mean = MeanVector::of(off).direction()?;
        Some([Bearing::from_radians(mean), Bearing::from_radians(0.0)])
    };
    roster.animals.iter().filter_map(of).collect()
}
