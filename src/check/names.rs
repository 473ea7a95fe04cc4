//! Names that a reader would take for one: of trails, of anchors within a trail, of animals and of
//! controls. A trail that begins with a tape, which a misspelt name brings about, is told here too.
//!
//! A name that no row of its own table has is an error elsewhere, and not compared here.

use crate::fault::{Code, Fault, Faults, Place, Severity};
use crate::quantity::metres;
use crate::survey::Survey;
use crate::survey::names::{ByName, Name};
use crate::survey::rows::AnchorRow;
use crate::survey::twins::{Folds, Met};
use std::collections::HashSet;

pub(super) fn check(survey: &Survey, faults: &mut Faults) {
    let folds = Folds::of(&survey.names);
    let trails = walked(survey);
    let misspelt = trail_twins(survey, &folds, &trails, faults);
    begin_without_a_tape(survey, &trails, &misspelt, faults);
    anchor_twins(survey, &folds, &trails, faults);
    let animals = animals(survey);
    twins(survey, &folds, &animals, faults);
    let control_rows = survey.controls.iter();
    let controls: Vec<(Name, Place)> =
        control_rows.map(|row| (row.control, survey.control_place(row.row, "control"))).collect();
    twins(survey, &folds, &controls, faults);
}

/// A trail as its rows give it.
struct Walked<'a> {
    name: Name,
    first: &'a AnchorRow,
    rows: usize,
}

impl Walked<'_> {
    /// The tape of the first row, which no anchor stands before. 0 is what many write at a release.
    fn first_tape(&self) -> Option<f64> {
        let tape = self.first.readings.tape.filter(|_| self.first.from.is_none());
        tape.map(|tape| tape.to_metres()).filter(|tape| *tape > 0.0)
    }

    /// Why the name may be no trail of its own.
    fn doubt(&self) -> Option<&'static str> {
        match (self.first_tape(), self.rows) {
            (Some(_), 1) => Some("a trail of one anchor, whose tape leads from nowhere"),
            (Some(_), _) => Some("a trail that begins with a tape, which leads from nowhere"),
            (None, 1) => Some("a trail of one anchor"),
            (None, _) => None,
        }
    }
}

/// The trails in the order of their first rows.
fn walked(survey: &Survey) -> Vec<Walked<'_>> {
    let mut place: ByName<Name, usize> = ByName::default();
    let mut trails: Vec<Walked<'_>> = Vec::new();
    for row in &survey.anchors {
        let at = *place.entry(row.trail).or_insert(trails.len());
        if at == trails.len() {
            trails.push(Walked { name: row.trail, first: row, rows: 0 });
        }
        trails[at].rows += 1;
    }
    trails
}

/// Trails with near-twins; gives those that are taken for misspelt.
fn trail_twins(
    survey: &Survey,
    folds: &Folds,
    trails: &[Walked<'_>],
    faults: &mut Faults,
) -> HashSet<Name> {
    let mut met = Met::default();
    let mut misspelt = HashSet::new();
    let place = |trail: &Walked<'_>| survey.anchor_place(trail.first.row, "trail");
    for (at, trail) in trails.iter().enumerate() {
        let Some((_, first)) = met.meet(folds, (), trail.name, at) else { continue };
        let first = &trails[first];
        let doubted = [(trail, first), (first, trail)].into_iter().find_map(|(one, other)| {
            Some((one, other, one.doubt()?)).filter(|_| !misspelt.contains(&one.name))
        });
        let (one, other, hint) = doubted.unwrap_or((trail, first, DIFFERENT));
        let severity = if doubted.is_some() { Severity::Error } else { Severity::Warning };
        if doubted.is_some() {
            misspelt.insert(one.name);
        }
        let other = (other.name, place(other));
        tell(survey, severity, (one.name, place(one)), &other, faults).hint(hint);
    }
    listed_twins(survey, folds, &met, trails, faults);
    misspelt
}

/// Trails of their own table that have no anchors, but a near-twin that has: what the row says of
/// animal and date is lost to it.
fn listed_twins(
    survey: &Survey,
    folds: &Folds,
    met: &Met<()>,
    trails: &[Walked<'_>],
    faults: &mut Faults,
) {
    let walked: HashSet<Name> = trails.iter().map(|trail| trail.name).collect();
    for row in survey.trails.iter().filter(|row| !walked.contains(&row.trail)) {
        let Some((name, first)) = met.near(folds, (), row.trail) else { continue };
        let other = (name, survey.anchor_place(trails[first].first.row, "trail"));
        let one = (row.trail, survey.trail_place(row.row, "trail"));
        tell(survey, Severity::Warning, one, &other, faults)
            .hint("what this row says of animal and date holds for no trail with anchors");
    }
}

/// The tape of a trail's first anchor leads from nowhere, and is not used.
fn begin_without_a_tape(
    survey: &Survey,
    trails: &[Walked<'_>],
    misspelt: &HashSet<Name>,
    faults: &mut Faults,
) {
    for trail in trails.iter().filter(|trail| !misspelt.contains(&trail.name)) {
        let Some(tape) = trail.first_tape() else { continue };
        let name = survey.text(trail.name);
        faults
            .warn(Code::FirstTape, survey.anchor_place(trail.first.row, "tape_m"))
            .found(format!("{} to the first anchor of trail {name}", metres(tape)))
            .expected("no tape: the first anchor is the release")
            .hint("it is not used; a row for the release missing above, or a misspelt trail?");
    }
}

/// Anchors of one trail with near-twins among its anchors or the controls.
fn anchor_twins(survey: &Survey, folds: &Folds, trails: &[Walked<'_>], faults: &mut Faults) {
    let begins = trails.iter().filter(|trail| trail.first_tape().is_some());
    let begins: HashSet<usize> = begins.map(|trail| trail.first.row).collect();
    let mut known: Met<()> = Met::default();
    for (at, row) in survey.controls.iter().enumerate() {
        known.meet(folds, (), row.control, at);
    }
    let controls: HashSet<Name> = survey.controls.iter().map(|row| row.control).collect();
    let of_control = |row: &AnchorRow| {
        let free = !controls.is_empty() && !controls.contains(&row.anchor);
        free.then(|| known.near(folds, (), row.anchor)).flatten()
    };
    let mut met = Met::default();
    let mut told = HashSet::new();
    for (at, row) in survey.anchors.iter().enumerate() {
        let twin = met.meet(folds, row.trail, row.anchor, at).map(|(_, first)| first);
        let control = if twin.is_none() { of_control(row) } else { None };
        if (twin.is_none() && control.is_none()) || !told.insert((row.trail, row.anchor)) {
            continue;
        }
        if let Some(first) = twin.map(|first| &survey.anchors[first]) {
            anchor_twin(survey, row, first, begins.contains(&first.row), faults);
        } else if let Some((name, first)) = control {
            let place = survey.control_place(survey.controls[first].row, "control");
            let one = (row.anchor, survey.anchor_place(row.row, "anchor"));
            tell(survey, Severity::Warning, one, &(name, place), faults)
                .hint("if the control is meant, its position is not used here");
        }
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

/// Animals: those of their own table where there is one, else all that are named.
fn animals(survey: &Survey) -> Vec<(Name, Place)> {
    if survey.grids.animals.is_some() {
        let rows = survey.animals.iter();
        return rows.map(|row| (row.animal, survey.animal_place(row.row, "animal"))).collect();
    }
    let listed = survey
        .trails
        .iter()
        .filter_map(|row| Some((row.animal?, survey.trail_place(row.row, "animal"))));
    let offered = survey
        .available
        .iter()
        .filter_map(|row| Some((row.animal?, survey.available_place(row.row, "animal"))));
    listed.chain(offered).collect()
}

/// Names of one kind with near-twins.
fn twins(survey: &Survey, folds: &Folds, names: &[(Name, Place)], faults: &mut Faults) {
    let mut met = Met::default();
    let mut told = HashSet::new();
    for (at, (name, place)) in names.iter().enumerate() {
        let Some((_, first)) = met.meet(folds, (), *name, at) else { continue };
        if told.insert(*name) {
            let one = (*name, place.clone());
            tell(survey, Severity::Warning, one, &names[first], faults).hint(DIFFERENT);
        }
    }
}

const DIFFERENT: &str = "they are taken as two; if one is meant, spell them alike";

/// Reports `one` name beside `other`, each with its place.
fn tell<'f>(
    survey: &Survey,
    severity: Severity,
    one: (Name, Place),
    other: &(Name, Place),
    faults: &'f mut Faults,
) -> &'f mut Fault {
    let found =
        format!("{}, and {} in {}", survey.text(one.0), survey.text(other.0), other.1.phrase());
    faults.report(Code::NearTwin, severity, one.1).found(found).expected(
        "names that differ by more than capitals, blanks, hyphens, accents or look-alike letters",
    )
}
