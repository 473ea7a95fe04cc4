//! Rules of the ties table.

use super::walked::Trails;
use crate::survey::Survey;
use crate::survey::fault::{Code, Faults};
use crate::survey::looks::told_apart;
use crate::survey::names::Name;
use crate::survey::twins::Met;
use std::collections::HashSet;

pub(super) fn check(survey: &Survey, walked: &Trails<'_>, faults: &mut Faults) {
    if survey.ties.is_empty() {
        return;
    }
    let trails: HashSet<Name> = survey.anchors.iter().map(|row| row.trail).collect();
    let ends = Ends::of(survey);
    for index in 0..survey.ties.len() {
        if trails.contains(&survey.ties[index].trail) {
            ends_are_known(survey, index, &ends, faults);
        } else {
            trail_is_known(survey, walked, index, faults);
        }
        something_is_measured(survey, index, faults);
    }
}

/// What a tie may lead from and to: the anchors of each trail, and the controls.
struct Ends {
    anchors: HashSet<(Name, Name)>,
    met: Met<Name>,
    controls: Met<()>,
}

impl Ends {
    fn of(survey: &Survey) -> Self {
        let named = || survey.anchors.iter().map(|row| (row.trail, row.anchor));
        let (mut met, mut controls) = (Met::default(), Met::default());
        for (at, anchor) in named().enumerate() {
            met.meet(&survey.twins, anchor, at, |_| false);
        }
        for (at, row) in survey.controls.iter().enumerate() {
            controls.meet(&survey.twins, ((), row.control), at, |_| false);
        }
        Self { anchors: named().collect(), met, controls }
    }

    /// The anchor of the trail, or the control, that the name of an end is a near-twin of.
    fn twin_of(&self, survey: &Survey, trail: Name, end: Name) -> Option<Name> {
        let anchor = self.met.near(&survey.twins, (trail, end), |_| false);
        let twin = anchor.or_else(|| self.controls.near(&survey.twins, ((), end), |_| false));
        twin.map(|(twin, _)| twin)
    }
}

/// A tie belongs to a trail that has anchors.
fn trail_is_known(survey: &Survey, walked: &Trails<'_>, index: usize, faults: &mut Faults) {
    let tie = &survey.ties[index];
    let twin = walked.twin_of(survey, tie.trail);
    faults
        .error(Code::UnknownTrail, survey.tie_place(tie.row, "trail"))
        .found(survey.text(tie.trail))
        .expected("a trail of the anchors table")
        .hint(twin.map_or_else(
            || "check the spelling against the anchors table".to_owned(),
            |twin| near_twin(survey, tie.trail, twin.name),
        ));
}

/// Both ends are anchors of the trail, or controls, and not the same.
fn ends_are_known(survey: &Survey, index: usize, ends: &Ends, faults: &mut Faults) {
    let tie = &survey.ties[index];
    for (end, column) in [(tie.from, "from"), (tie.to, "to")] {
        if !ends.anchors.contains(&(tie.trail, end)) && survey.control_row(end).is_none() {
            faults
                .error(Code::UnknownAnchor, survey.tie_place(tie.row, column))
                .found(survey.text(end))
                .expected(format!("an anchor of trail {}, or a control", survey.text(tie.trail)))
                .hint(ends.twin_of(survey, tie.trail, end).map_or_else(
                    || "two digits swapped, or another trail's anchor?".to_owned(),
                    |twin| near_twin(survey, end, twin),
                ));
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

/// What may be meant by a name that nothing has but its near-twin.
fn near_twin(survey: &Survey, name: Name, twin: Name) -> String {
    let [name, twin] = told_apart([name, twin].map(|name| survey.text(name)));
    format!("{name} is a near-twin of {twin}: write {twin} if that is meant")
}
