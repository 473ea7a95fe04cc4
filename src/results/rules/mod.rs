//! The rules that a survey must keep, one function a rule, one file a table.
//!
//! In: a typed [`Survey`] and its [`Network`]. Out: [`Faults`], each with its place, what stands
//! there, what was expected, and a hint. Nothing is repaired.
//! A rule whose cells could not be read stays silent: the reader has spoken already.
//! Left out: slips that only a closed loop shows (`adjustment`).

mod anchors;
mod animals;
mod available;
mod controls;
mod legs;
mod names;
pub mod outlying;
mod supports;
mod ties;
mod trails;
mod trunks;
mod turns;
mod walked;

use crate::adjustment::network::Network;
use crate::survey::Survey;
use crate::survey::fault::Faults;
use walked::Trails;

/// Every rule applied.
pub fn check(survey: &Survey, network: &Network) -> Faults {
    let mut faults = Faults::default();
    let walked = Trails::of(survey);
    names::check(survey, &walked, &mut faults);
    anchors::check(survey, &mut faults);
    ties::check(survey, &walked, &mut faults);
    controls::check(survey, &mut faults);
    trails::check(survey, network, &walked, &mut faults);
    animals::check(survey, &mut faults);
    available::check(survey, &mut faults);
    legs::check(survey, network, &mut faults);
    turns::check(survey, network, &mut faults);
    supports::check(survey, network, &mut faults);
    faults
}
