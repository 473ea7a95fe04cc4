//! Rules of the table of what was on offer.

use crate::survey::Survey;
use crate::survey::dictionary;
use crate::survey::fault::{Code, Faults};
use crate::survey::leg_support::is_crossing;
use crate::survey::names::Name;
use crate::survey::rows::{AnchorRow, AvailableRow};
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn check(survey: &Survey, faults: &mut Faults) {
    for row in &survey.available {
        says_of_what(survey, row, faults);
        animal_is_known(survey, row, faults);
    }
    something_is_on_offer(survey, faults);
    columns_divide_animals(survey, faults);
    same_classes(survey, ("support", |row| row.support), |row| row.support, faults);
    same_classes(survey, ("plant", |row| row.plant), |row| row.plant, faults);
}

fn says_of_what(survey: &Survey, row: &AvailableRow, faults: &mut Faults) {
    if row.support.is_none() && row.plant.is_none() {
        faults
            .error(Code::BlankCell, survey.available_place(row.row, "support"))
            .expected("a support or a plant")
            .hint("an amount of what? write the support, or the plant");
    }
}

fn animal_is_known(survey: &Survey, row: &AvailableRow, faults: &mut Faults) {
    let Some(animal) = row.animal.filter(|_| survey.grids.animals.is_some()) else { return };
    if survey.animal_row(animal).is_none() {
        faults
            .error(Code::UnknownAnimal, survey.available_place(row.row, "animal"))
            .found(survey.text(animal))
            .expected("an animal of the animals table")
            .hint("leave it blank where the row holds for all animals");
    }
}

/// A column of the user's own divides what was on offer only if animals or trails have it too.
fn columns_divide_animals(survey: &Survey, faults: &mut Faults) {
    let Some(grid) = survey.grids.available.as_ref() else { return };
    let others = [survey.grids.animals.as_ref(), survey.grids.trails.as_ref()];
    for heading in grid.headings().iter().filter(|heading| !heading.is_empty()) {
        let known = dictionary::AVAILABLE.column(heading).is_some();
        if !known && !others.iter().flatten().any(|other| other.column(heading).is_some()) {
            faults
                .note(Code::OfferUndivided, grid.whole().row(1).column(heading))
                .found(heading.as_ref())
                .expected("a column that the animals or the trails have as well")
                .hint("as it stands every row holds for all animals; is it spelt alike there?");
        }
    }
}

/// Amounts that add up to nothing offer nothing, and every share would be undefined.
fn something_is_on_offer(survey: &Survey, faults: &mut Faults) {
    let mut totals: BTreeMap<Option<Name>, (f64, usize)> = BTreeMap::new();
    for row in &survey.available {
        totals.entry(row.animal).or_insert((0.0, row.row)).0 += row.amount;
    }
    for (total, row) in totals.into_values() {
        if total <= 0.0 {
            faults
                .error(Code::NothingOnOffer, survey.available_place(row, "amount"))
                .found("amounts that add up to 0")
                .expected("some amount above 0")
                .hint("leave the rows out where nobody measured what was on offer");
        }
    }
}

/// Classes that were used and are not on offer, and the other way round. One name written in two
/// ways shows itself here.
fn same_classes(
    survey: &Survey,
    (column, offered): (&str, fn(&AvailableRow) -> Option<Name>),
    used: fn(&AnchorRow) -> Option<Name>,
    faults: &mut Faults,
) {
    let on_offer: BTreeSet<Name> = survey.available.iter().filter_map(offered).collect();
    if on_offer.is_empty() {
        return;
    }
    let mut met: BTreeMap<Name, usize> = BTreeMap::new();
    for row in &survey.anchors {
        let of_leg = row.leg_support.filter(|_| column == "support");
        let names = used(row).into_iter().chain(of_leg);
        for name in names.filter(|name| !is_crossing(survey, *name)) {
            met.entry(name).or_insert(row.row);
        }
    }
    for (name, row) in met.iter().filter(|(name, _)| !on_offer.contains(name)) {
        faults
            .warn(Code::NotOnOffer, survey.anchor_place(*row, column))
            .found(survey.text(*name))
            .expected(format!("a {column} of the table available"))
            .hint("its metres are left out of selection; is it there under another name?");
    }
    for row in &survey.available {
        let Some(name) = offered(row).filter(|name| !met.contains_key(name)) else { continue };
        faults
            .note(Code::NeverUsed, survey.available_place(row.row, column))
            .found(survey.text(name))
            .expected(format!("a {column} of the anchors table"))
            .hint("right if no animal ever used it: its selection ratio is then 0");
    }
}
