//! How well an animal that comes back to a trunk comes back to where it left it: of slips that fit
//! nearly as well, the one after which it does is the likelier.
//!
//! In: the trunk loops of the network as the raw lines leave them. Out: what a trial reading would
//! make of them. A trunk may be forked or named wrongly, so that no loop counts for more than a
//! bound.

use crate::adjustment::network::Network;
use crate::adjustment::network::traverse::RawLine;
use crate::adjustment::network::trunks::{TrunkLoop, trunk_loops};
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

#[cfg(test)]
mod tests {
    use super::*;

    /// One loop of three lines is 2 m open, another of two 10 m, both ± 1 m. Moved 2 m west the first
    /// closes: 0 − 4; and the other, 10.2 m open, counts the bound as before. Moved 9 m south as well
    /// the first counts the bound, and the other √(2² + 1²) m: 12 − 4 and 5 − 12.
    #[test]
    fn a_line_counts_in_its_own_loops_up_to_the_bound() {
        let of = |lines: &[usize], open: [f64; 2]| TrunkLoop {
            trail: 0,
            rows: [0, 1],
            lines: lines.to_vec(),
            open,
            variance: 1.0,
        };
        let loops = vec![of(&[1, 2, 4], [2.0, 0.0]), of(&[4, 5], [0.0, 10.0])];
        let of_line = vec![(1, 0), (2, 0), (4, 0), (4, 1), (5, 1)];
        let trunks = SameTrunk { loops, of_line };
        let was = Vector3::new(3.0, 4.0, 0.5);
        let against = |line: usize, moved: [f64; 2]| {
            trunks.against(line, was, was + Vector3::new(moved[0], moved[1], 7.0))
        };
        let near = |found: f64, known: f64| assert!((found - known).abs() < 1e-9, "{found}");
        near(against(4, [-2.0, 0.0]), -4.0);
        near(against(4, [-2.0, -9.0]), 8.0 - 7.0);
        near(against(2, [-2.0, -9.0]), 8.0);
        near(against(5, [-2.0, -9.0]), -7.0);
        near(against(3, [-2.0, -9.0]), 0.0);
        near(against(9, [-2.0, -9.0]), 0.0);
    }
}
