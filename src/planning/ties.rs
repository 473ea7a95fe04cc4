//! Where ties are best measured: so that a slip in one leg can be told from slips in the others.

use super::truth::Mark;
use crate::maths::quantity::Turn;
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
/// Legs whose vectors differ by more than this, metres, are not taken for each other.
const ALIKE_M: f64 = 2.0;
/// How often each tie is chosen anew, given the others.
const ROUNDS: usize = 3;

/// A line that might be a tie.
#[derive(Clone, Copy)]
struct Line {
    ends: [usize; 2],
    /// Variance of the loop that it closes, on one axis, metres².
    variance: f64,
}

/// Two legs by the anchors they lead to, and the squared distance between their vectors in plan; of
/// one leg twice, its squared run: that is how far it is from having no slip at all.
#[derive(Clone, Copy)]
struct Pair {
    legs: [usize; 2],
    apart: f64,
}

/// The ends of so many ties, earlier end first, in walking order.
///
/// A needle read at the wrong end shifts a loop by twice its leg. Two legs that the same loops see
/// can be told apart by as much as their vectors differ, beside the spread `s` of these loops; the
/// ties make the sum over all pairs least:
///
/// ```text
/// Σ over pairs  exp( −|v₁ − v₂|² / 2s² )
/// ```
pub fn tie_ends(truth: &[Mark], count: usize, precision: &Precision) -> Vec<[usize; 2]> {
    let lines = lines(truth, precision);
    let pairs = pairs(truth);
    let mut chosen: Vec<Line> = Vec::new();
    for _ in 0..count {
        chosen.extend(best(&lines, &chosen, (&pairs, truth.len())));
    }
    let found = chosen.len();
    for at in (0..ROUNDS * found).map(|round| round % found.max(1)) {
        chosen.remove(at);
        let again = best(&lines, &chosen, (&pairs, truth.len()));
        chosen.splice(at..at, again);
    }
    chosen.sort_by_key(|line| line.ends);
    chosen.iter().map(|line| line.ends).collect()
}

/// All pairs of legs with a bearing that may be taken for each other.
fn pairs(truth: &[Mark]) -> Vec<Pair> {
    let along = |leg: usize| {
        let (from, to) = (&truth[leg - 1], &truth[leg]);
        [to.at[0] - from.at[0], to.at[1] - from.at[1]]
    };
    let needles: Vec<usize> = (1..truth.len()).filter(|&leg| !truth[leg].plumb).collect();
    let mut pairs = Vec::new();
    for (at, &a) in needles.iter().enumerate() {
        let v = along(a);
        pairs.push(Pair { legs: [a, a], apart: v[0] * v[0] + v[1] * v[1] });
        for &b in needles[at + 1..].iter().take_while(|&&b| b < a + FARTHEST) {
            let w = along(b);
            let apart = (w[0] - v[0]).powi(2) + (w[1] - v[1]).powi(2);
            if apart < ALIKE_M * ALIKE_M {
                pairs.push(Pair { legs: [a, b], apart });
            }
        }
    }
    pairs
}

fn lines(truth: &[Mark], precision: &Precision) -> Vec<Line> {
    let sideways = Turn::from_degrees(precision.bearing_deg).to_radians();
    let within = |at: &usize| truth[*at].height <= REACH_M;
    let mut lines = Vec::new();
    for a in (0..truth.len()).filter(within) {
        let mut walked = 0.0;
        for b in a + 1..truth.len().min(a + FARTHEST) {
            let leg = length([&truth[b - 1], &truth[b]]) * sideways;
            let off =
                if truth[b].plumb { precision.plumb_m } else { leg.hypot(precision.anchor_m) };
            walked += off * off;
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

fn best(lines: &[Line], chosen: &[Line], legs: (&[Pair], usize)) -> Option<Line> {
    let cost = |line: &Line| {
        let mut all = chosen.to_vec();
        all.push(*line);
        rivals(&all, legs)
    };
    let costs = lines.iter().map(|line| (line, cost(line)));
    costs.min_by(|x, y| x.1.total_cmp(&y.1)).map(|(line, _)| *line)
}

/// The sum over pairs of legs; a leg is named by the anchor it leads to.
fn rivals(ties: &[Line], (pairs, anchors): (&[Pair], usize)) -> f64 {
    let sees = |leg: usize| ties.iter().filter(move |tie| tie.ends[0] < leg && leg <= tie.ends[1]);
    let weight: Vec<f64> =
        (0..anchors).map(|leg| sees(leg).map(|tie| 1.0 / tie.variance).sum()).collect();
    let unseen = UNCHECKED_M.powi(-2);
    let overlap = |pair: &Pair| {
        let [a, b] = pair.legs;
        // Loops of their own have spreads of their own.
        let together = weight[a].total_cmp(&weight[b]).is_eq();
        if together { (-0.5 * pair.apart * weight[a].max(unseen)).exp() } else { 0.0 }
    };
    pairs.iter().map(overlap).sum()
}
