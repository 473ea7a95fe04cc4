//! `animals.csv`: one row an animal: its own columns, its trails, and the headline metrics.

use super::{Analysis, Cell, Column, Emit, Kind, Table, count, factors, number, passed_on, text};
use crate::measures::compare::animals::{AnimalValue, averages};
use crate::measures::metrics::{Entry, Metric};
use crate::results::PART_NAMES;
use crate::results::comparison::{roster, trail_values};
use crate::results::headlines::headlines;
use crate::survey::dictionary::ANIMALS;
use std::borrow::Cow;
use std::collections::BTreeMap;

pub(super) fn table(analysis: &Analysis) -> Table {
    let mut columns = vec![
        text("animal", "the animal"),
        count("trails", "its trails"),
        number("nights", "", 2, "nights that they cover; blank where one does not say"),
    ];
    columns.extend(own(analysis).into_iter().map(|(heading, _)| passed_on(heading)));
    for (metric, part) in headlines() {
        columns.extend(of_metric(metric.entry(), part));
    }
    Table { name: "animals", meaning: "one animal: the mean over its trails", columns, rows }
}

/// The columns of the animals table but its name, each with its place.
fn own(analysis: &Analysis) -> Vec<(&str, usize)> {
    let Some(grid) = analysis.survey.grids.animals.as_ref() else { return Vec::new() };
    let written = |at: &usize| (0..grid.len()).any(|row| !grid.cell(row, *at).trim().is_empty());
    let known = ANIMALS.columns.iter().filter_map(|column| grid.column(column.heading));
    let places = known.chain(factors(Some(grid), &ANIMALS)).filter(written);
    let headings = places.map(|at| (grid.headings()[at].as_ref(), at));
    headings.filter(|(heading, _)| *heading != "animal").collect()
}

/// The value, its standard error by measurement and whether it is a minimum value.
fn of_metric(entry: &'static Entry, part: usize) -> [Column; 3] {
    let part = if part == 0 { String::new() } else { format!("_{}", PART_NAMES[part]) };
    let name = format!("{}{part}", entry.name);
    let with_unit = |name: String| match entry.unit {
        unit if unit.is_empty() || unit.starts_with('1') || entry.name.contains("_m_") => name,
        unit => format!("{name}_{}", unit.replace('²', "2")),
    };
    let column = |name: String, kind, unit, meaning: String| Column {
        name: Cow::Owned(name),
        unit,
        kind,
        meaning: Cow::Owned(meaning),
    };
    let mean = format!("{}: the mean of its trails", entry.meaning);
    [
        column(with_unit(name.clone()), Kind::Number(5), entry.unit, mean),
        column(
            with_unit(format!("{name}_se")),
            Kind::Number(5),
            entry.unit,
            "standard error of that mean by measurement".to_owned(),
        ),
        column(
            format!("{name}_at_least"),
            Kind::Text,
            "",
            "yes: a trail of it has a minimum value".to_owned(),
        ),
    ]
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    let roster = roster(analysis);
    let of = |(metric, part): (Metric, usize)| -> BTreeMap<_, AnimalValue> {
        let values = averages(&roster, &trail_values(analysis, metric, part), |_| true);
        values.into_iter().map(|value| (value.animal, value)).collect()
    };
    let metrics: Vec<BTreeMap<_, AnimalValue>> = headlines().map(of).collect();
    let nights: BTreeMap<usize, Option<f64>> = analysis
        .shown_paths()
        .filter_map(|path| Some((analysis.listed(path)?, analysis.trails[path.trail].times.nights)))
        .collect();
    let (own, grid) = (own(analysis), analysis.survey.grids.animals.as_ref());
    for (animal, trails) in &roster.animals {
        let all: Option<f64> = trails.iter().map(|row| nights.get(row).copied().flatten()).sum();
        let mut row = vec![
            Cell::Text(analysis.survey.text(*animal)),
            Cell::Count(trails.len()),
            Cell::number(all),
        ];
        let listed = analysis.survey.animals.iter().find(|row| row.animal == *animal);
        row.extend(own.iter().map(|(_, at)| {
            let text = listed.zip(grid).map(|(listed, grid)| grid.cell(listed.row, *at));
            text.filter(|text| !text.is_empty()).map_or(Cell::Blank, Cell::Text)
        }));
        for values in &metrics {
            let value = values.get(animal);
            row.extend([
                Cell::number(value.map(|value| value.value)),
                Cell::number(value.and_then(|value| value.se)),
                Cell::yes(value.is_some_and(|value| value.at_least)),
            ]);
        }
        emit(&row);
    }
}
