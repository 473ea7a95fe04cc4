//! `tests.csv`: every test, with the size of what it tests and the number of animals.

use super::{Analysis, Cell, Emit, Table, count, number, text};
use crate::results::PART_NAMES;
use crate::results::comparison::{MetricTest, asked};

/// The table as a rebuild writes it.
pub fn table() -> Table {
    let columns = vec![
        text("metric", "its fixed name, or support_selection, plant_selection"),
        text("part", "whole, or after_escape: without the escape run"),
        text("factor", "by or against what; blank for directions and selection"),
        text("test", "permutation, mann_whitney, kruskal_wallis, spearman and so on"),
        text("groups", "the groups, the first less the second; or the class; or the direction"),
        text("animals", "animals of each group, joined by +"),
        number("statistic", "", 5, "the test's own statistic"),
        number("effect", "", 5, "the size of what was found"),
        text("effect_name", "what the size is"),
        number("low95", "", 5, "lower end of the 95 % interval of the effect"),
        number("high95", "", 5, "upper end of the 95 % interval of the effect"),
        number("p_value", "1", 5, "the chance of as much, either way, without a true difference"),
        number("p_adjusted", "1", 5, "the same, allowing for the tests of one family together"),
        count("arrangements", "shuffles gone through, or drawn"),
        number("p_standard_error", "1", 5, "Monte Carlo error of p; blank where all were counted"),
        text("reason", "why there is no test, or what else must be known"),
    ];
    Table { name: "tests", meaning: "one test", columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    emit_rows(&asked(analysis).tests, emit);
}

/// Rows of any comparison, in the columns of the table.
pub fn emit_rows(rows: &[MetricTest], emit: &mut Emit<'_>) {
    fn word(text: &str) -> Cell<'_> {
        if text.is_empty() { Cell::Blank } else { Cell::Text(text) }
    }
    for MetricTest { metric, part, factor, row } in rows {
        let animals: Vec<String> = row.animals.iter().map(usize::to_string).collect();
        let arrangements = row.arrangements.and_then(|count| usize::try_from(count).ok());
        emit(&[
            Cell::Text(metric),
            Cell::Text(PART_NAMES[*part]),
            word(factor),
            Cell::Text(row.test),
            word(&row.groups),
            word(&animals.join("+")),
            Cell::number(row.statistic),
            Cell::number(row.effect),
            word(row.effect_name),
            Cell::number(row.interval.map(|[low, _]| low)),
            Cell::number(row.interval.map(|[_, high]| high)),
            Cell::number(row.p),
            Cell::number(row.p_adjusted),
            arrangements.map_or(Cell::Blank, Cell::Count),
            Cell::number(row.p_standard_error),
            word(&row.reason),
        ]);
    }
}
