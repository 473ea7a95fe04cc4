//! `residuals.csv`: every reading against the adjusted network.

use super::{Analysis, Cell, Emit, Table, number, text};
use crate::adjustment::Residual;
use crate::adjustment::network::Written;
use crate::adjustment::observation::Kind;
use crate::maths::quantity::{Bearing, Turn};

pub(super) fn table() -> Table {
    let columns = vec![
        text("trail", "the thread, or blank at a control"),
        text("from", "where the line starts; blank for a reading at one point"),
        text("to", "where the line ends, or the point"),
        text("kind", "what was read"),
        number("observed", "", 4, "the reading in its unit; bearings as read"),
        number("adjusted", "", 4, "what the adjusted network would read"),
        number("residual", "", 4, "adjusted minus observed"),
        text("unit", "m or degree"),
        number("sd", "", 4, "standard deviation of the reading"),
        number("redundancy", "1", 4, "share of the reading that others check; 0 is unchecked"),
        number("standardised", "1", 3, "residual over its own standard deviation"),
        number("detectable", "", 4, "smallest slip that would be found"),
        text("suspect", "yes, where standardised exceeds 3.29 either way"),
    ];
    Table { name: "residuals", meaning: "one reading", columns, rows }
}

/// |standardised residual| beyond this is a suspect: α = 0.001, two-sided.
const SUSPECT: f64 = 3.29;

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    for residual in &analysis.adjusted.residuals {
        if residual.assumed && residual.kind != Kind::Steep {
            continue; // the model's own, not the survey's
        }
        let line = residual.line.map(|line| &analysis.network.lines[line]);
        let node = residual.node.map(|node| &analysis.network.nodes[node]);
        let trail = line.map(|line| line.trail).or(node.and_then(|node| node.trail));
        if trail.is_some_and(|trail| !analysis.shown[trail]) {
            continue;
        }
        let from = line.map(|line| analysis.node_name(line.from));
        let to = line.map(|line| line.to).or(residual.node).map(|node| analysis.node_name(node));
        let angle = residual.kind.is_angle();
        let unit = |value: f64| if angle { Turn::from_radians(value).to_degrees() } else { value };
        let observed = as_read(analysis, residual);
        let adjusted = observed + unit(residual.residual);
        let bearing = matches!(residual.kind, Kind::Bearing | Kind::BackBearing);
        let adjusted = if bearing { adjusted.rem_euclid(360.0) } else { adjusted };
        emit(&[
            Cell::text(trail.map(|trail| analysis.trail_name(trail))),
            Cell::text(from),
            Cell::text(to),
            Cell::Text(residual.kind.name()),
            Cell::Number(observed),
            Cell::Number(adjusted),
            Cell::Number(unit(residual.residual)),
            Cell::Text(if angle { "degree" } else { "m" }),
            Cell::Number(unit(residual.sd)),
            Cell::Number(residual.redundancy),
            Cell::number(residual.standardised),
            Cell::number(residual.detectable.map(unit)),
            Cell::yes(residual.standardised.is_some_and(|w| w.abs() > SUSPECT)),
        ]);
    }
}

/// The reading in degrees or metres; a bearing as the needle showed it, before any correction.
fn as_read(analysis: &Analysis, residual: &Residual) -> f64 {
    let written = residual.line.map(|line| analysis.network.lines[line].written);
    let readings = written.map(|written| match written {
        Written::Anchor(row) => &analysis.survey.anchors[row].readings,
        Written::Tie(row) => &analysis.survey.ties[row].readings,
    });
    let needle = match residual.kind {
        Kind::Bearing => readings.and_then(|r| r.bearing).map(|read| read.value),
        Kind::BackBearing => readings.and_then(|r| r.back_bearing),
        _ => None,
    };
    match needle {
        Some(needle) => needle.to_degrees(),
        None if matches!(residual.kind, Kind::Bearing | Kind::BackBearing) => {
            Bearing::from_radians(residual.observed).to_degrees()
        }
        None if residual.kind.is_angle() => Turn::from_radians(residual.observed).to_degrees(),
        None => residual.observed,
    }
}
