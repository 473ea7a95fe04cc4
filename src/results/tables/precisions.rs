//! `precisions.csv`: how precise readings were, beside what is stated.

use super::{Analysis, Cell, Emit, Table, count, number, text};
use crate::adjustment::precisions::{Estimate, Graded};
use crate::results::precisions::{reason, shown_by, stated, to_write};

pub(super) fn table() -> Table {
    let columns = vec![
        text(
            "kind",
            "what was read; with `_repeated` by readings taken twice alone (a needle forward and \
             back, a tape or clinometer there and back), else by the residuals of the adjustment",
        ),
        text("observer", "whose readings; blank for all together"),
        count("readings", "how many readings; slips are left out"),
        number("redundancy", "1", 2, "sum of their redundancy, as far as this precision makes it"),
        number("stated", "", 4, "the standard deviation stated: the first setting of the kind"),
        number(
            "estimated",
            "",
            4,
            "the same as the readings show it; blank where too little tells",
        ),
        number("low95", "", 4, "lower end of its 95 % interval"),
        number("high95", "", 4, "upper end"),
        text("unit", "m or degree"),
        text("setting", "what to write under [precision] to state the estimate"),
        text("reason", "why there is no estimate, and how many readings were left out"),
    ];
    Table { name: "precisions", meaning: "one kind of reading", columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    let shown = shown_by(analysis);
    for estimate in &shown.by_residuals.estimates {
        let settled = shown.by_residuals.settled;
        row(analysis, (estimate, estimate.graded.name()), Some(settled), emit);
    }
    for estimate in &shown.by_repeats {
        let name = match estimate.graded {
            Graded::Tape => "tape_repeated",
            Graded::Incline => "incline_repeated",
            _ => "bearing_repeated",
        };
        row(analysis, (estimate, name), None, emit);
    }
}

/// One row; `by_residuals` tells whether the rounds had settled, where there were any.
fn row(
    analysis: &Analysis,
    (estimate, name): (&Estimate, &str),
    by_residuals: Option<bool>,
    emit: &mut Emit<'_>,
) {
    let graded = estimate.graded;
    let stated = stated(analysis, graded);
    let factor = estimate.factor;
    let whole = factor.filter(|_| by_residuals.is_some() && estimate.observer.is_none());
    let setting = whole.map(|factor| to_write(analysis, graded, factor.value));
    let reason = reason(estimate, by_residuals.unwrap_or(true));
    emit(&[
        Cell::Text(name),
        Cell::text(estimate.observer.map(|observer| analysis.survey.text(observer))),
        Cell::Count(estimate.readings),
        Cell::Number(estimate.redundancy),
        Cell::Number(stated),
        Cell::number(factor.map(|factor| factor.value * stated)),
        Cell::number(factor.map(|factor| factor.interval[0] * stated)),
        Cell::number(factor.map(|factor| factor.interval[1] * stated)),
        Cell::Text(if graded.is_angle() { "degree" } else { "m" }),
        Cell::text(setting.as_deref()),
        Cell::text(reason.as_deref()),
    ]);
}
