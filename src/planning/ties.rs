//! Where ties are best measured: so that a slip in one leg can be told from slips in the others.

use super::truth::Mark;
use crate::quantity::Turn;
use crate::survey::settings::Precision;

/// A tie is measured within reach from the ground, metres, ...
const REACH_M: f64 = 2.0;
/// ... and no longer than this, metres: through undergrowth a longer line is seldom free. Common
/// practice, no source.
const LONGEST_M: f64 = 15.0;
/// Ties that span more legs than this are not tried: their loops would be too uncertain.
const FARTHEST: usize = 300;
/// Spread in metres that stands for a leg in no loop at all: nothing there would be noticed.
const UNCHECKED_M: f64 = 3.0;
/// How often each tie is chosen anew, given the others.
const ROUNDS: usize = 3;

/// A line that might be a tie.
#[derive(Clone, Copy)]
struct Line {
    ends: [usize; 2],
    /// Variance of the loop that it closes, on one axis, metres².
    variance: f64,
}

/// The ends of so many ties, earlier end first, in walking order.
///
/// Legs that lie in the same loops can hardly be told apart. With `n` legs in a group and `s` the
/// spread of the loops that see them, a slip has about `n s²` rivals; the ties make the sum over
/// all legs least:
///
/// ```text
/// Σ over groups  n² s²
/// ```
pub fn tie_ends(truth: &[Mark], count: usize, precision: &Precision) -> Vec<[usize; 2]> {
    let lines = lines(truth, precision);
    let mut chosen: Vec<Line> = Vec::new();
    for _ in 0..count {
        chosen.extend(best(&lines, &chosen, truth.len()));
    }
    let found = chosen.len();
    for at in (0..ROUNDS * found).map(|round| round % found.max(1)) {
        chosen.remove(at);
        let again = best(&lines, &chosen, truth.len());
        chosen.splice(at..at, again);
    }
    chosen.sort_by_key(|line| line.ends);
    chosen.iter().map(|line| line.ends).collect()
}

fn lines(truth: &[Mark], precision: &Precision) -> Vec<Line> {
    let sideways = Turn::from_degrees(precision.bearing_deg).to_radians();
    let within = |at: &usize| truth[*at].height <= REACH_M;
    let mut lines = Vec::new();
    for a in (0..truth.len()).filter(within) {
        let mut walked = 0.0;
        for b in a + 1..truth.len().min(a + FARTHEST) {
            walked +=
                (length([&truth[b - 1], &truth[b]]) * sideways).hypot(precision.anchor_m).powi(2);
            let tie = length([&truth[a], &truth[b]]);
            if b > a + 2 && within(&b) && tie <= LONGEST_M {
                let variance = walked + (tie * sideways).powi(2);
                lines.push(Line { ends: [a, b], variance });
            }
        }
    }
    lines
}

fn length([a, b]: [&Mark; 2]) -> f64 {
    let d: [f64; 3] = std::array::from_fn(|k| b.at[k] - a.at[k]);
    d[0].hypot(d[1]).hypot(d[2])
}

fn best(lines: &[Line], chosen: &[Line], anchors: usize) -> Option<Line> {
    let cost = |line: &&Line| {
        let mut all = chosen.to_vec();
        all.push(**line);
        rivals(&all, anchors)
    };
    let costs = lines.iter().map(|line| (line, cost(&line)));
    costs.min_by(|x, y| x.1.total_cmp(&y.1)).map(|(line, _)| *line)
}

/// The sum over groups of legs; a leg is named by the anchor it leads to.
fn rivals(ties: &[Line], anchors: usize) -> f64 {
    let mut edges: Vec<usize> = ties.iter().flat_map(|tie| tie.ends).collect();
    edges.extend([0, anchors.saturating_sub(1)]);
    edges.sort_unstable();
    edges.dedup();
    let mut groups: Vec<(Vec<bool>, f64)> = Vec::new();
    for pair in edges.windows(2) {
        let seen = ties.iter().map(|tie| tie.ends[0] <= pair[0] && pair[1] <= tie.ends[1]);
        let seen: Vec<bool> = seen.collect();
        let legs = (pair[1] - pair[0]) as f64;
        match groups.iter_mut().find(|(group, _)| *group == seen) {
            Some((_, count)) => *count += legs,
            None => groups.push((seen, legs)),
        }
    }
    let spread = |seen: &[bool]| {
        let weights = ties.iter().zip(seen).filter(|(_, seen)| **seen);
        let weight: f64 = weights.map(|(tie, _)| 1.0 / tie.variance).sum();
        if weight > 0.0 { 1.0 / weight } else { UNCHECKED_M.powi(2) }
    };
    groups.iter().map(|(seen, legs)| legs * legs * spread(seen)).sum()
}
