//! The parts of a study solved, and with them the common errors of its instruments, which they share.

use super::adjust::{PartResult, Task};
use super::border::Response;
use super::common::{Common, Evidence};
use super::heights::AdjustedHeight;
use super::outcome::{Fit, Unsettled};
use super::raw::raw;
use super::shared::{Column, Shared};
use crate::adjustment::network::Component;
use crate::maths::ground::Ground;
use crate::maths::statistics::interval::chi_square_upper;
use nalgebra::Vector3;

/// Readings are freed of the common errors and solved anew at most so often: these are small, so that
/// the second time is rounding.
const MOST_ROUNDS: usize = 3;
/// A part that fits less likely than this, whatever the common errors, has a slip in it, which would
/// be taken for one of them.
const HAS_SLIP: f64 = 1e-3;

/// The result of each part, in order.
pub(super) type Results = Vec<Result<PartResult, Unsettled>>;

/// What the common errors have to do with one part.
pub(super) struct Sharing {
    pub(super) response: Response,
    /// What it tells of them; `None` where nothing checks its readings.
    pub(super) evidence: Option<Evidence>,
}

/// Solves every part and settles the common errors, as `task` has them to begin with.
pub(super) fn solve_study(task: &Task<'_>) -> (Results, Common) {
    let mut common = task.common.clone();
    let mut results = task.solve_all();
    if common.is_empty() {
        return (results, common);
    }
    let sound: Vec<bool> = results.iter().map(|result| is_sound(result, &common)).collect();
    for round in 0..=MOST_ROUNDS {
        let told = results.iter().zip(&sound).filter(|(_, sound)| **sound);
        let step = common.settle(told.filter_map(|(result, _)| evidence(result)));
        let Some(step) = step.filter(|_| round < MOST_ROUNDS) else { break };
        common.step(&step);
        let network = common.corrected(task.network);
        let raw = raw(&network, task.precision, task.ground);
        results = Task { network: &network, raw: &raw, common: &common, ..*task }.solve_all();
    }
    for (result, sound) in results.iter_mut().zip(sound) {
        if let Ok(result) = result {
            let taken = evidence_of(result).map_or(0.0, |evidence| common.taken(evidence));
            result.fit.free(if sound { taken } else { -taken });
        }
    }
    (results, common)
}

fn evidence(result: &Result<PartResult, Unsettled>) -> Option<&Evidence> {
    evidence_of(result.as_ref().ok()?)
}

fn evidence_of(result: &PartResult) -> Option<&Evidence> {
    result.sharing.as_ref()?.evidence.as_ref()
}

/// Whether a part fits with common errors of its own.
fn is_sound(result: &Result<PartResult, Unsettled>, common: &Common) -> bool {
    let Some((result, evidence)) = result.as_ref().ok().zip(evidence(result)) else { return false };
    let Fit { statistic, degrees_of_freedom, .. } = result.fit;
    chi_square_upper(statistic + common.gain_alone(evidence), degrees_of_freedom) > HAS_SLIP
}

impl PartResult {
    /// Adds what the study shares to what the part does not know, and returns it. `ends` are those of
    /// its lines.
    pub(super) fn share(
        &mut self,
        ends: impl Iterator<Item = [usize; 2]>,
        common: &Common,
    ) -> Shared {
        let columns = self.sharing.take().map(|sharing| sharing.response.columns(common));
        let shared = Shared(columns.unwrap_or_default());
        self.widen(ends, &shared);
        shared
    }

    /// Adds what is shared to covariances and draws.
    pub(super) fn widen(&mut self, ends: impl Iterator<Item = [usize; 2]>, shared: &Shared) {
        if shared.0.is_empty() {
            return;
        }
        let nodes = self.covariances.iter_mut().enumerate();
        nodes.for_each(|(node, covariance)| *covariance += shared.of_node(node));
        let lines = self.line_covariances.iter_mut().zip(ends);
        lines.for_each(|(covariance, [from, to])| *covariance += shared.between(from, to));
        if let Some(sampler) = &mut self.sampler {
            sampler.share(shared);
        }
    }
}

/// Adds what readings share to the standard deviations of the heights of a part.
pub(super) fn share_heights(
    part: &Component,
    shared: &Shared,
    ground: &Ground,
    positions: &[[f64; 3]],
    heights: &mut [AdjustedHeight],
) {
    if shared.0.is_empty() {
        return;
    }
    for (at, &node) in part.nodes.iter().enumerate() {
        let [east, north, _] = positions[node];
        let slope = ground.at(east, north).map_or([0.0; 2], |s| [s.slope_east, s.slope_north]);
        let above = Vector3::new(-slope[0], -slope[1], 1.0);
        let moves = |column: &Column| {
            let read = column.heights.get(at).copied().unwrap_or(0.0);
            [above.dot(&column.moves[at]), read]
        };
        heights[node] = heights[node].shared(shared.0.iter().map(moves));
    }
}
