//! Loops that nobody measured: an animal that leaves a trunk and comes back to it stands again where
//! the trunk stands.
//!
//! In: the survey, for what each anchor is on, its network and raw lines. Out: the legs between two
//! anchors on one trunk, and how far they stay open in plan. They should add up to nearly nothing;
//! how nearly hangs on the trunk's lean and thickness, which no tape tells, so that such a loop is a
//! sign and no measurement: it takes no part in the adjustment.

use super::traverse::RawLine;
use super::{Course, Line, Network, Visit};
use crate::maths::quantity::Turn;
use crate::survey::Survey;
use crate::survey::names::Name;
use crate::survey::settings::Precision;

/// The legs from one anchor on a trunk to the next one on it.
#[derive(Clone, Debug, PartialEq)]
pub struct TrunkLoop {
    /// The trail, by index.
    pub trail: usize,
    /// The rows of the anchors where the trunk is left and met again.
    pub rows: [usize; 2],
    /// The lines between, in walking order, each walked forward.
    pub lines: Vec<usize>,
    /// How far they lead east and north, metres: nothing, were all read without error.
    pub open: [f64; 2],
    /// The variance of that on either axis, metres².
    pub variance: f64,
}

impl TrunkLoop {
    /// How far it stays open in plan, in squared standard deviations, were its legs to lead `moved`
    /// further, metres.
    pub fn cost(&self, moved: [f64; 2]) -> f64 {
        let open = [self.open[0] + moved[0], self.open[1] + moved[1]];
        (open[0] * open[0] + open[1] * open[1]) / self.variance
    }
}

/// The word for a trunk in the tables.
const TRUNK: &str = "trunk";

/// The trunk loops of every trail, in walking order. Those of fewer than two legs tell nothing, and
/// through a leg that has no measured direction of its own nothing can be told.
///
/// ```text
/// σ² = plumb² + (thickness / 2)² + Σ of the legs
/// of a leg: plumb² where it hangs plumb, else (run × σ_bearing)² + anchor² + σ_run²
/// ```
pub fn trunk_loops(survey: &Survey, network: &Network, raw: &[RawLine]) -> Vec<TrunkLoop> {
    let mut found = Vec::new();
    for (trail, of) in network.trails.iter().enumerate() {
        let visits = network.visits_of(of);
        // The last anchor on each trunk.
        let mut left: Vec<(Name, usize)> = Vec::new();
        for (at, visit) in visits.iter().enumerate() {
            let row = &survey.anchors[visit.row];
            let Some(tree) = row.tree.filter(|_| on_trunk(survey, network, visits, at)) else {
                continue;
            };
            let last = left.iter().rposition(|(name, _)| *name == tree);
            if let Some((_, from)) = last.map(|last| left.swap_remove(last))
                && let Some(lines) = walked(network, &visits[from..=at])
                && lines.iter().any(|&line| network.lines[line].course == Course::Needle)
            {
                let rows = [visits[from].row, visit.row];
                let thick = rows.map(|row| survey.anchors[row].diameter_cm.unwrap_or(0.0) / 100.0);
                let plumb = survey.settings.precision.plumb_m;
                let own = plumb.powi(2) + (thick[0].max(thick[1]) / 2.0).powi(2);
                let of = |&at: &usize| leg_variance(survey, network, &network.lines[at], raw[at]);
                let variance = own + lines.iter().map(of).sum::<f64>();
                let open = lines
                    .iter()
                    .map(|&line| raw[line].vector())
                    .fold([0.0; 2], |[east, north], leg| [east + leg[0], north + leg[1]]);
                found.push(TrunkLoop { trail, rows, lines, open, variance });
            }
            left.push((tree, at));
        }
    }
    found
}

/// Whether an anchor is on the trunk of its tree: it says so, or is the end of a leg that hangs plumb
/// along it.
fn on_trunk(survey: &Survey, network: &Network, visits: &[Visit], at: usize) -> bool {
    let support = survey.anchors[visits[at].row].support.map(|name| survey.text(name));
    if let Some(support) = support {
        return support.eq_ignore_ascii_case(TRUNK);
    }
    let plumb = |visit: Option<&Visit>| {
        let line = visit.and_then(|visit| visit.line);
        line.is_some_and(|line| network.lines[line].course == Course::Plumb)
    };
    plumb(visits.get(at)) || plumb(visits.get(at + 1))
}

/// The lines of a walk, where each leg starts at the end of the one before and knows its direction by
/// itself.
fn walked(network: &Network, visits: &[Visit]) -> Option<Vec<usize>> {
    let step = |pair: &[Visit]| {
        let line = pair[1].line.filter(|_| pair[1].from == Some(pair[0].node))?;
        let l = &network.lines[line];
        let forward = (l.from, l.to) == (pair[0].node, pair[1].node);
        let directed = matches!(l.course, Course::Needle | Course::Plumb);
        (forward && directed).then_some(line)
    };
    let lines: Vec<usize> = visits.windows(2).map(step).collect::<Option<_>>()?;
    (lines.len() > 1).then_some(lines)
}

/// Of a leg on either axis. Along a leg without a clinometer the run is what tape and heights leave:
///
/// ```text
/// q = run² = d² − Δz²,   σ(q) = 2 √( (d σd)² + (Δz σΔz)² ),   σ(run) = √(q + σ(q)) − √q,  but not over d
/// ```
fn leg_variance(survey: &Survey, network: &Network, line: &Line, raw: RawLine) -> f64 {
    let precision = &survey.settings.precision;
    if line.course == Course::Plumb {
        return precision.plumb_m.powi(2);
    }
    let sideways = raw.horizontal * Turn::from_degrees(precision.bearing_deg).to_radians();
    let tape = line.tape.unwrap_or(0.0);
    let sd_tape = precision.tape(tape);
    let along = if line.incline.is_some() {
        sd_tape.hypot(raw.rise * Turn::from_degrees(precision.incline_deg).to_radians())
    } else {
        let sd_rise = [line.from, line.to].map(|node| sd_of_height(network, precision, node));
        let q = raw.horizontal.powi(2);
        let sd_q = 2.0 * (tape * sd_tape).hypot(raw.rise * sd_rise[0].hypot(sd_rise[1]));
        ((q + sd_q).sqrt() - q.sqrt()).min(tape)
    };
    sideways.powi(2) + precision.anchor_m.powi(2) + along.powi(2)
}

/// Of the least certain height read at a node, metres; 0 where none was.
fn sd_of_height(network: &Network, precision: &Precision, node: usize) -> f64 {
    let heights = network.heights_at(node).iter();
    heights.map(|read| precision.height(read.height, read.by)).fold(0.0, f64::max)
}
