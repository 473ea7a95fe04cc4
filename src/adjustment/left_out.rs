//! Readings that an adjustment is to do without, although they stand in the survey.

use super::observation::{Kind, Observation};
use super::outcome::Residual;
use super::weights::Model;
use crate::adjustment::network::Component;

/// Which reading: the line or the node it was read at, and what was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct ReadAt {
    /// The line it was read along, if it was.
    pub(super) line: Option<usize>,
    /// The node it was read at, if it was.
    pub(super) node: Option<usize>,
    /// What was read.
    pub(super) kind: Kind,
}

impl From<&Residual> for ReadAt {
    fn from(residual: &Residual) -> Self {
        let Residual { line, node, kind, .. } = *residual;
        Self { line, node, kind }
    }
}

/// A standard deviation that is so many times larger weighs a millionth: the reading then tells
/// nothing beside any other, and what hangs on it alone still hangs.
pub(super) const WEAKER: f64 = 1e3;

/// Weakens those of the part's readings that are `left_out`.
pub(super) fn leave_out(model: &mut Model, part: &Component, left_out: &[ReadAt]) {
    if left_out.is_empty() {
        return;
    }
    let weaken = |reading: &mut Observation, line: Option<usize>, node: Option<usize>| {
        if left_out.contains(&ReadAt { line, node, kind: reading.kind }) {
            reading.sd *= WEAKER;
        }
    };
    for (at, line) in model.lines.iter().enumerate() {
        for reading in &mut model.readings[line.first..line.end] {
            weaken(reading, Some(part.lines[at]), None);
        }
    }
    for turn in &mut model.turns {
        weaken(&mut turn.reading, Some(part.lines[turn.line]), None);
    }
    for point in &mut model.points {
        weaken(&mut point.reading, None, Some(part.nodes[point.node]));
    }
}
