//! `closures.csv`: every loop, tie and line between controls.

use super::{Analysis, Cell, Emit, Table, count, metres, number, text};
use crate::adjustment::closure::{Closure, ClosureKind};

pub(super) fn table() -> Table {
    let columns = vec![
        text("loop", "which: its ends, and whether a loop, a tie or a line between controls"),
        text("trails", "the trails it runs along, separated by spaces"),
        count("legs", "how many lines it walks"),
        metres("length_m", "their taped length"),
        metres("east_m", "walked minus known, to the east; without a north, to the right"),
        metres("north_m", "the same to the north; without a north, towards the farthest point"),
        metres("up_m", "the same upward"),
        metres("horizontal_m", "misclosure in plan"),
        metres("misclosure_m", "misclosure in space"),
        number("ratio", "1", 1, "the n of 1 : n"),
        number("percent", "%", 3, "misclosure in per cent of the length"),
        metres(
            "expected_m",
            "root mean squared misclosure that the instruments lead one to expect",
        ),
        number("p_value", "1", 6, "chance of one this large, were there no slip"),
        text("verdict", "in words"),
    ];
    Table { name: "closures", meaning: "one closure", columns, rows }
}

/// A closure's name: its ends, and what it is.
pub fn closure_name(analysis: &Analysis, closure: &Closure) -> String {
    let [start, end] = closure.ends.map(|node| analysis.node_name(node));
    match closure.kind {
        ClosureKind::Loop => format!("{start} and back"),
        ClosureKind::Tie => format!("tie {start} to {end}"),
        ClosureKind::BetweenControls => format!("controls at {start} and {end}"),
    }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    for closure in analysis.adjusted.closures.iter().filter(|c| analysis.shows(&c.trails)) {
        let name = closure_name(analysis, closure);
        let trails: Vec<&str> = closure.trails.iter().map(|&t| analysis.trail_name(t)).collect();
        let trails = trails.join(" ");
        let [east, north, up] = closure.misclosure;
        emit(&[
            Cell::Text(&name),
            Cell::Text(&trails),
            Cell::Count(closure.legs),
            Cell::Number(closure.length),
            Cell::Number(east),
            Cell::Number(north),
            Cell::Number(up),
            Cell::Number(closure.horizontal()),
            Cell::Number(closure.total()),
            Cell::number(closure.ratio()),
            Cell::number((closure.length > 0.0).then(|| 100.0 * closure.total() / closure.length)),
            Cell::Number(closure.expected),
            Cell::Number(closure.p_value),
            Cell::Text(closure.verdict.words()),
        ]);
    }
}
