//! `metrics.csv`: every metric of every trail, whole and after the escape run.

use super::{Analysis, Cell, Emit, Table, number, text};
use crate::results::PART_NAMES;

pub(super) fn table() -> Table {
    let columns = vec![
        text("trail", "the thread"),
        text("animal", "whose thread it is"),
        text("part", "whole, or after_escape: without the escape run"),
        text("metric", "its fixed name"),
        number("value", "", 5, "the estimate, in the unit of its row"),
        text("unit", "the unit"),
        number("se", "", 5, "standard error"),
        number("low95", "", 5, "lower end of the 95 % interval"),
        number("high95", "", 5, "upper end of the 95 % interval"),
        text(
            "bound",
            "at least: the true value may be greater, since the path is cut short or gapped",
        ),
        text("reason", "why a value or interval is missing, or what else must be known"),
    ];
    Table { name: "metrics", meaning: "one metric of one part of a trail", columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    for path in analysis.shown_paths() {
        for row in &analysis.trails[path.trail].metrics {
            let measured = row.measured;
            let interval = measured.and_then(|measured| measured.interval);
            emit(&[
                Cell::Text(analysis.trail_name(path.trail)),
                analysis.animal_name(path.trail),
                Cell::Text(PART_NAMES[row.part]),
                Cell::Text(row.metric.entry().name),
                Cell::number(measured.map(|measured| measured.value)),
                Cell::Text(row.metric.entry().unit),
                Cell::number(measured.and_then(|measured| measured.se)),
                Cell::number(interval.map(|[low, _]| low)),
                Cell::number(interval.map(|[_, high]| high)),
                if row.at_least { Cell::Text("at least") } else { Cell::Blank },
                if row.reason.is_empty() { Cell::Blank } else { Cell::Text(&row.reason) },
            ]);
        }
    }
}
