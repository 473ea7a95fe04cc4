//! Slips explained: which reading is wrong, how it was probably misread, and what that would leave.
//!
//! In: a network, its ground, and the survey for the cells as written. Out: [`Suspect`]s, one a
//! trail; once a suspect is explained, the network is taken as it would then be and the next slip
//! is looked for. A reading is a suspect if its standardised residual in the linear network exceeds
//! 3.29 (α = 0.001, two-sided); which line is to blame is told by the trial readings. Each is tried
//! on its line against what all other readings make of that line, which the factor tells; the best
//! are tried again on the network as it would be.
//! Source: [`Source::Baarda1968`](crate::survey::sources::Source::Baarda1968) for the test.

mod trials;

use super::leave_one_out::Rest;
use super::linear::{Linear, Tested};
use super::observation::Kind;
use super::raw::{Raw, raw as raw_of};
use super::slip::{Slip, WouldRead};
use crate::adjustment::network::alone::Alone;
use crate::adjustment::network::traverse::RawLine;
use crate::adjustment::network::{Component, Course, Line, Network};
use crate::maths::ground::Ground;
use crate::survey::Survey;
use nalgebra::{Matrix3, Vector3};

/// |standardised residual| beyond this is a suspect: α = 0.001, two-sided.
pub const SUSPECT: f64 = 3.29;
/// A trial must bring the sum of squares down by so much, its handicap included, to be believed, and
/// without it to be told. That something is amiss the test has shown; this only keeps out what hardly
/// helps.
const GAIN: f64 = 4.0;
/// How many first slips are tried together with a second one: as many as this makes, in lines gone
/// through, but no fewer and no more than these.
const BEAM_LINES: usize = 1_200;
const LEAST_BEAM: usize = 3;
const MOST_BEAM: usize = 30;
/// An explanation so much less likely beforehand than the usual ones, in squared standard deviations,
/// is not believed before two slips have been tried.
const FAR_FETCHED: f64 = 6.0;
/// What a second slip in one trail costs: there is one in some fifty rows. Common practice, no source.
const SECOND: f64 = 8.0;
/// How many explanations of a suspect are told by their rank; what closes better than the first is
/// told too, up to as many again.
const TOLD: usize = 5;
/// Other lines are worth a word if their best trial is within this of the best of all: one part in
/// twenty, by the ratio of likelihoods.
const NEARLY: f64 = 6.0;

/// One trial reading and what it would leave.
#[derive(Clone, Copy, Debug)]
pub struct Explanation {
    /// What may have happened.
    pub slip: Slip,
    /// The reading that would change.
    pub kind: Kind,
    /// What would stand there.
    pub would_read: WouldRead,
    /// The gap it would leave between the line and what all other readings make of it, metres.
    pub leaves: f64,
    /// The line, where it lies along one.
    pub line: Option<usize>,
    /// The node, where it is a height at one.
    pub node: Option<usize>,
    /// What it would change in the network.
    pub change: Change,
    /// How likely it is beside all other trials of the part; they add up to 1.
    pub weight: f64,
    /// Sum of squares left, ...
    left: f64,
    /// ... with the handicap of its sort and of unusual turns.
    score: f64,
}

/// A reading that does not fit, with what may have happened to it.
#[derive(Clone, Debug)]
pub struct Suspect {
    /// The trail, by index.
    pub trail: Option<usize>,
    /// The line, where it lies along one.
    pub line: Option<usize>,
    /// The node, where it is a reading at one.
    pub node: Option<usize>,
    /// The reading.
    pub kind: Kind,
    /// Its residual over its own standard deviation; `None` where nothing checks it by itself.
    pub standardised: Option<f64>,
    /// The gap between the line as written and what all other readings make of it, metres.
    pub gap: f64,
    /// Best first.
    pub explanations: Vec<Explanation>,
    /// The best explanation of each other line that fits nearly as well.
    pub others: Vec<Explanation>,
}

/// Every suspect of a network, part by part, in the order in which they were found.
pub fn suspects(survey: &Survey, network: &Network, ground: &Ground) -> Vec<Suspect> {
    let precision = &survey.settings.precision;
    let raw = raw_of(network, precision, ground);
    let search = Search { survey, ground };
    let of_part = |part: &Component| search.of_part(network, part, &raw);
    network.components.iter().filter(|part| !part.lines.is_empty()).flat_map(of_part).collect()
}

struct Search<'a> {
    survey: &'a Survey,
    ground: &'a Ground,
}

/// The worst reading of a part.
struct Worst {
    line: Option<usize>,
    node: Option<usize>,
    kind: Kind,
    standardised: f64,
}

/// A trial and what it would change.
type Trial = (Explanation, Change);

/// What an explanation would change in the network.
#[derive(Clone, Copy, Debug)]
pub enum Change {
    /// A line, by index.
    Line(usize, Line),
    /// A height, by index, metres.
    Height(usize, f64),
}

impl Suspect {
    /// The same with the numbers of the whole network.
    fn in_whole(mut self, alone: &Alone) -> Self {
        self.trail = self.trail.map(|trail| alone.trails[trail]);
        self.line = self.line.map(|line| alone.lines[line]);
        self.node = self.node.map(|node| alone.nodes[node]);
        let all = self.explanations.iter_mut().chain(&mut self.others);
        all.for_each(|explanation| explanation.put_in_whole(alone));
        self
    }
}

impl Explanation {
    fn put_in_whole(&mut self, alone: &Alone) {
        self.line = self.line.map(|line| alone.lines[line]);
        self.node = self.node.map(|node| alone.nodes[node]);
        if let WouldRead::Node(node) = &mut self.would_read {
            *node = alone.nodes[*node];
        }
        self.change = match self.change {
            Change::Line(at, line) => Change::Line(alone.lines[at], alone.in_whole(line)),
            Change::Height(at, metres) => Change::Height(alone.heights[at], metres),
        };
    }
}

impl Change {
    /// The network as it would be.
    pub fn of(self, network: &Network) -> Network {
        match self {
            Self::Line(at, line) => network.with_line(at, line),
            Self::Height(at, metres) => network.with_height(at, metres),
        }
    }
}

/// A part as it stands after the slips that were explained.
struct State {
    network: Network,
    raw: Raw,
    linear: Linear,
}

impl State {
    /// The sum of squares below which a trial helps.
    fn needed(&self) -> f64 {
        self.linear.statistic - GAIN
    }

    fn believed(&self, trial: &Explanation) -> bool {
        trial.score < self.needed()
    }
}

impl Search<'_> {
    /// The suspects of a part. It is looked at by itself once something is amiss, so that what is tried
    /// costs the part and not the survey.
    fn of_part(&self, network: &Network, part: &Component, raw: &Raw) -> Vec<Suspect> {
        let precision = &self.survey.settings.precision;
        let linear = Linear::of(network, precision, self.ground, part, raw);
        if linear.is_none_or(|linear| self.worst(part, &linear).is_none()) {
            return Vec::new();
        }
        let alone = Alone::of(network, part);
        let raw = raw_of(&alone.network, precision, self.ground);
        let parts = alone.network.components.iter();
        let found = parts.flat_map(|part| self.part(&alone.network, part, &raw));
        found.map(|suspect| suspect.in_whole(&alone)).collect()
    }

    fn part(&self, network: &Network, part: &Component, raw: &Raw) -> Vec<Suspect> {
        let mut found: Vec<Suspect> = Vec::new();
        let linear = Linear::of(network, &self.survey.settings.precision, self.ground, part, raw);
        let Some(linear) = linear else { return found };
        if self.worst(part, &linear).is_none() {
            return found;
        }
        let mut state = State { network: network.clone(), raw: raw.clone(), linear };
        for _ in 0..=2 * part.trails.len().max(1) {
            let Some(worst) = self.worst(part, &state.linear) else { break };
            let trials = self.trials(&state, part);
            let Some((first, after)) = self.choose(&state, part, &trials) else {
                let trail = trail_of(&state.network, &worst);
                if !found.iter().any(|suspect| suspect.trail == trail) {
                    found.push(unexplained(&worst, trail));
                }
                break;
            };
            found.extend(self.suspect(&state, part, &trials, first));
            state = after;
        }
        found
    }

    /// The trial to believe and the part as it would then be: the best one; but where it leaves
    /// something else amiss, or is far-fetched, the first of the best two together.
    fn choose(&self, state: &State, part: &Component, trials: &[Trial]) -> Option<(usize, State)> {
        let best = trials.first().filter(|(best, _)| state.believed(best))?;
        let first = self.after(state, part, best)?;
        if self.worst(part, &first.linear).is_none() && best.0.score - best.0.left < FAR_FETCHED {
            return Some((0, first));
        }
        let beam = (BEAM_LINES / part.lines.len().max(1)).clamp(LEAST_BEAM, MOST_BEAM);
        let mut best: Option<(f64, usize, State)> = None;
        for at in each_sort(trials).take(beam) {
            let trial = &trials[at];
            if !state.believed(&trial.0) {
                break;
            }
            let Some(after) = self.after(state, part, trial) else { continue };
            let own = trial.0.score - trial.0.left;
            let total = if self.worst(part, &after.linear).is_none() {
                own + after.linear.statistic
            } else {
                let next = self.trials(&after, part);
                let alone = after.linear.statistic + GAIN;
                let next = next.first().filter(|(next, _)| after.believed(next));
                own + next.map_or(alone, |(next, _)| next.score + SECOND)
            };
            if best.as_ref().is_none_or(|(least, ..)| total < *least) {
                best = Some((total, at, after));
            }
        }
        best.map(|(_, at, after)| (at, after))
    }

    /// The part as it would be if a trial were true.
    fn after(&self, state: &State, part: &Component, (_, change): &Trial) -> Option<State> {
        let precision = &self.survey.settings.precision;
        let network = change.of(&state.network);
        let raw = raw_of(&network, precision, self.ground);
        let linear = Linear::of(&network, precision, self.ground, part, &raw)?;
        Some(State { network, raw, linear })
    }

    /// The reading that fits worst, where it is a suspect.
    fn worst(&self, part: &Component, linear: &Linear) -> Option<Worst> {
        let lines = (0..part.lines.len())
            .flat_map(|at| linear.tested(at).map(move |t| (Some(part.lines[at]), None, t)));
        let turns = linear.tested_turns().map(|(at, t)| (Some(part.lines[at]), None, t));
        let points =
            linear.tested_points(self.ground).map(|(at, t)| (None, Some(part.nodes[at]), t));
        let all = lines.chain(turns).chain(points).filter(|(.., t)| !t.assumed);
        let size = all.filter_map(|(line, node, t)| {
            let standardised = t.standardised.filter(|w| w.abs() > SUSPECT)?;
            Some(Worst { line, node, kind: t.kind, standardised })
        });
        size.max_by(|a, b| a.standardised.abs().total_cmp(&b.standardised.abs()))
    }

    /// The suspect of which trial `first` is the explanation to believe.
    fn suspect(
        &self,
        state: &State,
        part: &Component,
        trials: &[Trial],
        first: usize,
    ) -> Option<Suspect> {
        let best = trials.get(first)?.0;
        let here = |trial: &Explanation| (trial.line, trial.node) == (best.line, best.node);
        let better = |trial: &Explanation| trial.left < best.left;
        let own = trials.iter().enumerate().filter(|(at, (trial, _))| *at != first && here(trial));
        let own = own.map(|(_, trial)| trial.0).enumerate();
        let told = own.filter(|(rank, trial)| *rank < TOLD - 1 || better(trial)).map(|(_, t)| t);
        let mut others: Vec<Explanation> = Vec::new();
        for (trial, _) in trials {
            if trial.score >= best.score + NEARLY && !better(trial) {
                continue;
            }
            let same = |other: &Explanation| (other.line, other.node) == (trial.line, trial.node);
            if !here(trial) && trial.score >= best.score && !others.iter().any(same) {
                others.push(*trial);
            }
        }
        let (standardised, gap) = self.misfit(state, part, &best)?;
        let trail = match (best.line, best.node) {
            (Some(line), _) => Some(state.network.lines[line].trail),
            (_, node) => node.and_then(|node| state.network.nodes[node].trail),
        };
        Some(Suspect {
            trail,
            line: best.line,
            node: best.node,
            kind: best.kind,
            standardised,
            gap,
            explanations: std::iter::once(best).chain(told).take(2 * TOLD).collect(),
            others,
        })
    }

    /// The standardised residual of the reading that a trial would change, and how far what stands
    /// there lies from what all other readings make of it, metres.
    fn misfit(
        &self,
        state: &State,
        part: &Component,
        best: &Explanation,
    ) -> Option<(Option<f64>, f64)> {
        let State { network, raw, linear } = state;
        if let Some(node) = best.node {
            let tested = self.tested_height(linear, node)?;
            return Some((tested.standardised, tested.off.abs()));
        }
        let line = best.line?;
        let at = part.lines.binary_search(&line).ok()?;
        if best.kind == Kind::Turn {
            let mut turns = linear.tested_turns().filter(|(l, _)| *l == at);
            let standardised = turns.next().and_then(|(_, tested)| tested.standardised);
            return Some((standardised, self.misclosure(state, line)));
        }
        let tested = linear.tested(at).find(|tested| tested.kind == best.kind);
        let vector = own_vector(&network.lines[line], raw.laid(line).raw);
        Some((tested.and_then(|t| t.standardised), gap(&linear.rest(at)?, vector)))
    }

    /// The height read at a node against all readings.
    fn tested_height(&self, linear: &Linear, node: usize) -> Option<Tested> {
        let local = linear.local(node)?;
        let heights = linear.tested_points(self.ground).filter(|(_, t)| t.kind == Kind::Height);
        heights.filter(|(at, _)| *at == local).map(|(_, tested)| tested).next()
    }
}

/// The best trial of each line or height and sort of slip, best first: one leg may have had dozens of
/// other starts.
fn each_sort(trials: &[Trial]) -> impl Iterator<Item = usize> + '_ {
    let place = |at: usize| (trials[at].0.line, trials[at].0.node, trials[at].0.slip);
    (0..trials.len()).filter(move |&at| !(0..at).any(|before| place(before) == place(at)))
}

fn trail_of(network: &Network, worst: &Worst) -> Option<usize> {
    let line = worst.line.map(|line| network.lines[line].trail);
    line.or_else(|| worst.node.and_then(|node| network.nodes[node].trail))
}

fn unexplained(worst: &Worst, trail: Option<usize>) -> Suspect {
    Suspect {
        trail,
        line: worst.line,
        node: worst.node,
        kind: worst.kind,
        standardised: Some(worst.standardised),
        gap: 0.0,
        explanations: Vec::new(),
        others: Vec::new(),
    }
}

/// The vector along a line as its own readings have it: a rise by tape and clinometer, or by a tape
/// that hangs plumb, goes before one by heights.
fn own_vector(l: &Line, laid: RawLine) -> Vector3<f64> {
    let [east, north, rise] = laid.vector();
    let own = match (l.course, l.tape, l.incline) {
        (Course::Plumb, Some(tape), _) => tape.copysign(rise),
        (_, Some(tape), Some(incline)) => tape * incline.sin(),
        _ => rise,
    };
    Vector3::new(east, north, own)
}

/// How far a vector lies from what the others make of it, where they tell it, metres.
fn gap(rest: &Rest, vector: Vector3<f64>) -> f64 {
    let (told, directions): (Vector3<f64>, Matrix3<f64>) = rest.told();
    (directions * (vector - told)).norm()
}

#[cfg(test)]
mod tests;
