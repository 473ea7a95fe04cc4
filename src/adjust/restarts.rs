//! Other starts for short trails of vague direction: the lowest of several minima.
//!
//! Turning angles and heights by eye leave a short trail more than one shape that fits nearly as well: a
//! short leg folded to the other side, a steep one leaning the other way. Of made-up trails of eight
//! anchors the solution next to the raw walk was not the lowest in 4 of 1,000 by turns with positions and
//! in 8 of 1,000 by eye; with these starts in none of them. Longer trails are not searched: what their
//! lowest minimum gains on the one next to the walk is small beside what their readings leave open.

use super::normal::Positions;
use super::observation::Observation;
use super::solve::{Problem, Solution, Stuck};
use super::weights::Model;
use crate::statistics::chance::Chance;
use nalgebra::Vector3;

/// A part of more lines than this is left where it lies.
const MOST_LINES: usize = 12;
/// How many other starts are tried.
const STARTS: usize = 48;
/// The parts of the full reach that are tried in turn.
const REACHES: [f64; 3] = [1.0, 0.5, 0.25];
/// A start that has not settled by then is given up.
const MOST_STEPS: usize = 60;
/// A height as uncertain as this, metres, leaves the lean of a steep leg open.
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
    if !is_vague(problem.model) {
        return found;
    }
    let mut chance = Chance::new(1);
    let origin = found.as_ref().map_or(walk, |found| &found.positions).to_vec();
    (0..STARTS).fold(found, |best, at| {
        let reach = REACHES[at % REACHES.len()];
        let start = scattered(problem.model, &origin, reach, &mut chance);
        match (problem.solve_within(MOST_STEPS, start), best) {
            (Ok(other), Ok(best)) if other.cost < best.cost * (1.0 - 1e-6) - 1e-6 => Ok(other),
            (Ok(other), Err(_)) => Ok(other),
            (_, best) => best,
        }
    })
}

fn is_vague(model: &Model) -> bool {
    let vague = |reading: &Observation| reading.sd > VAGUE_M;
    model.lines.len() <= MOST_LINES
        && (!model.turns.is_empty() || model.points.iter().any(|point| vague(&point.reading)))
}

/// Every leg turned and lengthened by chance, every node lifted; what is held stays.
fn scattered(model: &Model, x: &Positions, reach: f64, chance: &mut Chance) -> Vec<Vector3<f64>> {
    let mut within = |most: f64| reach * most * (2.0 * even(chance) - 1.0);
    let mut start = x.to_vec();
    for line in model.lines.iter().filter(|line| line.to == line.from + 1) {
        let leg = x[line.to] - x[line.from];
        let run = leg.xy().norm();
        let long = (run + within(LENGTHENED_M)).max(0.02) / run.max(1e-6);
        let (sin, cos) = within(TURNED).sin_cos();
        let turned = Vector3::new(leg.x * cos - leg.y * sin, leg.x * sin + leg.y * cos, 0.0) * long;
        start[line.to] = start[line.from] + turned;
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
