//! How a trail usually turns: of two readings that fit alike, the one that leaves a leg doubling
//! back where the trail seldom does is the likelier slip.
//!
//! Turns are taken as von Mises about straight on; their concentration κ follows from the mean
//! cosine of the trail's own turns, as they would be on trial: a slip would else hide the habit that
//! tells of it.
//! Source: [`Source::Fisher1993`](crate::survey::sources::Source::Fisher1993).

use crate::adjustment::network::Network;
use crate::adjustment::network::traverse::RawLine;
use nalgebra::Vector3;

/// A leg with less run than this, metres, has no direction to speak of.
const LEAST_RUN_M: f64 = 0.3;
/// However straight a trail, one leg counts no more than this much, in squared standard deviations:
/// animals do turn back.
const MOST: f64 = 12.0;
/// Fewer turns than this tell no habit.
const LEAST_TURNS: f64 = 5.0;

/// The legs before and after each line, and the turns of each trail.
pub(super) struct Habit {
    neighbours: Vec<[Option<f64>; 2]>,
    turns: Vec<Turns>,
}

/// The turns of a trail: how many, and the sum of their cosines.
#[derive(Clone, Copy)]
struct Turns {
    count: f64,
    cosines: f64,
    /// Twice their log-likelihood as written.
    as_written: f64,
}

impl Turns {
    /// Twice the log-likelihood at the likeliest concentration.
    ///
    /// ```text
    /// 2 ( κ Σ cos turn − n ln I₀(κ) )
    /// ```
    fn twice_likelihood(self) -> f64 {
        let kappa = kappa(self.cosines / self.count);
        2.0 * (kappa * self.cosines - self.count * ln_bessel(kappa))
    }
}

impl Habit {
    /// The habit of every trail, from the raw lines.
    pub(super) fn of(network: &Network, raw: &[RawLine]) -> Self {
        let azimuth = |line: Option<usize>| {
            line.map(|line| &raw[line]).filter(|l| l.horizontal > LEAST_RUN_M).map(|l| l.azimuth)
        };
        let mut neighbours = vec![[None; 2]; network.lines.len()];
        let mut turns = Vec::with_capacity(network.trails.len());
        for trail in &network.trails {
            let visits = network.visits_of(trail);
            let mut own = Turns { count: 0.0, cosines: 0.0, as_written: 0.0 };
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
                if let Some((a, b)) = before.zip(after) {
                    own.count += 1.0;
                    own.cosines += (b - a).cos();
                }
            }
            if own.count >= LEAST_TURNS {
                own.as_written = own.twice_likelihood();
            }
            turns.push(own);
        }
        Self { neighbours, turns }
    }

    /// How much less likely the turns of its trail are with the vector `trial` of a line than with
    /// the vector `was`: twice the difference of their log-likelihoods, negative where likelier.
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
        let turns = self.turns[trail];
        if !lying || turns.count < LEAST_TURNS {
            return 0.0;
        }
        let tried = Turns { cosines: turns.cosines + straight(trial) - straight(was), ..turns };
        (turns.as_written - tried.twice_likelihood()).clamp(-MOST, MOST)
    }
}

/// ln I₀(κ), the modified Bessel function of the first kind: by its series, and far out by the first
/// terms of its expansion.
fn ln_bessel(kappa: f64) -> f64 {
    if kappa > 12.0 {
        let inverse = kappa.recip();
        let terms = inverse * (0.125 + inverse * (9.0 / 128.0 + inverse * 225.0 / 3072.0));
        return kappa - 0.5 * (std::f64::consts::TAU * kappa).ln() + terms.ln_1p();
    }
    let quarter = 0.25 * kappa * kappa;
    let (mut term, mut sum) = (1.0, 1.0);
    for k in 1..40 {
        term *= quarter / f64::from(k * k);
        sum += term;
        if term < 1e-12 * sum {
            break;
        }
    }
    sum.ln()
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
    use super::super::written::survey;
    use super::*;
    use crate::maths::quantity::Turn;

    fn radians(degrees: f64) -> f64 {
        Turn::from_degrees(degrees).to_radians()
    }

    /// A leg of `run` metres towards `degrees`.
    fn leg(run: f64, degrees: f64) -> RawLine {
        RawLine { horizontal: run, rise: 0.0, azimuth: radians(degrees) }
    }

    fn vector(run: f64, degrees: f64) -> Vector3<f64> {
        Vector3::from(leg(run, degrees).vector())
    }

    /// Six turns of 60°: their cosines add up to 3, so that κ(0.5) = 1.151 042, ln I₀ = 0.307 251 and
    /// 2 (3 κ − 6 ln I₀) = 3.219 238. With the fourth leg turned about two of them are of 120°: they
    /// add up to 1, κ(1/6) = 0.338 070, ln I₀ = 0.028 371, and 0.335 685 is left. With the seventh,
    /// one is: 2, κ(1/3) = 0.707 133, ln I₀ = 0.121 306 and 1.372 855. A leg of 0.2 m and a start at
    /// an earlier anchor part what comes before from what follows.
    #[test]
    fn a_leg_turned_about_against_six_turns() {
        let mut rows = "trail,anchor,from,tape_m,bearing_deg\nBor,0,,,\n".to_owned();
        (1..10).for_each(|anchor| rows += &format!("Bor,{anchor},,2,0\n"));
        let (_, network) = survey(&(rows + "Bor,10,3,2,0"), "");
        let mut raw: Vec<RawLine> = (0..7).map(|at| leg(2.0, [20.0, 80.0][at % 2])).collect();
        raw.extend([leg(0.2, 200.0), leg(2.0, 10.0), leg(2.0, 90.0)]);
        let habit = Habit::of(&network, &raw);
        let near = |found: f64, known: f64| assert!((found - known).abs() < 2e-6, "{found}");
        let against = |line: usize, was: f64, trial: (f64, f64)| {
            habit.against((line, 0), vector(2.0, was), vector(trial.0, trial.1))
        };
        near(habit.turns[0].as_written, 3.219_238);
        near(against(3, 80.0, (2.0, 260.0)), 3.219_238 - 0.335_685);
        near(against(6, 20.0, (2.0, 200.0)), 3.219_238 - 1.372_855);
        near(against(3, 80.0, (0.3, 260.0)), 0.0); // no direction to speak of
        near(against(8, 10.0, (2.0, 190.0)), 0.0);
        near(against(9, 90.0, (2.0, 270.0)), 0.0);
    }

    /// A trail that is all straight counts no more than the bound, either way; four turns tell
    /// nothing, and five do.
    #[test]
    fn a_habit_counts_up_to_a_bound() {
        let against = |legs: usize, [written, was, trial]: [f64; 3]| {
            let mut rows = "trail,anchor,tape_m,bearing_deg\nBor,0,,\n".to_owned();
            (1..=legs).for_each(|anchor| rows += &format!("Bor,{anchor},2,0\n"));
            let (_, network) = survey(&rows, "");
            let mut raw = vec![leg(2.0, 0.0); legs];
            raw[2] = leg(2.0, written);
            let habit = Habit::of(&network, &raw);
            habit.against((2, 0), vector(2.0, was), vector(2.0, trial))
        };
        let near = |found: f64, known: f64| assert!((found - known).abs() < 1e-12, "{found}");
        near(against(6, [0.0, 0.0, 180.0]), MOST);
        near(against(6, [180.0, 180.0, 0.0]), -MOST);
        near(against(5, [0.0, 0.0, 180.0]), 0.0);
    }

    /// Each of the three approximations, worked out: 1 + 0.125 + 5/192; −0.4 + 0.834 + 1.075; −0.4 +
    /// 1.112 + 2.15; and 1 / (0.729 − 3.24 + 2.7) = 1 / 0.189. They nearly meet, κ = 1 has the mean
    /// cosine I₁(1)/I₀(1) = 0.4464, and no trail is straighter than 1000.
    #[test]
    fn concentration_follows_from_the_mean_cosine() {
        let worked = [(0.5, 1.125 + 5.0 / 192.0), (0.6, 1.509), (0.8, 2.862), (0.9, 1.0 / 0.189)];
        for (mean, known) in worked {
            assert!((kappa(mean) - known).abs() < 1e-12, "{mean}: {}", kappa(mean));
        }
        assert!((kappa(0.446_4) - 1.0).abs() < 0.01);
        assert!((kappa(0.53) - kappa(0.529_999)).abs() < 0.02);
        assert!((kappa(0.85) - kappa(0.849_999)).abs() < 0.1);
        assert!((kappa(0.999_9) - 1000.0).abs() < 1e-9);
        assert!(kappa(-0.2).abs() < 1e-12);
    }

    /// I₀(1) = 1.266 065 878; of 5, 12 and 15 the series summed to its end with another program. Both
    /// forms meet.
    #[test]
    fn bessel_function_as_printed() {
        assert!((ln_bessel(1.0) - 1.266_065_878_f64.ln()).abs() < 1e-9);
        assert!((ln_bessel(5.0) - 3.304_681_775_8).abs() < 1e-9);
        assert!((ln_bessel(12.0) - 9.849_502_499_1).abs() < 1e-9);
        assert!((ln_bessel(15.0) - 12.735_669_109_5).abs() < 5e-6, "{}", ln_bessel(15.0));
        assert!((ln_bessel(12.0) - ln_bessel(12.000_001)).abs() < 1e-4);
    }
}
