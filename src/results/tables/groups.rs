//! `groups.csv`: each metric over animals, all together and group by group.

use super::{Analysis, Cell, Emit, Table, count, number, text};
use crate::results::PART_NAMES;
use crate::results::comparison::{GroupRow, asked};

/// The table as a rebuild writes it.
pub fn table() -> Table {
    let value = |name, meaning| number(name, "", 5, meaning);
    let columns = vec![
        text("metric", "its fixed name; its unit is that of metrics.csv"),
        text("part", "whole, or after_escape: without the escape run"),
        text("factor", "by what the animals are grouped; blank for all animals"),
        text("group", "the level, or all"),
        count("animals", "animals with a value; the trails of each are averaged first"),
        value("mean", "mean over animals"),
        value("sd", "standard deviation between animals"),
        value("se", "standard error of the mean, by the spread between animals"),
        value(
            "mean_low95",
            "lower end of the 95 % interval of the mean: Student's t freed of skewness",
        ),
        value("mean_high95", "upper end of the same"),
        value("median", "median over animals"),
        value("q25", "lower quartile"),
        value("q75", "upper quartile"),
        value("median_low95", "lower end of the BCa interval of the median; from six animals"),
        value("median_high95", "upper end of the BCa interval of the median"),
        value("low", "least value"),
        value("high", "greatest value"),
        value("measurement_se", "the part of se that measurement alone makes"),
        count("at_least", "animals whose value is a lower bound"),
        value(
            "restricted_to",
            "where some are: the value up to which means are taken, that every group reaches",
        ),
        value("restricted_mean", "mean up to there, threads that ran out counted as such"),
        value("restricted_low95", "lower end of its 95 % interval"),
        value("restricted_high95", "upper end of the same"),
    ];
    Table { name: "groups", meaning: "one metric of one group of animals", columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    emit_rows(&asked(analysis).groups, emit);
}

/// Rows of any comparison, in the columns of the table.
pub fn emit_rows(rows: &[GroupRow], emit: &mut Emit<'_>) {
    let end = |interval: Option<[f64; 2]>, at: usize| Cell::number(interval.map(|ends| ends[at]));
    for row in rows {
        let s = &row.summary;
        emit(&[
            Cell::Text(row.metric.entry().name),
            Cell::Text(PART_NAMES[row.part]),
            if row.factor.is_empty() { Cell::Blank } else { Cell::Text(&row.factor) },
            Cell::Text(&row.group),
            Cell::Count(s.animals),
            Cell::number(s.mean),
            Cell::number(s.sd),
            Cell::number(s.se),
            end(s.mean_interval, 0),
            end(s.mean_interval, 1),
            Cell::number(s.median),
            end(s.quartiles, 0),
            end(s.quartiles, 1),
            end(s.median_interval, 0),
            end(s.median_interval, 1),
            end(s.range, 0),
            end(s.range, 1),
            Cell::number(s.measurement_se),
            Cell::Count(s.at_least),
            Cell::number(s.restricted.map(|restricted| restricted.bound)),
            Cell::number(s.restricted.map(|restricted| restricted.mean)),
            end(s.restricted.and_then(|restricted| restricted.interval), 0),
            end(s.restricted.and_then(|restricted| restricted.interval), 1),
        ]);
    }
}
