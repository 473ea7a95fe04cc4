//! Slips explained: which reading is wrong, how it was probably misread, and what that would leave.
//!
//! In: a network, its ground, and the survey for the cells as written. Out: [`Suspect`]s, one a
//! trail; once a suspect is explained, the network is taken as it would then be and the next slip
//! is looked for. A reading is a suspect if its standardised residual in the linear network exceeds
//! 3.29 (α = 0.001, two-sided); which line is to blame is told by the trial readings. Each is tried
//! on its line against what all other readings make of that line, which the factor tells; the best
//! are tried again on the network as it would be.
//! Source: [`Source::Baarda1968`](crate::sources::Source::Baarda1968) for the test.

use super::closure::closures;
use super::habit::Habit;
use super::linear::{Linear, Rest, stretch_plumb};
use super::misreadings::{Misreading, Slip, WouldRead, misreadings, other_starts};
use super::observation::Kind;
use super::weights::{Raw, laid_as, line_readings, raw as raw_of};
use crate::ground::Ground;
use crate::network::traverse::RawLine;
use crate::network::{Component, Course, Line, Network};
use crate::survey::Survey;
use nalgebra::{Matrix3, Vector3};

/// |standardised residual| beyond this is a suspect: α = 0.001, two-sided.
pub const SUSPECT: f64 = 3.29;
/// A trial must bring the sum of squares down by so much, its handicap included, to be offered. That
/// something is amiss the test has shown; this only keeps out what hardly helps.
const GAIN: f64 = 4.0;
/// How many first slips are tried together with a second one: as many as this makes, in lines gone
/// through, but no fewer and no more than these.
const BEAM_LINES: usize = 6_000;
const LEAST_BEAM: usize = 3;
const MOST_BEAM: usize = 30;
/// In parts of more lines than this turns are not tried: each wants the whole solved anew.
const MOST_TURNED: usize = 300;
/// How many explanations of a suspect are told.
const TOLD: usize = 5;
/// How many trials are tried again on the whole network.
const TRIED_AGAIN: usize = 12;
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
    /// The line.
    pub line: usize,
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
    let of_part = |part: &Component| Search { survey, ground }.part(network, part, &raw);
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

/// A trial and the misreading behind it.
type Trial = (Explanation, Misreading);

/// A part as it stands after the slips that were explained.
struct State {
    network: Network,
    raw: Raw,
    linear: Linear,
}

impl Search<'_> {
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
            let turned = trials[first].0.kind == Kind::Turn;
            let gap = turned.then(|| self.misclosure(&state, trials[first].0.line));
            found.extend(Self::suspect(&state, part, &trials, first, gap));
            state = after;
        }
        found
    }

    /// The trial to believe and the part as it would then be: the best one; but where it leaves
    /// something else amiss, the first of the best two together.
    fn choose(&self, state: &State, part: &Component, trials: &[Trial]) -> Option<(usize, State)> {
        let first = self.after(state, part, trials.first()?)?;
        if self.worst(part, &first.linear).is_none() {
            return Some((0, first));
        }
        let beam = (BEAM_LINES / part.lines.len().max(1)).clamp(LEAST_BEAM, MOST_BEAM);
        let mut best: Option<(f64, usize, State)> = None;
        for (at, trial) in trials.iter().enumerate().take(beam) {
            let Some(after) = self.after(state, part, trial) else { continue };
            let own = trial.0.score - trial.0.left;
            let total = if self.worst(part, &after.linear).is_none() {
                own + after.linear.statistic
            } else {
                let next = self.trials(&after, part);
                let alone = after.linear.statistic + GAIN;
                own + next.first().map_or(alone, |(next, _)| next.score)
            };
            if best.as_ref().is_none_or(|(least, ..)| total < *least) {
                best = Some((total, at, after));
            }
        }
        best.map(|(_, at, after)| (at, after))
    }

    /// The part as it would be if a trial were true.
    fn after(&self, state: &State, part: &Component, (told, trial): &Trial) -> Option<State> {
        let precision = &self.survey.settings.precision;
        let network = state.network.with_line(told.line, trial.line);
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

    /// All trials that leave clearly less than there is, best first.
    fn trials(&self, state: &State, part: &Component) -> Vec<Trial> {
        let State { network, raw, linear } = state;
        let habit = Habit::of(network, &raw.traverse.lines);
        let mut trials: Vec<Trial> = Vec::new();
        for (at, &line) in part.lines.iter().enumerate() {
            let Some(rest) = linear.rest(at) else { continue };
            if rest.information.amax() > 0.0 {
                trials.extend(self.trials_of(network, (raw, &habit), line, (linear, &rest)));
            }
        }
        if part.lines.len() <= MOST_TURNED {
            trials.extend(self.turns(state, part));
        }
        let needed = linear.statistic - GAIN;
        trials.retain(|(trial, _)| trial.score < needed);
        trials.sort_by(|a, b| a.0.score.total_cmp(&b.0.score));
        for trial in trials.iter_mut().take(TRIED_AGAIN) {
            if trial.1.slip == Slip::WrongFrom {
                let left =
                    self.after(state, part, trial).map_or(f64::INFINITY, |s| s.linear.statistic);
                trial.0.score += left - trial.0.left;
                trial.0.left = left;
            }
        }
        trials.retain(|(trial, _)| trial.score < needed);
        trials.sort_by(|a, b| a.0.score.total_cmp(&b.0.score));
        trials
    }

    /// The trial turns. Each turns everything that hangs on it, so that the whole is solved anew.
    fn turns(&self, state: &State, part: &Component) -> Vec<Trial> {
        let lines = part.lines.iter().copied();
        let turned = lines.filter(|&l| matches!(state.network.lines[l].course, Course::Turn(_)));
        let of_line = |line: usize| {
            let all = misreadings(self.survey, &state.network, line);
            all.into_iter().filter(|t| t.kind == Kind::Turn).filter_map(move |t| {
                let Misreading { slip, kind, would_read, handicap, .. } = t;
                let told = Explanation {
                    slip,
                    kind,
                    would_read,
                    leaves: 0.0,
                    line,
                    left: 0.0,
                    score: 0.0,
                };
                let after = self.after(state, part, &(told, t))?;
                let leaves = self.misclosure(&after, line);
                let left = after.linear.statistic;
                Some((Explanation { leaves, left, score: left + handicap, ..told }, t))
            })
        };
        turned.flat_map(of_line).collect()
    }

    /// The largest misclosure of the loops that a line lies in, metres.
    fn misclosure(&self, state: &State, line: usize) -> f64 {
        let all = closures(&state.network, &self.survey.settings.precision, &state.raw);
        let here = all.iter().filter(|closure| closure.steps.iter().any(|s| s.line == line));
        here.map(|closure| closure.total()).fold(0.0, f64::max)
    }

    /// The suspect of which trial `first` is the explanation to believe.
    fn suspect(
        state: &State,
        part: &Component,
        trials: &[Trial],
        first: usize,
        misclosure: Option<f64>,
    ) -> Option<Suspect> {
        let State { network, raw, linear } = state;
        let best = trials.get(first)?.0;
        let at = part.lines.binary_search(&best.line).ok()?;
        let told = |trial: &(usize, &Trial)| trial.0 != first && trial.1.0.line == best.line;
        let own = trials.iter().enumerate().filter(told).map(|(_, trial)| trial.0);
        let mut others: Vec<Explanation> = Vec::new();
        for (trial, _) in trials.iter().filter(|(t, _)| t.score < best.score + NEARLY) {
            let another = trial.line != best.line && trial.score >= best.score;
            if another && others.iter().all(|other| other.line != trial.line) {
                others.push(*trial);
            }
        }
        let tested = linear.tested(at).find(|t| t.kind == best.kind);
        let turned = linear.tested_turns().find(|(l, t)| *l == at && t.kind == best.kind);
        let tested = tested.or(turned.map(|(_, tested)| tested));
        let rest = linear.rest(at)?;
        let vector = own_vector(&network.lines[best.line], raw.laid(best.line).raw);
        Some(Suspect {
            trail: Some(network.lines[best.line].trail),
            line: Some(best.line),
            node: None,
            kind: best.kind,
            standardised: tested.and_then(|t| t.standardised),
            gap: misclosure.unwrap_or_else(|| gap(&rest, vector)),
            explanations: std::iter::once(best).chain(own).take(TOLD).collect(),
            others,
        })
    }

    /// The trial readings of one line against what all other readings make of it.
    fn trials_of(
        &self,
        network: &Network,
        (raw, habit): (&Raw, &Habit),
        line: usize,
        (linear, rest): (&Linear, &Rest),
    ) -> Vec<(Explanation, Misreading)> {
        let precision = &self.survey.settings.precision;
        let was = raw.laid(line).raw;
        let place = (line, network.lines[line].trail);
        let mut readings = Vec::new();
        let local = |node: usize| linear.position_of(node);
        let mut found = Vec::new();
        let own = misreadings(self.survey, network, line);
        for trial in own.into_iter().chain(other_starts(self.survey, network, line)) {
            if trial.kind == Kind::Turn {
                continue;
            }
            let l = &trial.line;
            // From another start the line ends where it would, were its start shifted.
            let shifted = l.from != network.lines[line].from;
            let offset = if shifted {
                local(l.from)
                    .zip(local(network.lines[line].from))
                    .map_or(Vector3::zeros(), |(b, a)| b - a)
            } else {
                Vector3::zeros()
            };
            let laid = laid_as(network, precision, l, [was.rise - offset.z, was.azimuth]);
            readings.clear();
            line_readings(network, precision, (l, network.in_tree(line)), &laid, &mut readings);
            stretch_plumb(&mut readings, laid.raw.rise, precision.plumb_m);
            let vector = Vector3::from(laid.raw.vector()) + offset;
            let usual = habit.against(place, Vector3::from(was.vector()), vector - offset);
            let left = rest.with(&readings, vector, offset);
            let score = left + trial.handicap + usual;
            let explanation = Explanation {
                slip: trial.slip,
                kind: trial.kind,
                would_read: trial.would_read,
                leaves: gap(rest, own_vector(l, laid.raw) + offset),
                line,
                left,
                score,
            };
            found.push((explanation, trial));
        }
        found
    }
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
