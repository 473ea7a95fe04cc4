//! What speaks for a trial beside the readings: how the animal usually turns, that it comes back to
//! the trunk which it left, how long its legs usually are.
//!
//! In: a network as it stands, with its raw lines. Out: how much less usual it would be with a trial,
//! in squared standard deviations, to be added to the sum of squares that the trial leaves.

use super::length_prior::UsualLength;
use super::raw::Raw;
use super::same_trunk::SameTrunk;
use super::turn_prior::Habit;
use crate::adjustment::network::{Line, Network, Written};
use crate::survey::Survey;
use nalgebra::Vector3;

/// What is usual in the trails of a network.
pub(super) struct Usual {
    habit: Habit,
    same_trunk: SameTrunk,
    length: UsualLength,
}

impl Usual {
    pub(super) fn of(survey: &Survey, network: &Network, raw: &Raw) -> Self {
        Self {
            habit: Habit::of(network, &raw.traverse.lines),
            same_trunk: SameTrunk::of(survey, network, &raw.start.lines),
            length: UsualLength::of(network),
        }
    }

    /// How much less usual the line at `at`, with its vector, would be as on trial than as it `was`;
    /// negative where more usual.
    pub(super) fn against(
        &self,
        at: usize,
        was: (&Line, Vector3<f64>),
        trial: (&Line, Vector3<f64>),
    ) -> f64 {
        let trail = was.0.trail;
        let turns = self.habit.against((at, trail), was.1, trial.1);
        // From another start a leg is no longer one of those that come back to the trunk.
        let shifted = trial.0.from != was.0.from;
        let trunk = if shifted { 0.0 } else { self.same_trunk.against(at, was.1, trial.1) };
        // A tie is as long as it has to be.
        let is_leg = matches!(was.0.written, Written::Anchor(_));
        let length =
            if is_leg { self.length.against(trail, was.0.tape, trial.0.tape) } else { 0.0 };
        turns + trunk + length
    }
}

#[cfg(test)]
mod tests {
    use super::super::raw::raw;
    use super::super::written::survey;
    use super::*;
    use crate::adjustment::network::Course;
    use crate::maths::ground::Ground;

    /// Out from a trunk and back to it, in legs of 3 m one of which was written as 30 m and east: what
    /// turns, trunk and lengths say of the 3 m adds up. From another start the trunk says nothing, and
    /// of a tie its length does not.
    #[test]
    fn what_is_usual_adds_up() {
        let mut rows = "trail,anchor,tape_m,bearing_deg,incline_deg,support,tree\n\
                        Bor,0,,,,litter,\nBor,1,3,0,0,trunk,B1\n"
            .to_owned();
        let legs = [(3, 40), (3, 80), (30, 90), (3, 160), (3, 200), (3, 240), (3, 280), (3, 320)];
        for (at, (tape, bearing)) in legs.into_iter().enumerate() {
            let support = if at < 7 { "litter," } else { "trunk,B1" };
            rows += &format!("Bor,{},{tape},{bearing},0,{support}\n", at + 2);
        }
        let (survey, network) = survey(&rows, "trail,from,to,tape_m\nBor,9,0,2");
        let raw = raw(&network, &survey.settings.precision, &Ground::flat());
        let usual = Usual::of(&survey, &network, &raw);
        let at = 3;
        let line = &network.lines[at];
        assert_eq!((line.tape, line.course), (Some(30.0), Course::Needle));
        let (was, trial) = (Vector3::new(30.0, 0.0, 0.0), Vector3::new(2.6, -1.5, 0.0));
        let read = Line { tape: Some(3.0), ..*line };
        let turns = usual.habit.against((at, line.trail), was, trial);
        let trunk = usual.same_trunk.against(at, was, trial);
        let length = usual.length.against(line.trail, line.tape, read.tape);
        assert!(turns < -0.1 && trunk < -0.1 && length < -0.1, "{turns} {trunk} {length}");
        let near = |found: f64, known: f64| assert!((found - known).abs() < 1e-12, "{found}");
        near(usual.against(at, (line, was), (&read, trial)), turns + trunk + length);
        let shifted = Line { from: 1, ..read };
        near(usual.against(at, (line, was), (&shifted, trial)), turns + length);
        let tie = Line { written: Written::Tie(0), ..*line };
        near(usual.against(at, (&tie, was), (&read, trial)), turns + trunk);
    }
}
