//! How well an animal that comes back to a trunk comes back to where it left it: of slips that fit
//! nearly as well, the one after which it does is the likelier.
//!
//! In: the trunk loops of the network as the raw lines leave them. Out: what a trial reading would
//! make of them. A trunk may be forked or named wrongly, so that no loop counts for more than a
//! bound.

use crate::network::Network;
use crate::network::traverse::RawLine;
use crate::network::trunks::{TrunkLoop, trunk_loops};
use crate::survey::Survey;
use nalgebra::Vector3;

/// However far a trunk loop stays open, it counts no more than this much, in squared standard
/// deviations: twins grow beside each other, and names of trees are mistaken.
const MOST: f64 = 12.0;

/// The trunk loops, with those of each line.
pub(super) struct SameTrunk {
    loops: Vec<TrunkLoop>,
    /// Pairs of a line and a loop that it lies in, ascending.
    of_line: Vec<(usize, usize)>,
}

impl SameTrunk {
    pub(super) fn of(survey: &Survey, network: &Network, raw: &[RawLine]) -> Self {
        let loops = trunk_loops(survey, network, raw);
        let lines = |(at, of): (usize, &TrunkLoop)| -> Vec<(usize, usize)> {
            of.lines.iter().map(|&line| (line, at)).collect()
        };
        let mut of_line: Vec<(usize, usize)> = loops.iter().enumerate().flat_map(lines).collect();
        of_line.sort_unstable();
        Self { loops, of_line }
    }

    /// How much worse its loops close with the vector `trial` of a line than with the vector `was`,
    /// in squared standard deviations; negative where they close better.
    pub(super) fn against(&self, line: usize, was: Vector3<f64>, trial: Vector3<f64>) -> f64 {
        let first = self.of_line.partition_point(|(of, _)| *of < line);
        let here = self.of_line[first..].iter().take_while(|(of, _)| *of == line);
        let moved = [trial.x - was.x, trial.y - was.y];
        let worse = here.map(|&(_, at)| {
            let cost = |moved| self.loops[at].cost(moved).min(MOST);
            cost(moved) - cost([0.0; 2])
        });
        worse.sum()
    }
}
