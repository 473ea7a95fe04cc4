//! The compass rule: each closure's misclosure is spread over its lines by their taped length, in
//! plan and in height alike.
//!
//! The classic hand rule knows one figure at a time. Closures are taken in the order of the walk;
//! lines that an earlier one has corrected stay as they are, and the rest of the misclosure falls
//! on those that are left. A closure without any such line is left open.
//! Source: [`Source::Bowditch1808`](crate::survey::sources::Source::Bowditch1808).

use super::closure::{Closure, Verdict};
use crate::adjustment::network::Network;
use crate::adjustment::network::traverse::Traverse;
use nalgebra::Vector3;

/// Positions by the compass rule, metres.
///
/// ```text
/// correction of line i = − misclosure · length_i / Σ length
/// ```
pub(super) fn positions(network: &Network, raw: &Traverse, closures: &[Closure]) -> Vec<[f64; 3]> {
    let mut vectors: Vec<Vector3<f64>> =
        raw.lines.iter().map(|line| Vector3::from(line.vector())).collect();
    let mut fixed = vec![false; vectors.len()];
    for closure in closures.iter().filter(|closure| closure.verdict != Verdict::TooCoarse) {
        spread(network, closure, raw, &mut vectors, &mut fixed);
    }
    let mut positions = raw.positions.clone();
    for &node in &network.order {
        let Some(line) = network.tree[node].line else { continue };
        let l = &network.lines[line];
        let (near, sign) = if l.to == node { (l.from, 1.0) } else { (l.to, -1.0) };
        positions[node] = (Vector3::from(positions[near]) + vectors[line] * sign).into();
    }
    positions
}

fn spread(
    network: &Network,
    closure: &Closure,
    raw: &Traverse,
    vectors: &mut [Vector3<f64>],
    fixed: &mut [bool],
) {
    let length = |line: usize| network.lines[line].tape.unwrap_or(0.0);
    let free: f64 =
        closure.steps.iter().filter(|s| !fixed[s.line]).map(|step| length(step.line)).sum();
    if free <= 0.0 {
        return;
    }
    // What earlier closures have corrected has changed this misclosure.
    let mut misclosure = Vector3::from(closure.misclosure);
    for step in &closure.steps {
        misclosure +=
            (vectors[step.line] - Vector3::from(raw.lines[step.line].vector())) * step.sense;
    }
    for step in &closure.steps {
        if !fixed[step.line] {
            vectors[step.line] -= misclosure * (step.sense * length(step.line) / free);
            fixed[step.line] = true;
        }
    }
}
