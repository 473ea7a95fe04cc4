//! `methods_compared.csv`: every metric of every trail by all methods, side by side.

use super::{Analysis, Cell, Emit, Table, number, text};
use crate::results::PART_NAMES;

pub(super) fn table() -> Table {
    let columns = vec![
        text("trail", "the thread"),
        text("animal", "whose thread it is"),
        text("part", "whole, or after_escape: without the escape run"),
        text("metric", "its fixed name"),
        text("unit", "the unit"),
        number("least_squares", "", 5, "by weighted least squares"),
        number("robust", "", 5, "by least squares with Huber's weights, k = 1.345"),
        number("compass_rule", "", 5, "by the compass rule"),
        number("none", "", 5, "by the raw traverse"),
    ];
    let meaning = "one metric of one part of a trail, by four methods";
    Table { name: "methods_compared", meaning, columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    for path in analysis.shown_paths() {
        for (at, row) in analysis.trails[path.trail].metrics.iter().enumerate() {
            let entry = row.metric.entry();
            let mut cells = vec![
                Cell::Text(analysis.trail_name(path.trail)),
                analysis.animal_name(path.trail),
                Cell::Text(PART_NAMES[row.part]),
                Cell::Text(entry.name),
                Cell::Text(entry.unit),
            ];
            cells.extend(analysis.compared.iter().map(|by_method| {
                let row = by_method.get(path.trail).and_then(|rows| rows.get(at));
                Cell::number(row.and_then(|row| row.measured).map(|measured| measured.value))
            }));
            emit(&cells);
        }
    }
}
