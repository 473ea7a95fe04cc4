//! Rules of the trails table.

use super::names::tell;
use super::walked::Trails;
use crate::adjustment::network::{DeclinationSource, Network};
use crate::survey::Survey;
use crate::survey::fault::{Code, Faults, Place, Severity};
use crate::survey::names::{Name, nearest_name};
use crate::survey::rows::TrailRow;
use crate::survey::settings::{Declination, FILE, North};
use std::collections::HashSet;

pub(super) fn check(survey: &Survey, network: &Network, walked: &Trails<'_>, faults: &mut Faults) {
    let with_anchors: HashSet<Name> = walked.walked.iter().map(|trail| trail.name).collect();
    let mut met = HashSet::new();
    for row in &survey.trails {
        if !met.insert(row.trail) {
            named_twice(survey, row, faults);
        }
        if !with_anchors.contains(&row.trail) && !survey.anchors.is_empty() {
            has_anchors(survey, walked, row, faults);
        }
        animal_is_known(survey, row, faults);
        release_is_known(survey, row, faults);
    }
    north_is_known(survey, network, faults);
}

fn named_twice(survey: &Survey, row: &TrailRow, faults: &mut Faults) {
    faults
        .error(Code::DuplicateName, survey.trail_place(row.row, "trail"))
        .found(survey.text(row.trail))
        .expected("each trail in one row")
        .hint("a trail of several nights is one row; a new thread is a new trail");
}

/// A listed trail has anchors, be it one: a night without movement is data. Where a trail that has
/// them is a near-twin, what the row says of animal and date is lost to it.
fn has_anchors(survey: &Survey, walked: &Trails<'_>, row: &TrailRow, faults: &mut Faults) {
    if let Some(twin) = walked.twin_of(survey, row.trail) {
        let one = (row.trail, survey.trail_place(row.row, "trail"));
        let other = (twin.name, twin.place(survey));
        tell(survey, Severity::Warning, one, &other, faults)
            .hint("what this row says of animal and date holds for no trail with anchors");
        return;
    }
    faults
        .warn(Code::UnknownTrail, survey.trail_place(row.row, "trail"))
        .found(survey.text(row.trail))
        .expected("a trail of the anchors table")
        .hint("for a night without movement enter the release as the trail's only anchor");
}

/// The animal stands in the table of animals, where there is one.
fn animal_is_known(survey: &Survey, row: &TrailRow, faults: &mut Faults) {
    let Some(animal) = row.animal.filter(|_| survey.grids.animals.is_some()) else { return };
    if survey.animal_row(animal).is_none() {
        let known = survey.animals.iter().map(|row| survey.text(row.animal));
        let near = nearest_name(survey.text(animal), known);
        faults
            .error(Code::UnknownAnimal, survey.trail_place(row.row, "animal"))
            .found(survey.text(animal))
            .expected("an animal of the animals table")
            .hint(near.map_or_else(
                || "enter the animal in the animals table".to_owned(),
                |near| format!("the nearest name is {near}"),
            ));
    }
}

/// The release is a control.
fn release_is_known(survey: &Survey, row: &TrailRow, faults: &mut Faults) {
    let Some(release) = row.release else { return };
    if survey.control_row(release).is_none() {
        faults
            .error(Code::UnknownControl, survey.trail_place(row.row, "release"))
            .found(survey.text(release))
            .expected("a control of the controls table")
            .hint("leave it blank where the release has no known position");
    }
}

/// Magnetic bearings become true by place and date; where one is missing, say so once a reason.
fn north_is_known(survey: &Survey, network: &Network, faults: &mut Faults) {
    let s = &survey.settings;
    if s.north != North::Magnetic || s.declination != Declination::Model {
        if s.north == North::Grid && network.frame.is_none() {
            place_is_missing("grid bearings", faults);
        }
        return;
    }
    let by_needle = network.lines.iter().filter(|line| line.needle().is_some());
    let by_needle: HashSet<usize> = by_needle.map(|line| line.trail).collect();
    let mut blind = false;
    for (at, trail) in network.trails.iter().enumerate() {
        if trail.declination.1 != DeclinationSource::Unknown {
            continue;
        }
        let row = trail.listed.map(|listed| &survey.trails[listed]);
        match row.and_then(|row| Some((row, row.date?))) {
            Some((row, date)) if network.frame.is_some() => {
                faults
                    .error(Code::DateOutsideModel, survey.trail_place(row.row, "date"))
                    .found(date.to_string())
                    .expected("a date from 1900-01-01 to 2030-01-01, for the magnetic model")
                    .hint("a slip in the year? else state [bearings] declination in degrees");
            }
            _ => blind |= by_needle.contains(&at),
        }
    }
    if blind {
        place_is_missing("magnetic bearings", faults);
    }
}

fn place_is_missing(what: &str, faults: &mut Faults) {
    faults
        .note(Code::DeclinationUnknown, Place::file(FILE).column("bearings.declination"))
        .found(format!("{what} without a position or a date"))
        .expected("a control with latitude and longitude, and a date; or a declination in degrees")
        .hint("bearings are taken as read: shapes are right, directions are not true ones");
}
