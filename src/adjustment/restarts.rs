//! Other starts for short trails of vague direction: the lowest of several minima.
//!
//! Turning angles and heights by eye leave a short trail more than one shape that fits nearly as well.
//! Where turns are read, the whole may lie another way round among its positions; where heights are
//! vague, a leg that goes up may as well go down. Each of these is a start; a part that did not settle
//! is started from shapes scattered by chance. Of made-up trails of eight anchors the solution next to
//! the raw walk was not the lowest in 4 of 1,000 by turns with positions and in 8 of 1,000 by eye; with
//! these starts in none of them. Longer trails are not searched: what their lowest minimum gains on the
//! one next to the walk is small beside what their readings leave open.

use super::normal::Positions;
use super::observation::Kind;
use super::solve::{Problem, Solution, Stuck};
use super::weights::{Model, ModelLine};
use crate::maths::statistics::chance::Chance;
use nalgebra::{Rotation3, Vector3};
use std::f64::consts::TAU;

/// A part of more lines than this is left where it lies.
const MOST_LINES: usize = 12;
/// The whole is turned by this part of a circle at a time: by a quarter, one of 11,000 trails was left in a
/// higher minimum.
const PART_OF_CIRCLE: usize = 6;
/// How many shapes scattered by chance are tried where nothing settled.
const SCATTERED: usize = 48;
/// The parts of the full reach that are tried in turn.
const REACHES: [f64; 3] = [1.0, 0.5, 0.25];
/// A start that has not settled by then is given up.
const MOST_STEPS: usize = 60;
/// A height as uncertain as this, metres, leaves open whether a leg goes up or down.
const VAGUE_M: f64 = 0.2;
/// How far each leg is turned at most, radians, and lengthened, metres, and each node lifted, metres.
const TURNED: f64 = 2.0;
const LENGTHENED_M: f64 = 1.0;
const LIFTED_M: f64 = 0.6;

/// The lowest of the minimum found and those that other starts lead to; of a part that did not settle, what
/// another start leads to. `walk` is where it was started from.
pub(super) fn lowest_of_others(
    problem: &Problem<'_>,
    found: Result<Solution, Stuck>,
    walk: &Positions,
) -> Result<Solution, Stuck> {
    let starts = match &found {
        Ok(found) => others(problem.model, &found.positions),
        Err(_) => scattered(problem.model, walk),
    };
    starts.into_iter().fold(found, |best, start| {
        match (problem.solve_within(MOST_STEPS, start), best) {
            (Ok(other), Ok(best)) if other.cost < best.cost * (1.0 - 1e-6) - 1e-6 => Ok(other),
            (Ok(other), Err(_)) => Ok(other),
            (_, best) => best,
        }
    })
}

/// What else the readings may mean.
fn others(model: &Model, x: &Positions) -> Vec<Vec<Vector3<f64>>> {
    let short = model.lines.len() <= MOST_LINES;
    let rounds = if short && !model.turns.is_empty() { PART_OF_CIRCLE } else { 1 };
    let turned =
        (1..rounds).map(|round| turned(model, x, TAU * round as f64 / PART_OF_CIRCLE as f64));
    let legs = legs(model).filter(|_| short && has_vague_heights(model));
    turned.chain(legs.map(|leg| mirrored(model, x, leg))).collect()
}

fn has_vague_heights(model: &Model) -> bool {
    let mut readings = model.points.iter().map(|point| &point.reading);
    readings.any(|reading| reading.kind == Kind::Height && reading.sd > VAGUE_M)
}

/// The lines of the path; ties lead elsewhere.
fn legs(model: &Model) -> impl Iterator<Item = &ModelLine> {
    model.lines.iter().filter(|line| line.to == line.from + 1)
}

/// The whole turned about its first node; what is held stays.
fn turned(model: &Model, x: &Positions, by: f64) -> Vec<Vector3<f64>> {
    let rotation = Rotation3::from_axis_angle(&Vector3::z_axis(), by);
    let centre = x.first().copied().unwrap_or_default();
    let of = |(x, &[plan_held, _]): (&Vector3<f64>, &[bool; 2])| {
        if plan_held { *x } else { centre + rotation * (x - centre) }
    };
    x.iter().zip(&model.held).map(of).collect()
}

/// One leg going down where it went up, or up where it went down.
fn mirrored(model: &Model, x: &Positions, leg: &ModelLine) -> Vec<Vector3<f64>> {
    let mut start = x.to_vec();
    let [_, height_held] = model.held[leg.to];
    if !height_held {
        start[leg.to].z = x[leg.from].z - (x[leg.to].z - x[leg.from].z);
    }
    start
}

/// Shapes with every leg turned and lengthened by chance, every node lifted; what is held stays.
fn scattered(model: &Model, x: &Positions) -> Vec<Vec<Vector3<f64>>> {
    if model.lines.len() > MOST_LINES || (model.turns.is_empty() && !has_vague_heights(model)) {
        return Vec::new();
    }
    let mut chance = Chance::new(1);
    let reaches = REACHES.iter().cycle().take(SCATTERED);
    reaches.map(|reach| scattered_within(model, x, *reach, &mut chance)).collect()
}

fn scattered_within(
    model: &Model,
    x: &Positions,
    reach: f64,
    chance: &mut Chance,
) -> Vec<Vector3<f64>> {
    let mut within = |most: f64| reach * most * (2.0 * even(chance) - 1.0);
    let mut start = x.to_vec();
    for leg in legs(model) {
        let vector = x[leg.to] - x[leg.from];
        let run = vector.xy().norm();
        let long = (run + within(LENGTHENED_M)).max(0.02) / run.max(1e-6);
        let rotation = Rotation3::from_axis_angle(&Vector3::z_axis(), within(TURNED));
        let level = Vector3::new(vector.x, vector.y, 0.0);
        start[leg.to] = start[leg.from] + rotation * level * long;
    }
    for (node, (place, &[plan_held, height_held])) in start.iter_mut().zip(&model.held).enumerate()
    {
        let lifted = within(LIFTED_M);
        if plan_held {
            (place.x, place.y) = (x[node].x, x[node].y);
        }
        place.z = x[node].z + if height_held { 0.0 } else { lifted };
    }
    start
}

/// From 0 to 1.
fn even(chance: &mut Chance) -> f64 {
    const PARTS: usize = 1 << 30;
    chance.below(PARTS) as f64 / PARTS as f64
}
