//! Readings that stand out from the others of their kind: slips, which would pass for a low precision.

use super::super::left_out::{ReadAt, WEAKER};
use super::super::outcome::Residual;
use super::super::suspects::SUSPECT;
use super::graded::Graded;
use crate::network::{Component, Network};
use crate::statistics::describe::median;
use std::collections::BTreeMap;

/// A slip, with the precision that it would have counted for.
pub(super) type Slip = (Option<Graded>, ReadAt);

/// Less redundancy tells no slip by itself: its residual is that of others.
const SOME: f64 = 0.05;
/// So few readings have no median worth the name.
const FEW: usize = 5;
/// Median of the size of a standard normal number.
const NORMAL_MEDIAN: f64 = 0.674_489_750_196_082;

/// The worst slip of each connected part, where there is one. What stands out is measured by the
/// middle of all readings of its kind, so that a kind that is less precise than stated is not taken
/// for slips, nor one slip for a kind.
pub(super) fn worst(network: &Network, residuals: &[&Residual], left_out: &[Slip]) -> Vec<Slip> {
    let tested: Vec<(Slip, f64, &Residual)> = residuals
        .iter()
        .filter(|residual| !residual.assumed && residual.redundancy > SOME)
        .filter_map(|residual| {
            let slip = (Graded::of(network, residual), ReadAt::from(*residual));
            let size = residual.standardised?.abs();
            (!left_out.contains(&slip)).then_some((slip, size, *residual))
        })
        .collect();
    let mut sizes: BTreeMap<Option<Graded>, Vec<f64>> = BTreeMap::new();
    for ((graded, _), size, _) in &tested {
        sizes.entry(*graded).or_default().push(*size);
    }
    let limits: BTreeMap<Option<Graded>, f64> =
        sizes.into_iter().map(|(graded, sizes)| (graded, limit(&sizes))).collect();
    let part_of = parts(network);
    let mut worst: BTreeMap<usize, (f64, Slip)> = BTreeMap::new();
    for (slip, size, residual) in tested {
        let excess = size / limits.get(&slip.0).copied().unwrap_or(SUSPECT);
        let node = residual.node.or(residual.line.map(|line| network.lines[line].from));
        let Some(node) = node.filter(|_| excess > 1.0) else { continue };
        let found = worst.entry(part_of[node]).or_insert((excess, slip));
        if excess > found.0 {
            *found = (excess, slip);
        }
    }
    worst.into_values().map(|(_, slip)| slip).collect()
}

/// A reading that was left out is taken back within so many standard deviations of what all others
/// make of it.
const FITS: f64 = 2.0;

/// Whether a reading that is left out fits what the others make of it.
///
/// ```text
/// v² < k² ( σ² + var ),   var = σ'² (1 − r)   with σ' the weakened σ
/// ```
pub(super) fn fits_after_all(residual: &Residual) -> bool {
    let others = residual.sd.powi(2) * (1.0 - residual.redundancy).max(0.0);
    let own = (residual.sd / WEAKER).powi(2);
    residual.residual.powi(2) < FITS * FITS * (own + others)
}

/// How large a standardised residual may be.
fn limit(sizes: &[f64]) -> f64 {
    let middle = median(sizes).filter(|_| sizes.len() >= FEW).unwrap_or(0.0);
    SUSPECT * (middle / NORMAL_MEDIAN).max(1.0)
}

/// The connected part of every node.
fn parts(network: &Network) -> Vec<usize> {
    let mut part_of = vec![0; network.nodes.len()];
    for (at, Component { nodes, .. }) in network.components.iter().enumerate() {
        nodes.iter().for_each(|&node| part_of[node] = at);
    }
    part_of
}
