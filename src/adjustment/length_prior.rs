//! How long the legs of a trail usually are: a decimal mark out of place makes a leg that is far from
//! it, and the trial after which none is, is the likelier.
//!
//! In: a network. Out: what a trial tape would make of its leg. Logarithms of tapes are taken as
//! normal about their median, with their own spread by the median deviation, which a few slips do
//! not move.

use crate::adjustment::network::{Network, Trail};
use crate::maths::statistics::describe::median;

/// However far from usual, one leg counts no more than this much, in squared standard deviations:
/// legs across a clearing are long, and legs within a thicket short.
const MOST: f64 = 12.0;
/// Within so many standard deviations of the median a leg is usual: lengths of trunk, branch and
/// ground legs differ among themselves.
const USUAL: f64 = 2.0;
/// The least spread of the logarithms: legs of one trail are hardly ever more alike. Common practice,
/// no source.
const LEAST_SPREAD: f64 = 0.35;
/// Fewer tapes than this tell nothing.
const LEAST_TAPES: usize = 8;
/// The median absolute deviation of normal errors times this is their standard deviation.
const MAD_TO_SD: f64 = 1.4826;

/// The usual length of the legs of each trail.
pub(super) struct UsualLength(Vec<Option<LogNormal>>);

#[derive(Clone, Copy)]
struct LogNormal {
    median: f64,
    spread: f64,
}

impl LogNormal {
    /// Squared standard deviations beyond what is usual, up to a bound.
    fn cost(self, tape: f64) -> f64 {
        let z = (tape.max(1e-3).ln() - self.median) / self.spread;
        (z * z - USUAL * USUAL).clamp(0.0, MOST)
    }
}

impl UsualLength {
    pub(super) fn of(network: &Network) -> Self {
        let of_trail = |trail: &Trail| {
            let lines = network.visits_of(trail).iter().filter_map(|visit| visit.line);
            let tapes = lines.filter_map(|line| network.lines[line].tape);
            let logs: Vec<f64> = tapes.filter(|tape| *tape > 0.0).map(f64::ln).collect();
            let middle = median(&logs).filter(|_| logs.len() >= LEAST_TAPES)?;
            let off: Vec<f64> = logs.iter().map(|log| (log - middle).abs()).collect();
            let spread = (MAD_TO_SD * median(&off)?).max(LEAST_SPREAD);
            Some(LogNormal { median: middle, spread })
        };
        Self(network.trails.iter().map(of_trail).collect())
    }

    /// How much further from usual a leg of `trail` is with the tape `trial` than with `was`, in
    /// squared standard deviations; negative where nearer.
    pub(super) fn against(&self, trail: usize, was: Option<f64>, trial: Option<f64>) -> f64 {
        let lengths = self.0[trail].zip(was.zip(trial));
        lengths.map_or(0.0, |(usual, (was, trial))| usual.cost(trial) - usual.cost(was))
    }
}

#[cfg(test)]
mod tests {
    use super::super::written::survey;
    use super::*;

    fn of_tapes(tapes: &str) -> UsualLength {
        let mut rows = "trail,anchor,tape_m,bearing_deg\nBor,0,,\n".to_owned();
        for (at, tape) in tapes.split(' ').enumerate() {
            rows += &format!("Bor,{},{tape},0\n", at + 1);
        }
        UsualLength::of(&survey(&rows, "").1)
    }

    /// Three tapes each of 1, 2 and 4 m: median ln 2, from which six lie ln 2 off, so that the spread is
    /// 1.4826 ln 2 = 1.027 66. A leg of 0.2 m is ln 10 / 1.027 66 = 2.240 6 of it away: 5.0203 − 4. A
    /// leg of no length tells nothing, nor do seven others.
    #[test]
    fn median_and_spread_are_those_of_the_tapes() {
        let usual = of_tapes("1 1 1 2 2 0 2 4 4 4");
        let found = usual.against(0, Some(2.0), Some(0.2));
        assert!((found - 1.020_3).abs() < 1e-4, "{found}");
        assert!((usual.against(0, Some(0.2), Some(2.0)) + found).abs() < 1e-12);
        assert!(
            (of_tapes("2 2 2 2 2 2 2 2").against(0, Some(2.0), Some(20.0)) - MOST).abs() < 1e-12
        );
        assert!(of_tapes("2 2 2 2 0 2 2 2").against(0, Some(2.0), Some(20.0)).abs() < 1e-12);
    }

    /// Median 2 m, spread 0.35 (the least): 20 m is ln 10 = 2.303, or 6.6 spreads away, which counts
    /// no more than the bound; 3 m is 1.16 spreads away, which is usual; 5 m is 2.618, which counts
    /// 2.618² − 2² = 2.854.
    #[test]
    fn only_what_is_far_from_usual_counts() {
        let usual = LogNormal { median: 2.0_f64.ln(), spread: LEAST_SPREAD };
        assert!((usual.cost(20.0) - MOST).abs() < 1e-12);
        assert!(usual.cost(3.0).abs() < 1e-12);
        assert!((usual.cost(5.0) - 2.854).abs() < 2e-3, "{}", usual.cost(5.0));
        let all = UsualLength(vec![Some(usual), None]);
        assert!((all.against(0, Some(20.0), Some(2.0)) + MOST).abs() < 1e-12);
        assert!(all.against(0, None, Some(2.0)).abs() < 1e-12);
        assert!(all.against(1, Some(20.0), Some(2.0)).abs() < 1e-12);
    }
}
