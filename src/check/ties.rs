//! Rules of the ties table.

use crate::fault::{Code, Faults};
use crate::survey::Survey;
use crate::survey::names::Name;
use std::collections::HashSet;

pub(super) fn check(survey: &Survey, faults: &mut Faults) {
    if survey.ties.is_empty() {
        return;
    }
    let anchors: HashSet<(Name, Name)> =
        survey.anchors.iter().map(|row| (row.trail, row.anchor)).collect();
    let trails: HashSet<Name> = survey.anchors.iter().map(|row| row.trail).collect();
    for index in 0..survey.ties.len() {
        if trails.contains(&survey.ties[index].trail) {
            ends_are_known(survey, index, &anchors, faults);
        } else {
            trail_is_known(survey, index, faults);
        }
        something_is_measured(survey, index, faults);
    }
}

/// A tie belongs to a trail that has anchors.
fn trail_is_known(survey: &Survey, index: usize, faults: &mut Faults) {
    let tie = &survey.ties[index];
    faults
        .error(Code::UnknownTrail, survey.tie_place(tie.row, "trail"))
        .found(survey.text(tie.trail))
        .expected("a trail of the anchors table")
        .hint("check the spelling against the anchors table");
}

/// Both ends are anchors of the trail, or controls, and not the same.
fn ends_are_known(
    survey: &Survey,
    index: usize,
    anchors: &HashSet<(Name, Name)>,
    faults: &mut Faults,
) {
    let tie = &survey.ties[index];
    for (end, column) in [(tie.from, "from"), (tie.to, "to")] {
        if !anchors.contains(&(tie.trail, end)) && survey.control_row(end).is_none() {
            faults
                .error(Code::UnknownAnchor, survey.tie_place(tie.row, column))
                .found(survey.text(end))
                .expected(format!("an anchor of trail {}, or a control", survey.text(tie.trail)))
                .hint("two digits swapped, or another trail's anchor?");
        }
    }
    if tie.from == tie.to {
        faults
            .error(Code::LegToItself, survey.tie_place(tie.row, "to"))
            .found(survey.text(tie.to))
            .expected("another anchor than in from")
            .hint("a tie joins two different points");
    }
}

/// A tie that measures nothing checks nothing.
fn something_is_measured(survey: &Survey, index: usize, faults: &mut Faults) {
    let tie = &survey.ties[index];
    if tie.readings.is_empty() {
        faults
            .warn(Code::EmptyTie, survey.tie_place(tie.row, "tape_m"))
            .found("nothing")
            .expected("a tape, bearing, incline or rise")
            .hint("the tie has no effect; remove the row or fill it");
    }
}
