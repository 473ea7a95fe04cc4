//! Robust weights: readings far from the rest lose weight, step by step.
//!
//! Huber's estimator by iteratively reweighted least squares. A reading whose residual v is more
//! than k of its standard deviations σ gets the weight k σ / |v|; all others keep theirs. With
//! k = 1.345 it loses 5 % of precision where all errors are normal.
//! It takes the edge off one slip and is no search for it: where little is redundant, a slip still
//! spoils its neighbours.
//! Source: [`Source::Huber1964`](crate::survey::sources::Source::Huber1964) for the estimator,
//! [`Source::Holland1977`](crate::survey::sources::Source::Holland1977) for the constant.

use super::normal::{Positions, above_ground, along, turn_residual};
use super::weights::Model;
use crate::maths::ground::Ground;

/// The tuning constant, in standard deviations.
pub const HUBER: f64 = 1.345;
/// How often weights are found anew at most; they settle in far fewer rounds.
pub(super) const MOST_ROUNDS: usize = 50;
/// Standard deviations that change by less than this share have settled.
const SETTLED: f64 = 1e-3;

/// Gives each reading of `model` the standard deviation that its residual at `x` earns, from that
/// in `stated`. Tells whether all have settled. Assumed readings stay: they are no measurements.
///
/// ```text
/// σ' = σ √max(1, |v| / (k σ))
/// ```
pub(super) fn reweigh(model: &mut Model, stated: &Model, ground: &Ground, x: &Positions) -> bool {
    let mut settled = true;
    let mut earn = |sd: &mut f64, stated: f64, residual: f64| {
        let earned = stated * (residual.abs() / (HUBER * stated)).max(1.0).sqrt();
        settled &= (earned / *sd - 1.0).abs() < SETTLED;
        *sd = earned;
    };
    for line in &stated.lines {
        let v = along(line, x);
        for at in (line.first..line.end).filter(|&at| !stated.readings[at].assumed) {
            let reading = &stated.readings[at];
            earn(&mut model.readings[at].sd, reading.sd, reading.residual(v));
        }
    }
    for (turn, was) in model.turns.iter_mut().zip(&stated.turns).filter(|(_, t)| !t.reading.assumed)
    {
        let (residual, ..) = turn_residual(was, stated, x);
        earn(&mut turn.reading.sd, was.reading.sd, residual);
    }
    for (point, was) in model.points.iter_mut().zip(&stated.points) {
        let (at, _) = above_ground(ground, &was.reading, x[was.node]);
        earn(&mut point.reading.sd, was.reading.sd, was.reading.residual(at));
    }
    settled
}
