//! Rules of the anchors table that need no geometry.

use crate::survey::Survey;
use crate::survey::fault::{Code, Faults};
use crate::survey::names::{Name, nearest_name};
use std::collections::{HashMap, HashSet};

/// How many rows above are searched for a name that was meant: a thread is followed from near by.
const ROWS_COMPARED: usize = 200;

/// What earlier rows of a trail have said.
#[derive(Default)]
struct Walked {
    /// Names met, with the row that named each first.
    met: HashMap<Name, usize>,
    last: Option<Name>,
}

pub(super) fn check(survey: &Survey, faults: &mut Faults) {
    let controls: HashSet<Name> = survey.controls.iter().map(|control| control.control).collect();
    let mut trails: HashMap<Name, Walked> = HashMap::new();
    let mut scattered = HashSet::new();
    let mut current = None;
    for index in 0..survey.anchors.len() {
        let trail = survey.anchors[index].trail;
        if current != Some(trail) && trails.contains_key(&trail) && scattered.insert(trail) {
            scattered_trail(survey, index, faults);
        }
        current = Some(trail);
        let walked = trails.entry(trail).or_default();
        from_is_known(survey, index, walked, &controls, faults);
        named_again_with_a_measurement(survey, index, walked, faults);
        leads_somewhere(survey, index, walked, faults);
        walked.met.entry(survey.anchors[index].anchor).or_insert(index);
        walked.last = Some(survey.anchors[index].anchor);
    }
}

/// Rows of one trail stand together, so that the row above is the anchor before.
fn scattered_trail(survey: &Survey, index: usize, faults: &mut Faults) {
    let row = &survey.anchors[index];
    faults
        .warn(Code::ScatteredTrail, survey.anchor_place(row.row, "trail"))
        .found(survey.text(row.trail))
        .expected("all rows of a trail together, in walking order")
        .hint("the rows are taken in the order of the table; move them together");
}

/// `from` names an anchor of the trail that stands above, or a control.
fn from_is_known(
    survey: &Survey,
    index: usize,
    walked: &Walked,
    controls: &HashSet<Name>,
    faults: &mut Faults,
) {
    let row = &survey.anchors[index];
    let Some(from) = row.from else { return };
    if walked.met.contains_key(&from) || controls.contains(&from) {
        return;
    }
    let above = survey.anchors[..index].iter().rev().take(ROWS_COMPARED);
    let known = above.filter(|above| above.trail == row.trail).map(|row| survey.text(row.anchor));
    let near = nearest_name(survey.text(from), known);
    faults
        .error(Code::UnknownAnchor, survey.anchor_place(row.row, "from"))
        .found(survey.text(from))
        .expected("an anchor of the same trail in a row above, or a control")
        .hint(near.map_or_else(
            || "the first row of a trail is its release and comes from nowhere".to_owned(),
            |near| format!("the nearest name is {near}"),
        ));
}

/// An anchor named again closes a loop, if something was measured to it.
fn named_again_with_a_measurement(
    survey: &Survey,
    index: usize,
    walked: &Walked,
    faults: &mut Faults,
) {
    let row = &survey.anchors[index];
    let Some(&first) = walked.met.get(&row.anchor) else { return };
    if row.readings.is_empty() && row.gap.is_none() {
        let above = survey.grids.anchors.row(survey.anchors[first].row);
        faults
            .error(Code::DuplicateAnchor, survey.anchor_place(row.row, "anchor"))
            .found(survey.text(row.anchor))
            .expected("a new name, or a measurement that closes a loop")
            .hint(format!("row {above} of this trail has the same name"));
    }
}

/// A leg leads from one anchor to another.
fn leads_somewhere(survey: &Survey, index: usize, walked: &Walked, faults: &mut Faults) {
    let row = &survey.anchors[index];
    let from = row.from.or(walked.last);
    if from == Some(row.anchor) && !row.readings.is_empty() {
        faults
            .error(Code::LegToItself, survey.anchor_place(row.row, "anchor"))
            .found(survey.text(row.anchor))
            .expected("a leg that leads to another anchor")
            .hint("a name struck twice, or a wrong from?");
    }
}
