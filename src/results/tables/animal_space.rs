//! `animal_space.csv`: the room each animal takes over all its trails.

use super::{Analysis, Cell, Column, Emit, Table, count, metres, number, text};
use crate::measures::metrics::Measured;
use crate::results::space::{AnimalSpace, Moves, mean_and_greatest, spaces};
use jiff::civil::Date;

pub(super) fn table() -> Table {
    let mut columns = vec![
        text("animal", "the animal"),
        count("trails", "its trails"),
        count("placed_trails", "of these with a plan, a north and a known place"),
        number(
            "nights",
            "",
            2,
            "nights that the placed trails cover; blank where one does not say",
        ),
        text("first_date", "the first date of a placed trail"),
        text("last_date", "the last date of a placed trail"),
        count(
            "positions",
            "anchors of the placed trails: turning points, each visit one, not fixes at regular times",
        ),
    ];
    columns.extend(with_interval(
        ["home_area_m2", "home_area_se_m2", "home_area_low95_m2", "home_area_high95_m2"],
        "m²",
        "area of the convex polygon around all positions, in plan",
    ));
    columns.extend(with_interval(
        ["home_area95_m2", "home_area95_se_m2", "home_area95_low95_m2", "home_area95_high95_m2"],
        "m²",
        "the same without the 5 % of positions farthest from their arithmetic mean; from 20 positions",
    ));
    columns.extend(with_interval(
        [
            "greatest_distance_m",
            "greatest_distance_se_m",
            "greatest_distance_low95_m",
            "greatest_distance_high95_m",
        ],
        "m",
        "greatest distance between two positions, in plan",
    ));
    columns.extend([
        text(
            "at_least",
            "yes: a placed trail was cut short or has a gap, so that these are lower bounds",
        ),
        text("space_reason", "why some of these are blank, and which trails are left out"),
    ]);
    columns.extend(moves_columns());
    Table { name: "animal_space", meaning: "one animal over all its trails", columns, rows }
}

/// A value by draws: estimate, standard error and both ends of its interval.
fn with_interval(
    [value, se, low, high]: [&'static str; 4],
    unit: &'static str,
    meaning: &'static str,
) -> [Column; 4] {
    [
        number(value, unit, 4, meaning),
        number(se, unit, 4, "its standard error by measurement; blank without draws"),
        number(low, unit, 4, "lower end of its 95 % interval by measurement"),
        number(high, unit, 4, "upper end of the same"),
    ]
}

/// Captures, what lies between them, and refuges.
fn moves_columns() -> Vec<Column> {
    vec![
        count("captures", "rows of the trails table"),
        count("dated_captures", "of these with a date"),
        text("first_capture", "the first date"),
        text("last_capture", "the last date"),
        number("capture_days", "d", 0, "days from the first capture to the last"),
        number("capture_interval_days", "d", 2, "mean days from one capture to the next"),
        text("capture_reason", "why these are blank, or what they leave out"),
        count(
            "release_pairs",
            "captures that follow each other by date, both releases placed or at one control",
        ),
        metres("release_distance_mean_m", "mean distance from a release to the next, in plan"),
        metres("release_distance_greatest_m", "greatest of the same"),
        count("return_pairs", "the same with the end of the first thread placed"),
        metres(
            "return_distance_mean_m",
            "mean distance from the end of a thread to the next release",
        ),
        metres("return_distance_greatest_m", "greatest of the same"),
        text("distance_reason", "why these are blank, or what they leave out"),
        count(
            "refuge_uses",
            "stays at a refuge with a name, a release there included, on any trail",
        ),
        count("refuges", "different refuges among them"),
        number(
            "refuge_reuse",
            "1",
            4,
            "share of the uses that are of a refuge it has used before; from two uses",
        ),
        text("refuge_reason", "why this is blank"),
    ]
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    for animal in spaces(analysis) {
        row(analysis, animal, emit);
    }
}

fn row(analysis: &Analysis, animal: &AnimalSpace, emit: &mut Emit<'_>) {
    let extent = &animal.extent;
    let [first, last] = written(extent.dates);
    let reason = [extent.reason(), animal.left_out()];
    let reason =
        reason.into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join("; ");
    let mut cells = vec![
        Cell::Text(analysis.survey.text(animal.animal)),
        Cell::Count(animal.trails),
        Cell::Count(animal.placed.len()),
        Cell::number(extent.nights),
        words(&first),
        words(&last),
        Cell::Count(extent.positions),
    ];
    for measured in [extent.area, extent.area95, extent.span] {
        cells.extend(value_and_interval(measured));
    }
    cells.extend([Cell::yes(extent.at_least), words(&reason)]);
    let captures = &animal.captures;
    let [first, last] = written(captures.dates);
    let reason = captures.reason();
    cells.extend([
        Cell::Count(captures.count),
        Cell::Count(captures.dated),
        words(&first),
        words(&last),
        Cell::number(captures.days()),
        Cell::number(captures.interval_days()),
        words(&reason),
    ]);
    cells.extend(moves(&animal.moves));
    let refuges = &animal.refuges;
    let reuse = refuges.reuse();
    let why = if refuges.uses == 0 { "no refuge with a name" } else { "one use" };
    cells.extend([
        Cell::Count(refuges.uses),
        Cell::Count(refuges.distinct),
        Cell::number(reuse),
        if reuse.is_none() { Cell::Text(why) } else { Cell::Blank },
    ]);
    emit(&cells);
}

fn moves(moves: &Moves) -> [Cell<'_>; 7] {
    let of = |distances: &[f64]| {
        let found = mean_and_greatest(distances);
        let value = |at: usize| Cell::number(found.map(|found| found[at]));
        [Cell::Count(distances.len()), value(0), value(1)]
    };
    let [pairs, mean, greatest] = of(&moves.releases);
    let [returns, mean_back, greatest_back] = of(&moves.returns);
    [pairs, mean, greatest, returns, mean_back, greatest_back, words(&moves.reason)]
}

fn value_and_interval(measured: Option<Measured>) -> [Cell<'static>; 4] {
    let end = |at: usize| measured.and_then(|measured| Some(measured.interval?[at]));
    [measured.map(|measured| measured.value), measured.and_then(|m| m.se), end(0), end(1)]
        .map(Cell::number)
}

fn written(dates: Option<[Date; 2]>) -> [String; 2] {
    dates.map_or_else(Default::default, |dates| dates.map(|date| date.to_string()))
}

/// A text, or nothing where it is blank.
fn words(text: &str) -> Cell<'_> {
    if text.is_empty() { Cell::Blank } else { Cell::Text(text) }
}
