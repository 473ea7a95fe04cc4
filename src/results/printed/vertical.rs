//! Table 3: use of height.

use super::groups::{Column, columns, row_head, values};
use super::{Analysis, Printed, spread};
use crate::measures::metrics::Metric;
use crate::measures::support::classes::{Class, Division, words};
use crate::results::PART_NAMES;
use crate::results::usage::{AnimalUse, of_animals};

/// What the table shows besides the strata.
const ROWS: [Metric; 8] = [
    Metric::AboveGroundShare,
    Metric::HeightMean,
    Metric::HeightMax,
    Metric::Ascent,
    Metric::Descent,
    Metric::ClimbsPer100m,
    Metric::TreesPer100m,
    Metric::Crossings,
];

pub(super) fn table(analysis: &Analysis) -> Printed {
    let columns = columns(analysis);
    let mut heads = vec!["use of height".to_owned(), "part".to_owned()];
    heads.extend(columns.iter().map(|column| column.head.clone()));
    let mut rows = Vec::new();
    for metric in ROWS {
        for (part, part_name) in PART_NAMES.iter().enumerate() {
            let mut row = vec![row_head(metric), part_name.replace('_', " ")];
            let cell = |column| spread(&values(analysis, column, metric, part));
            row.extend(columns.iter().map(cell));
            rows.push(row);
        }
    }
    for (part, part_name) in PART_NAMES.iter().enumerate() {
        let animals = of_animals(analysis, part);
        for band in 0..=analysis.survey.settings.strata_edges_m.len() {
            let class = Class::Band(band);
            let name = words(class, Division::Stratum, &analysis.survey);
            let mut row = vec![format!("share at {name} m (%)"), part_name.replace('_', " ")];
            row.extend(columns.iter().map(|column| spread(&shares(&animals, column, class))));
            rows.push(row);
        }
    }
    Printed {
        stem: "3-vertical",
        title: "Use of height: mean ± SD (range), n animals.".into(),
        heads,
        rows,
        notes: vec![
            "Shares are of metres of path; legs are cut at the edges of the strata. Shares at a height \
             pool the metres of an animal's trails; in the other rows its trails are averaged first, each with the \
             same weight."
                .into(),
            "Ascent and descent are corrected for most of what measurement noise adds. Ranges are of means of animals. Where threads were \
             cut short, had a gap or went out of reach, totals and greatest heights are minimum values."
                .into(),
        ],
    }
}

/// The share of one stratum in per cent, one an animal that moved.
fn shares(animals: &[AnimalUse], column: &Column, class: Class) -> Vec<f64> {
    let own = animals.iter().filter(|animal| column.animals.contains(&animal.animal));
    own.filter_map(|animal| {
        let total: f64 = animal.used.of(Division::Stratum).map(|(_, used)| used.length).sum();
        let used = animal.used.classes.get(&(Division::Stratum, class))?;
        (total > 0.0).then(|| 100.0 * used.length / total)
    })
    .collect()
}
