//! `animal_space_growth.csv`: how the home area of each animal grows with nights.

use super::{Analysis, Cell, Emit, Table, count, number, text};
use crate::maths::quantity::count_of;
use crate::results::space::{AnimalSpace, spaces};

pub(super) fn table() -> Table {
    let columns = vec![
        text("animal", "the animal"),
        text("date", "up to the trails of this date"),
        count("trails", "its placed trails up to then"),
        number("nights", "", 2, "nights that they cover; blank where one does not say"),
        count("positions", "their anchors"),
        number(
            "home_area_m2",
            "m²",
            4,
            "area of the convex polygon around them, in plan; from three positions",
        ),
        text("reason", "why it is blank, or what it leaves out"),
    ];
    let meaning = "the home area of one animal up to one date";
    Table { name: "animal_space_growth", meaning, columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    for animal in spaces(analysis) {
        for growth in &animal.extent.growth {
            let (date, reason) = (growth.date.to_string(), reason(animal, growth.area.is_none()));
            emit(&[
                Cell::Text(analysis.survey.text(animal.animal)),
                Cell::Text(&date),
                Cell::Count(growth.trails),
                Cell::number(growth.nights),
                Cell::Count(growth.positions),
                Cell::number(growth.area),
                if reason.is_empty() { Cell::Blank } else { Cell::Text(&reason) },
            ]);
        }
    }
}

fn reason(animal: &AnimalSpace, is_blank: bool) -> String {
    let few = is_blank.then(|| "an area needs 3 positions".to_owned());
    let undated = animal.extent.undated;
    let undated =
        (undated > 0).then(|| format!("left out: {} without a date", count_of(undated, "trail")));
    few.into_iter().chain(undated).collect::<Vec<_>>().join("; ")
}
