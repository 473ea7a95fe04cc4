//! What speaks for a trial beside the readings: how the animal usually turns, that it comes back to
//! the trunk which it left, how long its legs usually are.
//!
//! In: a network as it stands, with its raw lines. Out: how much less usual it would be with a trial,
//! in squared standard deviations, to be added to the sum of squares that the trial leaves.

use super::habit::Habit;
use super::raw::Raw;
use super::same_trunk::SameTrunk;
use super::usual_length::UsualLength;
use crate::network::{Line, Network, Written};
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
