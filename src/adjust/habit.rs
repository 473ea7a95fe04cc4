//! How a trail usually turns: of two readings that fit alike, the one that leaves a leg doubling
//! back where the trail seldom does is the likelier slip.
//!
//! Turns are taken as von Mises about straight on; their concentration κ follows from the mean
//! cosine of the trail's own turns.
//! Source: [`Source::Fisher1993`](crate::sources::Source::Fisher1993).

use crate::network::Network;
use crate::network::traverse::RawLine;
use nalgebra::Vector3;

/// A leg with less run than this, metres, has no direction to speak of.
const LEAST_RUN_M: f64 = 0.3;
/// However straight a trail, one leg counts no more than this much, in squared standard deviations:
/// animals do turn back.
const MOST: f64 = 12.0;
/// Fewer turns than this tell no habit.
const LEAST_TURNS: usize = 5;

/// The legs before and after each line, and how straight each trail goes.
pub(super) struct Habit {
    neighbours: Vec<[Option<f64>; 2]>,
    concentration: Vec<f64>,
}

impl Habit {
    /// The habit of every trail, from the raw lines.
    pub(super) fn of(network: &Network, raw: &[RawLine]) -> Self {
        let azimuth = |line: Option<usize>| {
            line.map(|line| &raw[line]).filter(|l| l.horizontal > LEAST_RUN_M).map(|l| l.azimuth)
        };
        let mut neighbours = vec![[None; 2]; network.lines.len()];
        let mut concentration = Vec::with_capacity(network.trails.len());
        for trail in &network.trails {
            let visits = network.visits_of(trail);
            let mut cosines = Vec::new();
            for pair in visits.windows(2) {
                if pair[1].from != Some(pair[0].node) {
                    continue; // the walk goes on elsewhere
                }
                let [before, after] = [azimuth(pair[0].line), azimuth(pair[1].line)];
                if let Some(line) = pair[1].line {
                    neighbours[line][0] = before;
                }
                if let Some(line) = pair[0].line {
                    neighbours[line][1] = after;
                }
                cosines.extend(before.zip(after).map(|(a, b)| (b - a).cos()));
            }
            let mean = cosines.iter().sum::<f64>() / cosines.len().max(1) as f64;
            let told = cosines.len() >= LEAST_TURNS && !network.trails.is_empty();
            concentration.push(if told { kappa(mean) } else { 0.0 });
        }
        Self { neighbours, concentration }
    }

    /// How much less likely the turns at both ends of a line are with the vector `trial` than with
    /// the vector `was`: twice the difference of their log-likelihoods, negative where likelier.
    ///
    /// ```text
    /// 2 κ Σ ( cos turn as written − cos turn on trial )
    /// ```
    pub(super) fn against(
        &self,
        (line, trail): (usize, usize),
        was: Vector3<f64>,
        trial: Vector3<f64>,
    ) -> f64 {
        let straight = |v: Vector3<f64>| -> f64 {
            let azimuth = v.x.atan2(v.y);
            self.neighbours[line].iter().flatten().map(|other| (azimuth - other).cos()).sum()
        };
        let lying = was.x.hypot(was.y).min(trial.x.hypot(trial.y)) > LEAST_RUN_M;
        if !lying {
            return 0.0;
        }
        let kappa = self.concentration[trail];
        (2.0 * kappa * (straight(was) - straight(trial))).clamp(-MOST, MOST)
    }
}

/// The concentration whose mean cosine is `mean`, by the usual three approximations; 0 where turns
/// do not favour straight on.
fn kappa(mean: f64) -> f64 {
    match mean {
        c if c <= 0.0 => 0.0,
        c if c < 0.53 => 2.0 * c + c.powi(3) + 5.0 / 6.0 * c.powi(5),
        c if c < 0.85 => -0.4 + 1.39 * c + 0.43 / (1.0 - c),
        c => 1.0 / (c.powi(3) - 4.0 * c * c + 3.0 * c).max(1e-3),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The three pieces meet, and κ = 1 has the mean cosine I₁(1)/I₀(1) = 0.4464.
    #[test]
    fn concentration_follows_from_the_mean_cosine() {
        assert!((kappa(0.446_4) - 1.0).abs() < 0.01);
        assert!((kappa(0.53) - kappa(0.529_999)).abs() < 0.02);
        assert!((kappa(0.85) - kappa(0.849_999)).abs() < 0.1);
        assert!(kappa(-0.2).abs() < 1e-12);
    }
}
