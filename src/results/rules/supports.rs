//! Whether what the thread lies on was noted for legs, or follows from halves of them.

use crate::adjustment::network::{Network, Visit};
use crate::maths::quantity::percent;
use crate::survey::Survey;
use crate::survey::fault::{Code, Faults};
use crate::survey::leg_support::{LegSupport, leg_support};
use std::collections::BTreeMap;

/// From this share of the metres on it is worth a note.
const DOUBTFUL: f64 = 0.2;

/// Few metres by support rest on halves of legs whose ends differ.
pub(super) fn check(survey: &Survey, network: &Network, faults: &mut Faults) {
    let (mut taped, mut in_halves) = (0.0, 0.0);
    for trail in &network.trails {
        let mut last_row: BTreeMap<usize, usize> = BTreeMap::new();
        for visit in network.visits_of(trail) {
            let start = visit.from.and_then(|node| last_row.get(&node)).copied();
            if let Some((tape, support)) = start.and_then(|row| leg(survey, network, row, visit)) {
                taped += tape;
                in_halves += tape * support.share_in_halves();
            }
            last_row.insert(visit.node, visit.row);
        }
    }
    let share = in_halves / taped;
    if share > DOUBTFUL {
        faults
            .note(Code::SupportInHalves, survey.grids.anchors.heading_place("leg_support"))
            .found(format!("{} of the metres are halves of legs whose ends differ in support", percent(share)))
            .expected("leg_support on such legs: what the thread lies on between the two anchors")
            .hint(
                "half of such a leg counts for each end; write leg_support where it can be told, or \
                 support.of_leg in survey.toml if the support noted was that of the whole leg",
            );
    }
}

/// The taped length of the leg from a row to a visit, and what it lies on by the heights as read.
fn leg(
    survey: &Survey,
    network: &Network,
    start: usize,
    visit: &Visit,
) -> Option<(f64, LegSupport)> {
    let rows = [start, visit.row].map(|row| &survey.anchors[row]);
    let tape = network.lines[visit.line?].tape?;
    let heights = rows.map(|row| row.height.map_or(f64::NAN, |height| height.to_metres()));
    rows[1].gap.is_none().then(|| (tape, leg_support(survey, rows, heights)))
}
