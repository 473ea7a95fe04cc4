//! `trails.csv`: one row a trail, with all its metrics side by side.

use super::{Analysis, Cell, Column, Emit, Kind, Table, count, factors, number, passed_on, text};
use crate::adjustment::network::undirected::undirected;
use crate::maths::quantity::Turn;
use crate::measures::metrics::{Entry, METRICS};
use crate::results::MetricRow;
use crate::survey::dictionary::{ANIMALS, InputTable, TRAILS};
use crate::survey::grid::Grid;
use std::borrow::Cow;

pub(super) fn table(analysis: &Analysis) -> Table {
    let mut columns = vec![
        text("trail", "the thread"),
        text("animal", "whose thread it is"),
        text("date", "the evening of the release"),
        text("ending", "how it ended"),
        count("anchors", "its points"),
        count("sections", "from one place the animal was seen to the next"),
        number("declination_deg", "degree", 4, "added to its needle readings"),
        text("declination_source", "where that is from"),
        text("escape_by", "how the end of the escape run was found"),
        text("placed_by", "a known position, or its release at the origin"),
        text(
            "shape",
            "how the plan is known: measured; estimated, with directions carried on; unknown",
        ),
        text(
            "orientation",
            "how north is known: measured, by bearings; estimated, by positions; unknown",
        ),
        text("place", "how its place on the map is known: measured, by a position; unknown"),
        count("undirected_legs", "legs that have no direction and do not stand plumb"),
        text("at_least", "yes: cut short or gapped, so that totals are lower bounds"),
    ];
    for suffix in ["", "_after_escape"] {
        let of_metric = |entry: &'static Entry| Column {
            name: Cow::Owned(format!("{}{suffix}", entry.name)),
            unit: entry.unit,
            kind: Kind::Number(5),
            meaning: Cow::Owned(format!("{}: {}", entry.meaning, entry.metric.explained().formula)),
        };
        let wanted = METRICS.iter().filter(|entry| analysis.wanted.all_metrics || !entry.extended);
        columns.extend(wanted.map(of_metric));
    }
    columns.extend(own_columns(analysis).map(|(_, heading, _)| passed_on(heading)));
    Table { name: "trails", meaning: "one trail", columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    for path in analysis.shown_paths() {
        let trail = &analysis.network.trails[path.trail];
        let listed = trail.listed.map(|at| &analysis.survey.trails[at]);
        let date = listed.and_then(|row| row.date).map(|date| date.to_string());
        let known = path.points.iter().any(|point| {
            analysis.network.nodes[point.node].known.is_some_and(|known| known.in_plan)
        });
        let result = &analysis.trails[path.trail];
        let mut row = vec![
            Cell::Text(analysis.trail_name(path.trail)),
            analysis.animal_name(path.trail),
            Cell::text(date.as_deref()),
            Cell::text(listed.and_then(|row| row.ending).map(|ending| ending.words())),
            Cell::Count(path.points.len()),
            Cell::Count(result.sections.len()),
            Cell::Number(Turn::from_radians(trail.declination.0).to_degrees()),
            Cell::Text(trail.declination.1.words()),
            Cell::Text(path.escape.words()),
            Cell::Text(if known { "known position" } else { "release at the origin" }),
            Cell::Text(path.layout.shape.words()),
            Cell::Text(path.layout.orientation.words()),
            Cell::Text(path.layout.place.words()),
            Cell::Count(undirected(&analysis.network, trail).count()),
            Cell::yes(path.cut_short || path.has_gap),
        ];
        let value = |m: &MetricRow| Cell::number(m.measured.map(|m| m.value));
        row.extend(result.metrics.iter().map(value));
        let animal = listed.and_then(|row| row.animal);
        let animal = animal
            .and_then(|name| analysis.survey.animals.iter().find(|row| row.animal == name))
            .map(|row| row.row);
        row.extend(own_columns(analysis).map(|(grid, heading, of_animal)| {
            let at = if of_animal { animal } else { listed.map(|row| row.row) };
            let text = at.zip(grid.column(heading)).map(|(row, column)| grid.cell(row, column));
            text.filter(|text| !text.is_empty()).map_or(Cell::Blank, Cell::Text)
        }));
        emit(&row);
    }
}

/// The user's own columns of the animal and of the trail: their table, heading, and whether of the animal.
fn own_columns(analysis: &Analysis) -> impl Iterator<Item = (&Grid, &str, bool)> {
    let grids = &analysis.survey.grids;
    let of_animals = own_of(grids.animals.as_ref(), &ANIMALS);
    let of_trails = own_of(grids.trails.as_ref(), &TRAILS);
    of_animals
        .map(|(grid, heading)| (grid, heading, true))
        .chain(of_trails.map(|(grid, heading)| (grid, heading, false)))
}

fn own_of<'a>(
    grid: Option<&'a Grid>,
    known: &InputTable,
) -> impl Iterator<Item = (&'a Grid, &'a str)> {
    let places = factors(grid, known).into_iter();
    places.filter_map(move |at| grid.map(|grid| (grid, grid.headings()[at].as_ref())))
}
