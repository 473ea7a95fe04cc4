//! Names that a reader would take for one: of trails, of anchors within a trail, of animals and of
//! controls. A trail that begins with a tape, which a misspelt name brings about, is told here too.
//!
//! A name that no row of its own table has is told elsewhere, with its near-twin.

use super::walked::{Trails, Walked};
use crate::maths::quantity::metres;
use crate::survey::Survey;
use crate::survey::fault::{Code, Fault, Faults, Place, Severity};
use crate::survey::looks::told_apart;
use crate::survey::names::Name;
use crate::survey::rows::AnchorRow;
use crate::survey::twins::{Met, Numbering};
use std::collections::HashSet;

pub(super) fn check(survey: &Survey, trails: &Trails<'_>, faults: &mut Faults) {
    let misspelt = trail_twins(survey, &trails.walked, faults);
    begin_without_a_tape(survey, &trails.walked, &misspelt, faults);
    anchor_twins(survey, &trails.walked, faults);
    twins(survey, &animals(survey), faults);
    let controls = survey.controls.iter();
    let controls: Vec<Written> =
        controls.map(|row| (row.control, row.row, "control", CONTROL_PLACE)).collect();
    twins(survey, &controls, faults);
}

/// Trails with near-twins; gives those that are taken for misspelt.
fn trail_twins(survey: &Survey, trails: &[Walked<'_>], faults: &mut Faults) -> HashSet<Name> {
    let mut misspelt = HashSet::new();
    for trail in trails {
        let Some(first) = trail.twin.map(|at| &trails[at]) else { continue };
        let doubted = [(trail, first), (first, trail)].into_iter().find_map(|(one, other)| {
            Some((one, other, one.doubt()?)).filter(|_| !misspelt.contains(&one.name))
        });
        let (one, other, hint) = doubted.unwrap_or((trail, first, DIFFERENT));
        let severity = if doubted.is_some() { Severity::Error } else { Severity::Warning };
        if doubted.is_some() {
            misspelt.insert(one.name);
        }
        let [one, other] = [one, other].map(|trail| (trail.name, trail.place(survey)));
        tell(survey, severity, one, &other, faults).hint(hint);
    }
    misspelt
}

/// The tape of a trail's first anchor leads from nowhere, and is not used.
fn begin_without_a_tape(
    survey: &Survey,
    trails: &[Walked<'_>],
    misspelt: &HashSet<Name>,
    faults: &mut Faults,
) {
    for trail in trails {
        let Some(tape) = trail.first_tape() else { continue };
        if misspelt.contains(&trail.name) {
            continue;
        }
        let name = survey.text(trail.name);
        faults
            .warn(Code::FirstTape, survey.anchor_place(trail.first.row, "tape_m"))
            .found(format!("{} to the first anchor of trail {name}", metres(tape)))
            .expected("no tape: the first anchor is the release")
            .hint("it is not used; a row for the release missing above, or a misspelt trail?");
    }
}

/// Anchors of one trail with near-twins among its anchors or the controls.
fn anchor_twins(survey: &Survey, trails: &[Walked<'_>], faults: &mut Faults) {
    let has_twin = |row: &&AnchorRow| survey.twins.has(row.anchor);
    if !survey.anchors.iter().any(|row| has_twin(&row)) {
        return;
    }
    let begins = trails.iter().filter(|trail| trail.first_tape().is_some());
    let begins: HashSet<usize> = begins.map(|trail| trail.first.row).collect();
    let named = Named::of(survey);
    let (mut met, mut told) = (Met::default(), HashSet::new());
    for (at, row) in survey.anchors.iter().enumerate().filter(|(_, row)| has_twin(row)) {
        let ordinary = |other| named.is_ordinary(row, other);
        let twin = met.meet(&survey.twins, (row.trail, row.anchor), at, ordinary);
        let first = twin.map(|(_, first)| &survey.anchors[first]);
        let control = if twin.is_none() { named.control_like(row) } else { None };
        if (twin.is_none() && control.is_none()) || !told.insert((row.trail, row.anchor)) {
            continue;
        }
        if let Some(first) = first {
            anchor_twin(survey, row, first, begins.contains(&first.row), faults);
        } else if let Some((name, first)) = control {
            let place = survey.control_place(survey.controls[first].row, "control");
            let one = (row.anchor, survey.anchor_place(row.row, "anchor"));
            tell(survey, Severity::Warning, one, &(name, place), faults)
                .hint("if the control is meant, its position is not used here");
        }
    }
}

/// What the anchors of each trail and the controls are named.
struct Named<'a> {
    survey: &'a Survey,
    numbering: Numbering<Name>,
    controls: HashSet<Name>,
    met: Met<()>,
}

impl<'a> Named<'a> {
    fn of(survey: &'a Survey) -> Self {
        let mut met: Met<()> = Met::default();
        for (at, row) in survey.controls.iter().enumerate() {
            met.meet(&survey.twins, ((), row.control), at, |_| false);
        }
        let numbering = Numbering::of(survey.anchors.iter().map(|row| (row.trail, row.anchor)));
        let controls = survey.controls.iter().map(|row| row.control).collect();
        Self { survey, numbering, controls, met }
    }

    /// Whether one of a trail's anchors has a name of its own, though it looks like `beside`.
    fn has_place(&self, trail: Name, name: Name, beside: Name) -> bool {
        let names = &self.survey.names;
        self.controls.contains(&name)
            || self.numbering.has_place(names, (trail, name), names.text(beside))
    }

    fn is_ordinary(&self, row: &AnchorRow, other: Name) -> bool {
        self.has_place(row.trail, row.anchor, other) && self.has_place(row.trail, other, row.anchor)
    }

    /// The control that an anchor, which is none, is a near-twin of.
    fn control_like(&self, row: &AnchorRow) -> Option<(Name, usize)> {
        if self.controls.contains(&row.anchor) {
            return None;
        }
        let ordinary = |control| self.has_place(row.trail, row.anchor, control);
        self.met.near(&self.survey.twins, ((), row.anchor), ordinary)
    }
}

/// Two anchors of a trail; `begins` where the trail begins with the first of them and a tape.
fn anchor_twin(
    survey: &Survey,
    row: &AnchorRow,
    first: &AnchorRow,
    begins: bool,
    faults: &mut Faults,
) {
    let named = |row: &AnchorRow| (row.anchor, survey.anchor_place(row.row, "anchor"));
    if begins {
        tell(survey, Severity::Error, named(first), &named(row), faults)
            .hint("the trail begins with it and a tape, which leads from nowhere");
    } else {
        tell(survey, Severity::Warning, named(row), &named(first), faults).hint(DIFFERENT);
    }
}

/// A name, and where it is written: the row, the column, and its table.
type Written = (Name, usize, &'static str, PlaceOf);
type PlaceOf = fn(&Survey, usize, &str) -> Place;
const CONTROL_PLACE: PlaceOf = Survey::control_place;
const ANIMAL_PLACE: PlaceOf = Survey::animal_place;
const TRAIL_PLACE: PlaceOf = Survey::trail_place;
const AVAILABLE_PLACE: PlaceOf = Survey::available_place;

/// Animals: those of their own table where there is one, else all that are named.
fn animals(survey: &Survey) -> Vec<Written> {
    if survey.grids.animals.is_some() {
        let rows = survey.animals.iter();
        return rows.map(|row| (row.animal, row.row, "animal", ANIMAL_PLACE)).collect();
    }
    let listed = survey.trails.iter();
    let listed = listed.filter_map(|row| Some((row.animal?, row.row, "animal", TRAIL_PLACE)));
    let offered = survey.available.iter();
    let offered = offered.filter_map(|row| Some((row.animal?, row.row, "animal", AVAILABLE_PLACE)));
    listed.chain(offered).collect()
}

/// Names of one kind with near-twins.
fn twins(survey: &Survey, written: &[Written], faults: &mut Faults) {
    if !written.iter().any(|(name, ..)| survey.twins.has(*name)) {
        return;
    }
    let numbering = Numbering::of(written.iter().map(|(name, ..)| ((), *name)));
    let place = |(name, row, column, place): &Written| (*name, place(survey, *row, column));
    let (mut met, mut told) = (Met::default(), HashSet::new());
    for (at, one) in written.iter().enumerate() {
        let ordinary = |other| numbering.is_ordinary(&survey.names, (), [one.0, other]);
        let twin = met.meet(&survey.twins, ((), one.0), at, ordinary);
        let Some((_, first)) = twin.filter(|_| told.insert(one.0)) else { continue };
        tell(survey, Severity::Warning, place(one), &place(&written[first]), faults)
            .hint(DIFFERENT);
    }
}

const DIFFERENT: &str = "they are taken as two; if one is meant, spell them alike";

/// Reports `one` name beside `other`, each with its place.
pub(super) fn tell<'f>(
    survey: &Survey,
    severity: Severity,
    one: (Name, Place),
    other: &(Name, Place),
    faults: &'f mut Faults,
) -> &'f mut Fault {
    let [name, twin] = told_apart([one.0, other.0].map(|name| survey.text(name)));
    let found = format!("{name}, and {twin} in {}", other.1.phrase());
    faults.report(Code::NearTwin, severity, one.1).found(found).expected(
        "names that differ by more than capitals, blanks, hyphens, accents or look-alike letters",
    )
}
