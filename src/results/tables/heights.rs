//! `heights.csv`: metres of path in each height band.

use super::{Analysis, Cell, Emit, Table, metres, number, text};
use crate::results::PART_NAMES;

pub(super) fn table() -> Table {
    let columns = vec![
        text("trail", "the thread"),
        text("part", "whole, or after_escape: without the escape run"),
        metres("low_m", "lower edge, included; blank below the lowest"),
        metres("high_m", "upper edge, excluded; blank above the highest"),
        metres("length_m", "metres of path that count"),
        number("share", "1", 5, "share of the part's length"),
        number("low95", "1", 5, "lower end of the 95 % interval of the share"),
        number("high95", "1", 5, "upper end of the 95 % interval of the share"),
    ];
    Table { name: "heights", meaning: "one height band of one part of a trail", columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    let edges = &analysis.survey.settings.strata_edges_m;
    for path in analysis.shown_paths() {
        for (part, strata) in analysis.trails[path.trail].strata.iter().enumerate() {
            for (at, stratum) in strata.iter().enumerate() {
                emit(&[
                    Cell::Text(analysis.trail_name(path.trail)),
                    Cell::Text(PART_NAMES[part]),
                    Cell::number(at.checked_sub(1).and_then(|at| edges.get(at).copied())),
                    Cell::number(edges.get(at).copied()),
                    Cell::Number(stratum.length),
                    Cell::Number(stratum.share),
                    Cell::number(stratum.interval.map(|[low, _]| low)),
                    Cell::number(stratum.interval.map(|[_, high]| high)),
                ]);
            }
        }
    }
}
