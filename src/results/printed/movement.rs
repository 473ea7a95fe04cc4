//! Table 2: movement.

use super::groups::{Column, columns, row_head, values};
use super::{Analysis, Printed, spread};
use crate::maths::quantity::{Bearing, degrees, significant};
use crate::measures::compare::directions::{headings, mean_vector};
use crate::measures::metrics::Metric;
use crate::results::PART_NAMES;
use crate::results::comparison::{roster, trail_values};

/// What the table shows, and of which parts.
const ROWS: [(Metric, &[usize]); 10] = [
    (Metric::PathLength, &[0, 1]),
    (Metric::RatePerHour, &[0]),
    (Metric::RatePerNight, &[0]),
    (Metric::NightsActiveShare, &[0]),
    (Metric::NetDisplacement, &[0, 1]),
    (Metric::NetBearing, &[0]),
    (Metric::MaxDistance, &[0]),
    (Metric::Straightness, &[0, 1]),
    (Metric::IntensityOfUse, &[0, 1]),
    (Metric::DailyHomeRange, &[0, 1]),
];

pub(super) fn table(analysis: &Analysis) -> Printed {
    let columns = columns(analysis);
    let mut heads = vec!["movement".to_owned(), "part".to_owned()];
    heads.extend(columns.iter().map(|column| column.head.clone()));
    let parts =
        ROWS.iter().flat_map(|(metric, parts)| parts.iter().map(move |part| (metric, *part)));
    let row = |(metric, part): (&Metric, usize)| {
        let mut row = vec![row_head(*metric), PART_NAMES[part].replace('_', " ")];
        row.extend(columns.iter().map(|column| cell(analysis, column, *metric, part)));
        row
    };
    Printed {
        stem: "2-movement",
        title: "Movement: mean ± SD (range), n animals.".into(),
        heads,
        rows: parts.map(row).collect(),
        notes: vec![
            "Each animal's trails were averaged first. After escape: without the escape run.".into(),
            "Net bearing: mean direction, with the mean resultant length r (0 every way, 1 all one \
             way)."
                .into(),
            "Length along a taut thread is a lower bound of the way walked; of threads that were cut short or had \
             a gap, totals are minimum values."
                .into(),
        ],
    }
}

fn cell(analysis: &Analysis, column: &Column, metric: Metric, part: usize) -> String {
    if metric != Metric::NetBearing {
        return spread(&values(analysis, column, metric, part));
    }
    let mut roster = roster(analysis);
    roster.animals.retain(|(animal, _)| column.animals.contains(animal));
    let bearings = headings(&roster, &trail_values(analysis, metric, part), |_| true);
    let vector = mean_vector(&bearings);
    match vector.direction().zip(vector.resultant()) {
        Some((direction, r)) => {
            let mean = degrees(Bearing::from_radians(direction).to_degrees());
            format!("{mean} (r = {}), n = {}", significant(r, 2), bearings.len())
        }
        None => "–".into(),
    }
}
