//! The trials: what each reading may have been, and what that would leave.

use super::super::closure::closures;
use super::super::common::Common;
use super::super::leave_one_out::Rest;
use super::super::linear::{Linear, Tested, stretch_plumb};
use super::super::observation::Kind;
use super::super::prior::Usual;
use super::super::raw::{Raw, laid_as};
use super::super::trial_readings::{
    HeightMisreading, Misreading, misread_heights, misreadings, other_starts,
};
use super::super::weights::line_readings;
use super::{Change, Explanation, SUSPECT, Search, State, Trial, gap, own_vector};
use crate::adjustment::network::{Component, Network};
use crate::adjustment::slip::Slip;
use crate::maths::quantity::wrap_half_turn;
use nalgebra::Vector3;

/// A turn whose residual is within so many of its standard deviations is not tried.
const AMISS: f64 = 2.0;
/// How many trial turns of one sort of slip are solved: those that promise most. What is promised for a
/// large change is rough, and other digits alone would take up all.
const TRIED_TURNS: usize = 12;
/// How many trials are tried again on the whole network.
const TRIED_AGAIN: usize = 12;
/// How many trial heights are: those that promise most.
const TRIED_HEIGHTS: usize = 6;
/// A height with less redundancy than this is checked by the loops alone, which any leg of theirs
/// bends more easily.
const CHECKED: f64 = 0.05;

impl Search<'_> {
    /// All trials that leave clearly less than there is, most believable first.
    pub(super) fn trials(&self, state: &State, part: &Component) -> Vec<Trial> {
        let State { network, raw, linear } = state;
        let usual = Usual::of(self.survey, network, raw);
        let needed = state.needed();
        let mut trials: Vec<Trial> = Vec::new();
        for (at, &line) in part.lines.iter().enumerate() {
            let Some(rest) = linear.rest(at) else { continue };
            // No trial of a line can leave less than all others do without it.
            if rest.information.amax() > 0.0 && rest.cost(rest.told().0) < needed {
                trials.extend(self.trials_of(network, (raw, &usual), line, (linear, &rest)));
            }
        }
        trials.extend(self.turns(state, part));
        trials.extend(self.heights(state, part));
        trials.retain(|(trial, _)| trial.left < needed);
        trials.sort_by(|a, b| a.0.score.total_cmp(&b.0.score));
        for trial in trials.iter_mut().take(TRIED_AGAIN) {
            if trial.0.slip == Slip::WrongFrom {
                let left =
                    self.after(state, part, trial).map_or(f64::INFINITY, |s| s.linear.statistic);
                trial.0.score += left - trial.0.left;
                trial.0.left = left;
            }
        }
        trials.retain(|(trial, _)| trial.left < needed);
        trials.sort_by(|a, b| a.0.score.total_cmp(&b.0.score));
        weigh(&mut trials);
        trials
    }

    /// The trial turns. Each turns everything that hangs on it, so that the whole is solved anew; which
    /// trials are worth it, the linear network tells.
    fn turns(&self, state: &State, part: &Component) -> Vec<Trial> {
        let mut worth: Vec<(f64, usize, Misreading)> = Vec::new();
        for (local, tested) in state.linear.tested_turns() {
            let line = part.lines[local];
            if tested.assumed || tested.standardised.is_none_or(|w| w.abs() < AMISS) {
                continue;
            }
            let was = state.network.lines[line].turn.unwrap_or(0.0);
            let run = state.raw.laid(line).raw.horizontal;
            for trial in misreadings(self.survey, &state.network, line) {
                if let (Kind::Turn, Some(turn)) = (trial.kind, trial.line.turn) {
                    let by = run * wrap_half_turn(turn - was);
                    worth.push((trial.handicap - saving(&tested, by), line, trial));
                }
            }
        }
        worth.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut tried: Vec<(usize, Misreading)> = Vec::new();
        for (_, line, trial) in worth {
            let of_its_sort = tried.iter().filter(|(_, other)| other.slip == trial.slip);
            if of_its_sort.count() < TRIED_TURNS {
                tried.push((line, trial));
            }
        }
        tried.into_iter().filter_map(|trial| self.solved_turn(state, part, trial)).collect()
    }

    /// A trial turn and what it would leave.
    fn solved_turn(
        &self,
        state: &State,
        part: &Component,
        (line, trial): (usize, Misreading),
    ) -> Option<Trial> {
        let change = Change::Line(line, trial.line);
        let told = Explanation {
            slip: trial.slip,
            kind: trial.kind,
            would_read: trial.would_read,
            leaves: 0.0,
            line: Some(line),
            node: None,
            change,
            weight: 0.0,
            left: 0.0,
            score: 0.0,
        };
        let after = self.after(state, part, &(told, change))?;
        let leaves = self.misclosure(&after, line);
        let left = after.linear.statistic;
        Some((Explanation { leaves, left, score: left + trial.handicap, ..told }, change))
    }

    /// The trial heights. A height bends the legs on both sides of it, so that the whole is solved
    /// anew; which trials are worth it, the linear network tells.
    fn heights(&self, state: &State, part: &Component) -> Vec<Trial> {
        let State { network, linear, .. } = state;
        let mut worth: Vec<(f64, usize, HeightMisreading)> = Vec::new();
        for (local, tested) in linear.tested_points(self.ground) {
            let suspect = tested.standardised.is_some_and(|w| w.abs() > SUSPECT);
            if tested.kind != Kind::Height || !suspect || tested.redundancy < CHECKED {
                continue;
            }
            let node = part.nodes[local];
            let read = network.heights_at(node);
            for trial in read.iter().flat_map(|read| misread_heights(self.survey, read)) {
                let by = (trial.metres - trial.was) / read.len() as f64;
                worth.push((trial.handicap - saving(&tested, by), node, trial));
            }
        }
        worth.sort_by(|a, b| a.0.total_cmp(&b.0));
        let solved = |(_, node, trial): (f64, usize, HeightMisreading)| {
            let reading = network.heights.iter().position(|h| h.node == node && h.row == trial.row);
            let change = Change::Height(reading?, trial.metres);
            let mut told = Explanation {
                slip: trial.slip,
                kind: Kind::Height,
                would_read: trial.would_read,
                leaves: 0.0,
                line: None,
                node: Some(node),
                change,
                weight: 0.0,
                left: 0.0,
                score: 0.0,
            };
            let after = self.after(state, part, &(told, change))?;
            told.left = after.linear.statistic;
            told.score = told.left + trial.handicap;
            told.leaves = self.tested_height(&after.linear, node)?.off.abs();
            Some((told, change))
        };
        worth.into_iter().take(TRIED_HEIGHTS).filter_map(solved).collect()
    }

    /// The largest misclosure of the loops that a line lies in, metres.
    pub(super) fn misclosure(&self, state: &State, line: usize) -> f64 {
        let precision = &self.survey.settings.precision;
        let all = closures(&state.network, precision, &state.raw, &Common::default());
        let here = all.iter().filter(|closure| closure.steps.iter().any(|s| s.line == line));
        here.map(|closure| closure.total()).fold(0.0, f64::max)
    }

    /// The trial readings of one line against what all other readings make of it.
    fn trials_of(
        &self,
        network: &Network,
        (raw, usual): (&Raw, &Usual),
        line: usize,
        (linear, rest): (&Linear, &Rest),
    ) -> Vec<Trial> {
        let precision = &self.survey.settings.precision;
        let was = raw.laid(line).raw;
        let as_written = (&network.lines[line], Vector3::from(was.vector()));
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
            let unusual = usual.against(line, as_written, (l, vector - offset));
            let left = rest.with(&readings, vector, offset);
            let score = left + trial.handicap + unusual;
            let change = Change::Line(line, trial.line);
            let explanation = Explanation {
                slip: trial.slip,
                kind: trial.kind,
                would_read: trial.would_read,
                leaves: gap(rest, own_vector(l, laid.raw) + offset),
                line: Some(line),
                node: None,
                change,
                weight: 0.0,
                left,
                score,
            };
            found.push((explanation, change));
        }
        found
    }
}

/// How much less the sum of squares Ω of the linear network would be, were a reading more by δ.
///
/// ```text
/// Ω − Ω(δ) = (2 δ v − δ² r) / σ²      v the residual, r the redundancy; v / r how far it is off
/// ```
pub(super) fn saving(tested: &Tested, by: f64) -> f64 {
    tested.redundancy / tested.sd.powi(2) * by * (2.0 * tested.off - by)
}

/// How likely each trial is beside the others, best first.
///
/// ```text
/// w ∝ exp( −score / 2 )
/// ```
pub(super) fn weigh(trials: &mut [Trial]) {
    let Some(least) = trials.first().map(|(best, _)| best.score) else { return };
    let mut total = 0.0;
    for (trial, _) in trials.iter_mut() {
        trial.weight = (-0.5 * (trial.score - least)).exp();
        total += trial.weight;
    }
    for (trial, _) in trials {
        trial.weight /= total;
    }
}
