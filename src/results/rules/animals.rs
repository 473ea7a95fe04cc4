//! Rules of the animals table: names, load, days.

use crate::maths::quantity::percent;
use crate::survey::Survey;
use crate::survey::fault::{Code, Faults};
use crate::survey::load::{days_carried, device_share};
use crate::survey::rows::AnimalRow;
use std::collections::HashSet;

pub(super) fn check(survey: &Survey, faults: &mut Faults) {
    let mut met = HashSet::new();
    for row in &survey.animals {
        if !met.insert(row.animal) {
            named_twice(survey, row, faults);
        }
        device_within_load(survey, row, faults);
        device_within_days(survey, row, faults);
    }
}

fn named_twice(survey: &Survey, row: &AnimalRow, faults: &mut Faults) {
    faults
        .error(Code::DuplicateName, survey.animal_place(row.row, "animal"))
        .found(survey.text(row.animal))
        .expected("each animal in one row")
        .hint("an animal caught again keeps its row; its threads are rows of the trails table");
}

/// The device stays within its share of body mass. The limit is the survey's own setting.
fn device_within_load(survey: &Survey, row: &AnimalRow, faults: &mut Faults) {
    let limit = survey.settings.limit_load_percent / 100.0;
    let Some(share) = device_share(row).filter(|share| *share > limit) else { return };
    faults
        .warn(Code::DeviceOverLoad, survey.animal_place(row.row, "device_mass_g"))
        .found(format!("{} of body mass", percent(share)))
        .expected(format!("at most {} (limits.load_percent)", percent(limit)))
        .hint("a slip of the pencil? If not, the permit and the vet decide what it may carry");
}

/// The device is taken off in time. The limit is the survey's own setting.
fn device_within_days(survey: &Survey, row: &AnimalRow, faults: &mut Faults) {
    let Some(days) = days_carried(row) else { return };
    let limit = survey.settings.limit_days;
    if days < 0.0 {
        faults
            .error(Code::OutOfRange, survey.animal_place(row.row, "removed"))
            .found(row.removed.map_or(String::new(), |date| date.to_string()))
            .expected("a date not before attached")
            .hint("day and month exchanged?");
    } else if days > limit {
        faults
            .warn(Code::DeviceOverDays, survey.animal_place(row.row, "removed"))
            .found(format!("{days:.0} days"))
            .expected(format!("at most {limit} days (limits.days)"))
            .hint("a slip in a date? If not, note the reason: the permit sets the limit");
    }
}
