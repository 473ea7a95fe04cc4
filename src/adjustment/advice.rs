//! What nothing checks, and the one more measurement that would help each trail most.
//!
//! In: a network, its precisions and ground. Out: for each trail the legs on which a needle read at
//! the wrong end, or a turn whose sign was lost, would go unnoticed, and the tie that would bring most of them into a loop; among
//! ties that do so alike, the one that leaves the end point best known.

use super::linear::{Linear, Tested};
use super::raw::raw;
use crate::adjustment::network::{Component, Network, Trail};
use crate::maths::ground::Ground;
use crate::maths::quantity::{Turn, wrap_half_turn};
use crate::survey::settings::Precision;
use nalgebra::{Matrix2, Matrix3, Matrix3x2, Vector2, Vector3};
use std::collections::BTreeMap;

/// Slips this many standard deviations large are found with 80 % at α = 0.001, two-sided.
/// Source: [`Source::Baarda1968`](crate::survey::sources::Source::Baarda1968).
const DETECTABLE: f64 = 4.132_148;
/// Legs with less run than this, metres, hardly matter in plan.
const LEAST_RUN_M: f64 = 0.5;
/// Turns of less than this, degrees, hardly matter with the other sign.
const LEAST_TURN_DEG: f64 = 10.0;
/// A tie is measured from the ground, metres above it, ...
const REACH_M: f64 = 2.0;
/// ... and no longer than this, metres, where a shorter one can be had: a longer line is seldom free
/// of undergrowth. Common practice, no source.
const LONGEST_M: f64 = 15.0;
/// Ties that catch this share of what the best one catches are as good.
const AS_GOOD: f64 = 0.8;
/// A tie that shrinks the end point's uncertainty by less than this share is not worth the walk.
const WORTH: f64 = 0.1;

/// What checks a trail, and what would.
#[derive(Clone, Debug)]
pub struct Advice {
    /// The trail, by index.
    pub trail: usize,
    /// The legs on which a needle read at the wrong end, or a turn whose sign was lost, would go
    /// unnoticed.
    pub unchecked: Vec<usize>,
    /// Whether any of its legs has its direction from a needle, ...
    pub by_needles: bool,
    /// ... and whether any has it from a turn.
    pub by_turns: bool,
    /// How many legs could have such a slip.
    pub legs: usize,
    /// The tie that would help most; `None` where none would.
    pub tie: Option<BestTie>,
}

/// A tie that was not measured.
#[derive(Clone, Copy, Debug)]
pub struct BestTie {
    /// The node it starts at: the last within reach.
    pub from: usize,
    /// The node it ends at.
    pub to: usize,
    /// Its length, metres.
    pub length: f64,
    /// How many unchecked legs it would bring into a loop.
    pub catches: usize,
    /// Standard deviation in space of the end point from the release as it is, metres, ...
    pub before: f64,
    /// ... and with the tie.
    pub after: f64,
}

/// The advice for every trail that has a plan and a leg.
pub fn advice(network: &Network, precision: &Precision, ground: &Ground) -> Vec<Advice> {
    let raw = raw(network, precision, ground);
    let of_part = |part: &Component| {
        let linear = Linear::of(network, precision, ground, part, &raw)?;
        let detectable = |(at, turn): (usize, Tested)| (at, DETECTABLE * turn.found_from());
        let turns = linear.tested_turns().map(detectable).collect();
        let part = Surveyed { network, precision, part, linear, turns };
        let here = |trail: &&usize| network.trails[**trail].layout.has_plan();
        Some(part.part.trails.iter().filter(here).filter_map(|&t| part.trail(t)).collect())
    };
    let mut all: Vec<Advice> = network
        .components
        .iter()
        .filter_map(of_part)
        .flat_map(|found: Vec<Advice>| found)
        .collect();
    all.sort_by_key(|advice| advice.trail);
    all
}

struct Surveyed<'a> {
    network: &'a Network,
    precision: &'a Precision,
    part: &'a Component,
    linear: Linear,
    /// The smallest slip of a turn that would be found, metres at the end of its leg, by local line;
    /// infinite where nothing checks it.
    turns: BTreeMap<usize, f64>,
}

impl Surveyed<'_> {
    fn trail(&self, at: usize) -> Option<Advice> {
        let trail = &self.network.trails[at];
        let visits = self.network.visits_of(trail);
        let walked: Vec<Option<bool>> = visits.iter().map(|v| self.unnoticed(v.line?)).collect();
        let legs = walked.iter().flatten().count();
        let unchecked = visits.iter().zip(&walked).filter(|(_, walked)| **walked == Some(true));
        let unchecked: Vec<usize> = unchecked.filter_map(|(visit, _)| visit.line).collect();
        let whole = visits.iter().all(|visit| self.linear.local(visit.node).is_some());
        if legs == 0 || !whole {
            return None;
        }
        let tie = self.best_tie(trail, &walked);
        let needle = |line: usize| self.network.lines[line].needle().is_some();
        let mut judged =
            visits.iter().zip(&walked).filter_map(|(v, w)| v.line.filter(|_| w.is_some()));
        let by_needles = judged.clone().any(needle);
        let by_turns = judged.any(|line| !needle(line));
        Some(Advice { trail: at, unchecked, by_needles, by_turns, legs, tie })
    }

    /// Whether a needle read at the wrong end of this line, or its turn with the other sign, would go
    /// unnoticed; `None` for a line too short or too steep to matter, and one without either.
    fn unnoticed(&self, line: usize) -> Option<bool> {
        let at = self.part.lines.binary_search(&line).ok()?;
        let l = &self.network.lines[line];
        match (l.needle(), l.turn) {
            (Some(_), _) => self.needle_unnoticed(at),
            (None, Some(turn)) => self.turn_unnoticed(at, turn),
            (None, None) => None,
        }
    }

    fn turn_unnoticed(&self, at: usize, turn: f64) -> Option<bool> {
        let v = self.linear.vectors[at];
        let run = v.x.hypot(v.y);
        let lost = wrap_half_turn(2.0 * turn).abs();
        if run < LEAST_RUN_M || lost < 2.0 * Turn::from_degrees(LEAST_TURN_DEG).to_radians() {
            return None;
        }
        Some(self.turns.get(&at).is_none_or(|found| *found > lost * run))
    }

    fn needle_unnoticed(&self, at: usize) -> Option<bool> {
        let v = self.linear.vectors[at];
        let run = v.x.hypot(v.y);
        if run < LEAST_RUN_M {
            return None;
        }
        let along = Vector3::new(v.x, v.y, 0.0) / run;
        let told = self.linear.rest(at).map_or(0.0, |rest| along.dot(&(rest.information * along)));
        let own = self.precision.tape(run);
        Some(told <= 0.0 || DETECTABLE * (1.0 / told).sqrt().hypot(own) > 2.0 * run)
    }

    /// The tie from the last anchor within reach to an earlier one.
    fn best_tie(&self, trail: &Trail, walked: &[Option<bool>]) -> Option<BestTie> {
        let visits = self.network.visits_of(trail);
        let near = |at: &usize| {
            self.network.height_at(visits[*at].node).is_none_or(|height| height <= REACH_M)
        };
        let last = (0..visits.len()).rev().find(near)?;
        let ends = [visits.first()?.node, visits.last()?.node, visits[last].node];
        let [release, end, from] = ends.map(|node| self.linear.local(node));
        let (release, end, from) = (release?, end?, from?);
        let columns = [release, end, from].map(|node| self.linear.column(node));
        let all = Tied { linear: &self.linear, precision: self.precision, columns };
        let tie = |at: usize| {
            let to = self.linear.local(visits[at].node)?;
            let catches = walked[at + 1..=last].iter().filter(|w| **w == Some(true)).count();
            let (length, before, after) = all.tie([release, end, from, to])?;
            let (from, to) = (visits[last].node, visits[at].node);
            Some(BestTie { from, to, length, catches, before, after })
        };
        let own = visits[last].node;
        let lines = self.network.lines.iter().filter(|l| l.from == own || l.to == own);
        let joined: Vec<usize> = lines.map(|l| if l.from == own { l.to } else { l.from }).collect();
        let new = |at: &usize| near(at) && !joined.contains(&visits[*at].node);
        let within = (0..last.saturating_sub(2)).filter(new).filter_map(tie);
        let ties: Vec<BestTie> = within.filter(|tie| tie.from != tie.to).collect();
        let shortest = ties.iter().map(|tie| tie.length).fold(f64::INFINITY, f64::min);
        let handy = |tie: &&BestTie| tie.length <= LONGEST_M.max(shortest);
        let most = ties.iter().filter(handy).map(|tie| tie.catches).max()?;
        let good = |tie: &&BestTie| tie.catches as f64 >= AS_GOOD * most as f64;
        let best =
            ties.iter().filter(handy).filter(good).min_by(|a, b| a.after.total_cmp(&b.after))?;
        let worth = best.catches > 0 || best.after < (1.0 - WORTH) * best.before;
        worth.then_some(*best)
    }
}

/// Covariances with the release, the end and the start of the tie.
struct Tied<'a> {
    linear: &'a Linear,
    precision: &'a Precision,
    columns: [Vec<Matrix3<f64>>; 3],
}

impl Tied<'_> {
    /// Length of a tie by tape and needle, and the standard deviation of the end point from the
    /// release without and with it.
    ///
    /// ```text
    /// V' = V − G (D + Q)⁻¹ Gᵀ     V of the end, D of the line, G between both, Q of the readings
    /// ```
    fn tie(&self, [release, end, from, to]: [usize; 4]) -> Option<(f64, f64, f64)> {
        let [of_release, of_end, of_from] = &self.columns;
        let own = self.linear.covariance(to, to);
        let v = of_end[end] - of_end[release] - of_end[release].transpose() + of_release[release];
        let line = self.linear.positions[to] - self.linear.positions[from];
        let d = of_from[from] - of_from[to] - of_from[to].transpose() + own;
        // Columns hold the covariance of (row node, column node).
        let g = of_end[to].transpose() - of_end[from].transpose() - of_release[to].transpose()
            + of_release[from].transpose();
        let run = line.x.hypot(line.y).max(0.1);
        let along = Vector2::new(line.x, line.y) / run;
        let across = Vector2::new(along.y, -along.x);
        let sideways = (run * Turn::from_degrees(self.precision.bearing_deg).to_radians())
            .hypot(self.precision.anchor_m);
        let q = along * along.transpose() * self.precision.tape(run).powi(2)
            + across * across.transpose() * sideways.powi(2);
        let seen: Matrix2<f64> = d.fixed_view::<2, 2>(0, 0) + q;
        let g: Matrix3x2<f64> = g.fixed_view::<3, 2>(0, 0).into_owned();
        let less = g * seen.cholesky()?.solve(&g.transpose());
        let sd = |m: Matrix3<f64>| m.trace().max(0.0).sqrt();
        Some((line.norm(), sd(v), sd(v - less)))
    }
}
