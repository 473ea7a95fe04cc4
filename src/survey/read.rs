//! Grids of text into typed rows, table by table, collecting every fault.

use super::dictionary::{self, InputTable};
use super::grid::Grid;
use super::headings::check_headings;
use super::names::Names;
use super::nearest;
use super::reading::Reader;
use super::rows::{
    AnchorRow, AnimalRow, AvailableRow, ControlPosition, ControlRow, Ending, Fix, Gap,
    HeightMethod, Perch, ReadBearing, Readings, TieRow, TrailRow,
};
use super::settings::{FILE, Settings};
use super::spellings::{GROUPS, one_spelling};
use super::{Grids, Survey};
use crate::maths::quantity::{Bearing, Elevation, Height, Incline, Latitude, Length, Longitude};
use crate::survey::fault::{Code, Faults, Place, Severity};
use std::collections::{BTreeMap, BTreeSet};

/// Reads all tables of a survey. Rows that lack what names them are left out; everything else
/// that is wrong is reported and taken as not measured.
pub fn read_tables(settings: Settings, mut grids: Grids) -> (Survey, Faults) {
    let mut faults = Faults::default();
    map_headings(&settings, &mut grids, &mut faults);
    let mut survey = Survey { settings, ..Survey::default() };
    let names = &mut survey.names;
    let (all, words) = (&mut faults, &survey.settings.words);
    survey.anchors = rows(Some(&grids.anchors), &dictionary::ANCHORS, words, names, all, anchor);
    survey.ties = rows(grids.ties.as_ref(), &dictionary::TIES, words, names, all, tie);
    survey.controls =
        rows(grids.controls.as_ref(), &dictionary::CONTROLS, words, names, all, control);
    survey.trails = rows(grids.trails.as_ref(), &dictionary::TRAILS, words, names, all, trail);
    survey.animals = rows(grids.animals.as_ref(), &dictionary::ANIMALS, words, names, all, animal);
    survey.available =
        rows(grids.available.as_ref(), &dictionary::AVAILABLE, words, names, all, available);
    survey.grids = grids;
    one_spelling(&mut survey, &mut faults);
    known_comparison(&survey, &mut faults);
    (survey, faults)
}

/// Tells of a column that is to be compared by and stands in no table.
fn known_comparison(survey: &Survey, faults: &mut Faults) {
    let (columns, night) = (survey.factor_columns(), ["night"]);
    let known = || columns.iter().copied().chain(night);
    for (key, column) in survey.settings.compare.columns() {
        if known().any(|other| other == column) {
            continue;
        }
        let place = Place::file(FILE).column(&format!("compare.{key}"));
        let hint = nearest(column, known()).map_or_else(
            || "nothing is compared by it until then".to_owned(),
            |near| format!("did you mean {near}? nothing is compared by it until then"),
        );
        faults
            .report(Code::UnknownComparison, Severity::Warning, place)
            .found(column)
            .expected(format!("a column of animals or trails: {}", columns.join(", ")))
            .hint(hint);
    }
}

/// Gives each column that the settings map its name in the dictionary.
fn map_headings(settings: &Settings, grids: &mut Grids, faults: &mut Faults) {
    let mut used = BTreeSet::new();
    let optional = [
        &mut grids.ties,
        &mut grids.controls,
        &mut grids.trails,
        &mut grids.animals,
        &mut grids.available,
    ];
    let tables = std::iter::once(&mut grids.anchors).chain(optional.into_iter().flatten());
    for grid in tables {
        for (heading, own) in &settings.columns {
            if let Some(at) = grid.column(own) {
                grid.rename(at, heading);
                used.insert(heading);
            }
        }
    }
    if grids.incomplete {
        return; // the heading may stand where nothing could be read
    }
    for (heading, own) in settings.columns.iter().filter(|(heading, _)| !used.contains(heading)) {
        let place = Place::file(FILE).column(&format!("columns.{heading}"));
        faults
            .report(Code::UnusedColumnMap, Severity::Warning, place)
            .found(own)
            .expected(format!("a heading of some table, to be read as {heading}"))
            .hint("check the spelling of the heading in the table");
    }
}

#[expect(clippy::too_many_arguments, reason = "a table, how it is read, and what is kept of it")]
fn rows<Row>(
    grid: Option<&Grid>,
    table: &'static InputTable,
    words: &BTreeMap<String, String>,
    names: &mut Names,
    faults: &mut Faults,
    read: fn(&mut Reader<'_>) -> Option<Row>,
) -> Vec<Row> {
    let Some(grid) = grid else { return Vec::new() };
    check_headings(grid, table.columns, faults);
    let complete =
        table.columns.iter().all(|column| !column.needed || grid.column(column.heading).is_some());
    if !complete {
        return Vec::new(); // a missing column would be reported again for every row
    }
    let mut reader = Reader::new(grid, table.columns, words, names, faults);
    let mut found = Vec::with_capacity(grid.len());
    for index in 0..grid.len() {
        reader.turn_to(index);
        found.extend(read(&mut reader));
    }
    reader.tell_outer_blanks();
    found
}

/// What was measured along a leg or tie. Columns that a table lacks are never filled.
fn readings(cells: &mut Reader<'_>) -> Readings {
    let tape = one(cells, ["tape_m", "tape_ft"], [Length::from_metres, Length::from_feet]);
    let degrees = cells.number("bearing_deg").map(Bearing::from_degrees);
    let gon = cells.number("bearing_gon").map(Bearing::from_gon);
    let point = cells.point("bearing_point");
    let given = [degrees, gon, point];
    if given.iter().flatten().count() > 1 {
        cells.given_twice("bearing_deg", "one bearing: in degrees, in gon or as a point");
    }
    let bearing = degrees.or(gon).map(|value| ReadBearing { value, named_point: false });
    Readings {
        tape,
        bearing: bearing.or_else(|| point.map(|value| ReadBearing { value, named_point: true })),
        back_bearing: cells.number("back_bearing_deg").map(Bearing::from_degrees),
        turn: cells.turn("turn_deg"),
        incline: cells.number("incline_deg").and_then(Incline::from_degrees),
        rise_m: cells.number("rise_m"),
    }
}

/// A reading that may be given in one of two units.
fn one<T>(cells: &mut Reader<'_>, headings: [&str; 2], make: [fn(f64) -> T; 2]) -> Option<T> {
    let [first, second] = headings.map(|heading| cells.number(heading));
    if first.is_some() && second.is_some() {
        cells.given_twice(headings[1], "one of the two units, the other cell blank");
    }
    first.map(make[0]).or_else(|| second.map(make[1]))
}

fn fix(cells: &mut Reader<'_>) -> Option<Fix> {
    let latitude = cells.number("latitude").and_then(Latitude::from_degrees);
    let longitude = cells.number("longitude").and_then(Longitude::from_degrees);
    let accuracy = cells.number("accuracy_m").map(Length::from_metres);
    Some(Fix { latitude: latitude?, longitude: longitude?, accuracy })
}

fn anchor(cells: &mut Reader<'_>) -> Option<AnchorRow> {
    let (trail, anchor) = (cells.needed_name("trail"), cells.needed_name("anchor"));
    let height = one(cells, ["height_m", "height_ft"], [Height::from_metres, Height::from_feet]);
    let method = cells.word("height_by").and_then(|at| HeightMethod::ALL.get(at));
    let row = AnchorRow {
        row: cells.index(),
        trail: trail?,
        anchor: anchor?,
        from: cells.name("from"),
        readings: readings(cells),
        height,
        height_by: method.map(|(method, _)| *method),
        height_at_least: cells.yes("height_at_least"),
        support: cells.name("support"),
        leg_support: cells.name("leg_support"),
        plant: cells.name("plant"),
        tree: cells.name("tree"),
        diameter_cm: cells.number("diameter_cm"),
        support_incline: cells.number("support_incline_deg").and_then(Incline::from_degrees),
        seen: cells.yes("seen"),
        perch: cells.word("perch").map(|at| [Perch::Seen, Perch::Sign][at]),
        refuge: cells.name_unless_no("refuge"),
        gap: cells.word("gap").map(|at| [Gap::Lost, Gap::OutOfReach][at]),
        escape: cells.yes("escape"),
        thread: cells.number("thread_m").map(Length::from_metres),
        time: cells.moment("time"),
        fix: fix(cells),
        observer: cells.name("observer"),
    };
    Some(row)
}

fn tie(cells: &mut Reader<'_>) -> Option<TieRow> {
    let [trail, from, to] = ["trail", "from", "to"].map(|heading| cells.needed_name(heading));
    let (readings, observer) = (readings(cells), cells.name("observer"));
    let row = cells.index();
    Some(TieRow { row, trail: trail?, from: from?, to: to?, readings, observer })
}

fn control(cells: &mut Reader<'_>) -> Option<ControlRow> {
    let control = cells.needed_name("control");
    let latitude = cells.number("latitude").and_then(Latitude::from_degrees);
    let longitude = cells.number("longitude").and_then(Longitude::from_degrees);
    let (east, north) = (cells.number("east_m"), cells.number("north_m"));
    let geodetic = latitude.zip(longitude).map(|(n, e)| ControlPosition::Geodetic(n, e));
    let local = east.zip(north).map(|(east, north)| ControlPosition::Local(east, north));
    let row = ControlRow {
        row: cells.index(),
        control: control?,
        position: geodetic.or(local),
        elevation: cells.number("elevation_m").map(Elevation::from_metres),
        accuracy: cells.number("accuracy_m").map(Length::from_metres),
        elevation_accuracy: cells.number("elevation_accuracy_m").map(Length::from_metres),
    };
    if row.position.is_none() && row.elevation.is_none() {
        let expected = "latitude and longitude, or east_m and north_m, or an elevation";
        let hint = "a control without a position places nothing; remove the row, or look it up";
        cells.blank("latitude", expected, hint);
    }
    Some(row)
}

fn trail(cells: &mut Reader<'_>) -> Option<TrailRow> {
    const ENDINGS: [Ending; 5] =
        [Ending::Found, Ending::RanOut, Ending::Broke, Ending::Shed, Ending::Lost];
    let trail = cells.needed_name("trail");
    let row = TrailRow {
        row: cells.index(),
        trail: trail?,
        animal: cells.name("animal"),
        date: cells.date("date"),
        release: cells.name("release"),
        start_time: cells.moment("start_time"),
        end_time: cells.moment("end_time"),
        nights: cells.number("nights"),
        ending: cells.word("ending").map(|at| ENDINGS[at]),
        escape: cells.number("escape_m").map(Length::from_metres),
        bobbin_before_g: cells.number("bobbin_before_g"),
        bobbin_after_g: cells.number("bobbin_after_g"),
        observer: cells.name("observer"),
    };
    Some(row)
}

fn animal(cells: &mut Reader<'_>) -> Option<AnimalRow> {
    let animal = cells.needed_name("animal");
    let row = AnimalRow {
        row: cells.index(),
        animal: animal?,
        body_mass_g: cells.number("body_mass_g"),
        mass_after_g: cells.number("mass_after_g"),
        device_mass_g: cells.number("device_mass_g"),
        attached: cells.date("attached"),
        removed: cells.date("removed"),
    };
    for heading in ["body_length_mm", "handling_min"] {
        cells.number(heading);
    }
    for heading in GROUPS {
        cells.plain_text(heading);
    }
    cells.yes("recovered");
    Some(row)
}

fn available(cells: &mut Reader<'_>) -> Option<AvailableRow> {
    let amount = cells.number("amount");
    let beside = cells.name("trail").map(|trail| (trail, cells.name("anchor")));
    if amount.is_none() && beside.is_none() {
        let hint = "0 where there was none; else remove the row";
        cells.blank("amount", "how much of it was on offer", hint);
    }
    let (support, plant) = (cells.name("support"), cells.name("plant"));
    let animal = cells.name("animal");
    let points = cells.number("points");
    let amount = amount.or(beside.map(|_| 0.0))?;
    Some(AvailableRow { row: cells.index(), support, plant, amount, beside, animal, points })
}
