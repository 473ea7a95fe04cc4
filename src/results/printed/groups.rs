//! The columns of tables by group: all animals, then those of the first usual grouping.

use crate::measures::compare::animals::{AnimalValue, averages};
use crate::measures::compare::factors::Factor;
use crate::measures::metrics::Metric;
use crate::results::Analysis;
use crate::results::answer::people;
use crate::results::comparison::{roster, trail_values};
use crate::results::question::groupings;
use crate::survey::names::Name;

/// One column: its head and its animals.
pub(super) struct Column {
    pub(super) head: String,
    pub(super) animals: Vec<Name>,
}

/// All animals, then by sex where that divides them, else by the first column that does.
pub(super) fn columns(analysis: &Analysis) -> Vec<Column> {
    let roster = roster(analysis);
    let all: Vec<Name> = roster.animals.iter().map(|(animal, _)| *animal).collect();
    let mut columns = vec![Column { head: format!("all (n = {})", all.len()), animals: all }];
    let by = groupings(analysis);
    let factor = by.iter().find(|factor| factor.name == "sex").or(by.first());
    columns.extend(factor.into_iter().flat_map(|factor| levels(analysis, factor)));
    columns
}

fn levels(analysis: &Analysis, factor: &Factor) -> Vec<Column> {
    let roster = roster(analysis);
    let first = |trails: &[usize]| trails.first().copied();
    let rows = roster.animals.iter().filter_map(|(_, trails)| first(trails));
    let of = |level: String| {
        let own = roster
            .animals
            .iter()
            .filter(|(_, trails)| first(trails).and_then(|row| factor.level(row)) == Some(&level));
        let animals: Vec<Name> = own.map(|(animal, _)| *animal).collect();
        let head = format!("{} (n = {})", people(&factor.name, &level), animals.len());
        Column { head, animals }
    };
    factor.levels(rows).into_iter().map(of).collect()
}

/// Whether a metric is printed in per cent.
fn is_share(metric: Metric) -> bool {
    metric.entry().name.ends_with("share")
}

/// The values of one metric, one an animal of the column; shares in per cent.
pub(super) fn values(
    analysis: &Analysis,
    column: &Column,
    metric: Metric,
    part: usize,
) -> Vec<f64> {
    let all = averages(&roster(analysis), &trail_values(analysis, metric, part), |_| true);
    let own = |value: &&AnimalValue| column.animals.contains(&value.animal);
    let unit = if is_share(metric) { 100.0 } else { 1.0 };
    all.iter().filter(own).map(|value| unit * value.value).collect()
}

/// A metric as the head of a row: its name in words, with its unit.
pub(super) fn row_head(metric: Metric) -> String {
    let entry = metric.entry();
    let words = entry.name.replace('_', " ");
    match metric {
        Metric::RatePerHour => "path length an hour (m)".into(),
        Metric::RatePerNight => "path length a night (m)".into(),
        Metric::ClimbsPer100m => "climbs per 100 m".into(),
        Metric::TreesPer100m => "trees per 100 m".into(),
        Metric::NetBearing => "net bearing (°)".into(),
        _ if is_share(metric) => format!("{words} (%)"),
        _ if matches!(entry.unit, "1" | "") => words,
        _ => format!("{words} ({})", entry.unit),
    }
}
