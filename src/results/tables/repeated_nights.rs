//! `repeated_nights.csv`: how much of a metric's spread lies between animals, between the nights of one
//! animal, and in the measurement.

use super::{Analysis, Cell, Emit, Table, count, number, text};
use crate::maths::statistics::repeated::Spread;
use crate::measures::compare::repeated::{mean, nights};
use crate::results::PART_NAMES;
use crate::results::comparison::{compared, roster, trail_values};

/// The table as a rebuild writes it.
pub(super) fn table() -> Table {
    let value = |name, meaning| number(name, "", 5, meaning);
    let columns = vec![
        text("metric", "its fixed name; its unit is that of metrics.csv"),
        text("part", "whole, or after_escape: without the escape run"),
        count("animals", "animals with a complete trail"),
        count("trails", "complete trails of all of them"),
        value("mean", "mean over animals; each night weighs by what it knows"),
        value("mean_low95", "lower end of its 95 % interval"),
        value("mean_high95", "upper end of the same"),
        value("sd_between_animals", "standard deviation between animals"),
        value("sd_between_nights", "standard deviation between nights of one animal"),
        value("sd_of_measurement", "root mean square of the standard errors of measurement"),
        number("repeatability", "1", 4, "share of the variance that lies between animals"),
    ];
    Table { name: "repeated_nights", meaning: "one metric over animals and nights", columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    let roster = roster(analysis);
    for (metric, part) in compared(analysis) {
        let Some(found) = mean(&nights(&roster, &trail_values(analysis, metric, part))) else {
            continue;
        };
        let Spread::Separate { animals, nights } = found.spread else { continue };
        let Some(mean) = found.coefficients.first() else { continue };
        emit(&[
            Cell::Text(metric.entry().name),
            Cell::Text(PART_NAMES[part]),
            Cell::Count(found.animals),
            Cell::Count(found.nights),
            Cell::Number(mean.value),
            Cell::Number(mean.interval[0]),
            Cell::Number(mean.interval[1]),
            Cell::Number(animals),
            Cell::Number(nights),
            Cell::Number(found.measurement_sd),
            Cell::number(found.spread.repeatability()),
        ]);
    }
}
