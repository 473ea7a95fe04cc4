//! Readings that stand out from the others of their kind: slips, which would pass for a low precision.

use super::super::left_out::{ReadAt, WEAKER};
use super::super::outcome::Residual;
use super::super::suspects::SUSPECT;
use super::graded::{Graded, Grading};
use crate::adjustment::network::{Component, Network};
use crate::maths::statistics::describe::median;
use crate::maths::statistics::interval::largest_of_normal;
use std::collections::BTreeMap;

/// A slip, with the precision that it would have counted for.
pub(super) type Slip = (Option<Graded>, ReadAt);

/// Less redundancy tells no slip by itself: its residual is that of others.
const SOME: f64 = 0.05;
/// So few readings have no median worth the name.
const FEW: usize = 10;
/// Median of the size of a standard normal number.
const NORMAL_MEDIAN: f64 = 0.674_489_750_196_082;

/// A reading that others check, with the size of its standardised residual.
struct Tested<'r> {
    slip: Slip,
    size: f64,
    residual: &'r Residual,
}

/// Every reading that others check and that is not left out.
fn tested<'r>(
    grading: &Grading<'_>,
    residuals: &[&'r Residual],
    left_out: &[Slip],
) -> Vec<Tested<'r>> {
    let checked = residuals.iter().filter(|read| !read.assumed && read.redundancy > SOME);
    let tested = |residual: &&'r Residual| {
        let slip = (grading.grade(residual), ReadAt::from(*residual));
        let size = residual.standardised?.abs();
        (!left_out.contains(&slip)).then_some(Tested { slip, size, residual })
    };
    checked.filter_map(tested).collect()
}

/// The middle size of each kind's standardised residuals, over what it would be were they as precise
/// as stated; no kind of which there are few.
fn middles(tested: &[Tested<'_>]) -> BTreeMap<Option<Graded>, f64> {
    let mut sizes: BTreeMap<Option<Graded>, Vec<f64>> = BTreeMap::new();
    for reading in tested {
        sizes.entry(reading.slip.0).or_default().push(reading.size);
    }
    let enough = sizes.into_iter().filter(|(_, sizes)| sizes.len() >= FEW);
    let middle = |(kind, sizes): (Option<Graded>, Vec<f64>)| {
        median(&sizes).map(|middle| (kind, middle / NORMAL_MEDIAN))
    };
    enough.filter_map(middle).collect()
}

/// By how much each kind's readings scatter more than stated, by the middle of them: hardly bent by a
/// few slips, but of no use for an interval.
pub(super) fn rough(grading: &Grading<'_>, residuals: &[&Residual]) -> BTreeMap<Graded, f64> {
    let middles = middles(&tested(grading, residuals, &[]));
    middles.into_iter().filter_map(|(kind, middle)| Some((kind?, middle))).collect()
}

/// The worst slip of each connected part, where there is one. What stands out is measured by the
/// middle of all readings of its kind, so that a kind that is less precise than stated is not taken
/// for slips, nor one slip for a kind.
pub(super) fn worst(
    grading: &Grading<'_>,
    network: &Network,
    residuals: &[&Residual],
    left_out: &[Slip],
) -> Vec<Slip> {
    let tested = tested(grading, residuals, left_out);
    let middles = middles(&tested);
    let (part_of, limit) = (parts(network), limit(tested.len()));
    let mut worst: BTreeMap<usize, (f64, Slip)> = BTreeMap::new();
    for Tested { slip, size, residual } in tested {
        let middle = middles.get(&slip.0).copied().unwrap_or(1.0);
        let excess = size / (limit * middle.max(1.0));
        let node = residual.node.or(residual.line.map(|line| network.lines[line].from));
        let Some(node) = node.filter(|_| excess > 1.0) else { continue };
        let found = worst.entry(part_of[node]).or_insert((excess, slip));
        if excess > found.0 {
            *found = (excess, slip);
        }
    }
    worst.into_values().map(|(_, slip)| slip).collect()
}

/// How many standard deviations the worst of so many readings stays within: in 19 of 20 studies
/// without a slip none is taken for one.
fn limit(readings: usize) -> f64 {
    SUSPECT.max(largest_of_normal(readings.max(1)))
}

/// Whether a reading that is left out fits what the others, so many in all, make of it.
///
/// ```text
/// v² < k² ( σ² + var ),   var = σ'² (1 − r)   with σ' the weakened σ
/// ```
pub(super) fn fits_after_all(residual: &Residual, readings: usize) -> bool {
    let others = residual.sd.powi(2) * (1.0 - residual.redundancy).max(0.0);
    let own = (residual.sd / WEAKER).powi(2);
    residual.residual.powi(2) < limit(readings).powi(2) * (own + others)
}

/// The connected part of every node.
fn parts(network: &Network) -> Vec<usize> {
    let mut part_of = vec![0; network.nodes.len()];
    for (at, Component { nodes, .. }) in network.components.iter().enumerate() {
        for &node in nodes {
            part_of[node] = at;
        }
    }
    part_of
}
