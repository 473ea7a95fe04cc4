//! The verdict on a survey in one line: what closes, what is suspect, what was never checked.

use super::findings;
use crate::adjustment::closure::Verdict as OfClosure;
use crate::maths::quantity::count_of;
use crate::results::Analysis;
use crate::results::overview::{own_closures, unchecked_trails};
use serde_json::{Value, json};

/// How far a survey can be trusted, in counts of what is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Verdict {
    /// Closures.
    pub closures: usize,
    /// Of these, how many lie outside the 95 % range.
    pub closures_failed: usize,
    /// Of these, how many check nothing, since the positions are too coarse.
    pub closures_too_coarse: usize,
    /// Trails.
    pub trails: usize,
    /// Of these, how many have no check measurement.
    pub trails_unchecked: usize,
    /// Suspect readings.
    pub suspects: usize,
}

impl Verdict {
    /// The verdict on an analysis.
    pub fn of(analysis: &Analysis) -> Self {
        let with = |wanted: &[OfClosure]| {
            own_closures(analysis).filter(|closure| wanted.contains(&closure.verdict)).count()
        };
        Self {
            closures: own_closures(analysis).count(),
            closures_failed: with(&[OfClosure::Doubtful, OfClosure::Fails]),
            closures_too_coarse: with(&[OfClosure::TooCoarse]),
            trails: analysis.shown.iter().filter(|shown| **shown).count(),
            trails_unchecked: unchecked_trails(analysis).len(),
            suspects: findings(analysis).suspects.len(),
        }
    }

    /// `12 of 14 closures hold · 2 readings suspect · 13 of 20 trails have no check measurement`.
    pub fn sentence(&self) -> String {
        self.parts().join(" · ")
    }

    /// The same as a sentence of a text.
    pub fn in_text(&self) -> String {
        format!("{}.", self.parts().join("; "))
    }

    fn parts(&self) -> [String; 3] {
        let hold = self.closures - self.closures_failed - self.closures_too_coarse;
        let coarse = match self.closures_too_coarse {
            0 => String::new(),
            coarse => format!(" ({coarse} too coarse to tell)"),
        };
        let closures = match self.closures {
            0 => "no closures".to_owned(),
            1 => format!("{hold} of 1 closure holds{coarse}"),
            all => format!("{hold} of {all} closures hold{coarse}"),
        };
        let suspects = match self.suspects {
            0 => "no reading suspect".to_owned(),
            some => format!("{} suspect", count_of(some, "reading")),
        };
        let trails = count_of(self.trails, "trail");
        let have = if self.trails == 1 { "has" } else { "have" };
        let unchecked = match self.trails_unchecked {
            0 if self.trails == 1 => "the trail has a check measurement".to_owned(),
            0 => format!("all {trails} have a check measurement"),
            some => format!("{some} of {trails} {have} no check measurement"),
        };
        [closures, suspects, unchecked]
    }

    /// As `check --json` and `results.json` have it.
    pub fn json(&self) -> Value {
        json!({
            "closures": self.closures,
            "closures_failed": self.closures_failed,
            "trails": self.trails,
            "trails_unchecked": self.trails_unchecked,
            "suspects": self.suspects,
            "sentence": self.sentence(),
        })
    }
}
