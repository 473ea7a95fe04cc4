//! What can be doubted of a survey: readings that are suspect, legs worth a look, trails without a check
//! measurement, and the verdict that every command carries.
//!
//! In: an [`Analysis`]. Out: [`Findings`], computed once; each in words as a [`Finding`] and as JSON. Screen,
//! report and window only lay them out. Nothing is repaired.

pub mod advice;
pub mod suspects;
pub mod verdict;

use super::rules::outlying::{WorthALook, worth_a_look};
use super::{Analysis, ground};
use crate::adjustment::advice::{Advice, advice as advice_on};
use crate::adjustment::closure::Verdict;
use crate::adjustment::network::Network;
use crate::adjustment::suspects::{Suspect, suspects as suspects_of};
use crate::survey::Survey;

/// What can be doubted of the trails that are shown.
#[derive(Clone, Debug, Default)]
pub struct Findings {
    /// Readings that do not fit, the worst first.
    pub suspects: Vec<Suspect>,
    /// Legs without a check measurement that are unlike the others.
    pub looks: Vec<WorthALook>,
    /// What one more measurement would check, trail by trail.
    pub advice: Vec<Advice>,
}

/// One finding in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// What was found.
    pub sentence: String,
    /// Where in the tables.
    pub place: Option<String>,
    /// What else it may be, a line each.
    pub more: Vec<String>,
}

impl Finding {
    /// All its lines.
    pub fn lines(&self) -> String {
        let place = self.place.iter().cloned();
        let lines = std::iter::once(self.sentence.clone()).chain(place);
        lines.chain(self.more.iter().cloned()).collect::<Vec<_>>().join("\n")
    }
}

/// The findings of an analysis.
pub fn findings(analysis: &Analysis) -> &Findings {
    analysis.findings.get_or_init(|| {
        let Analysis { survey, network, adjusted, shown, .. } = analysis;
        let (ground, _) = ground(survey, network);
        let mut in_loop = vec![false; network.lines.len()];
        for closure in adjusted.closures.iter().filter(|c| c.verdict != Verdict::TooCoarse) {
            closure.steps.iter().for_each(|step| in_loop[step.line] = true);
        }
        // What an instrument has in all its readings is no slip of any.
        let mut suspects = suspects_of(survey, &adjusted.common.corrected(network), &ground);
        suspects.retain(|suspect| suspect.trail.is_some_and(|trail| shown[trail]));
        let mut looks = worth_a_look(survey, network, |line| in_loop[line]);
        looks.retain(|look| shown[network.lines[look.line].trail]);
        let mut advice = advice_on(network, &survey.settings.precision, &ground);
        advice.retain(|advice| shown[advice.trail]);
        Findings { suspects, looks, advice }
    })
}

/// The names that findings are told with.
#[derive(Clone, Copy)]
struct Named<'a> {
    survey: &'a Survey,
    network: &'a Network,
}

impl<'a> Named<'a> {
    fn of(analysis: &'a Analysis) -> Self {
        Self { survey: &analysis.survey, network: &analysis.network }
    }

    fn trail(&self, trail: usize) -> &'a str {
        self.survey.text(self.network.trails[trail].name)
    }

    fn name(&self, node: usize) -> &'a str {
        self.survey.text(self.network.nodes[node].name)
    }
}
