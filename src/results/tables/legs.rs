//! `legs.csv`: each leg, with the factors that a mixed model elsewhere needs.

use super::{
    Analysis, Cell, Column, Emit, Table, count, factors, metres, number, part_name, passed_on, text,
};
use crate::adjustment::path::{Geometry, Leg, LegClass, Path};
use crate::maths::quantity::{Bearing, Incline, Turn, norm};
use crate::maths::statistics::describe::mean;
use crate::measures::support::classes::{Class, Division, carriers, of_leg};
use crate::survey::Survey;
use crate::survey::dictionary;
use crate::survey::grid::Grid;
use crate::survey::leg_support::CROSSING;
use crate::survey::names::Name;
use nalgebra::{Matrix3, Vector3};
use std::borrow::Cow;

const COLUMNS: usize = 24;

pub(super) fn table(analysis: &Analysis) -> Table {
    let mut columns = measured();
    columns.extend(lies_on());
    let grids = &analysis.survey.grids;
    for (grid, known) in [
        (grids.animals.as_ref(), &dictionary::ANIMALS),
        (grids.trails.as_ref(), &dictionary::TRAILS),
    ] {
        let own = factors(grid, known);
        let heading = |at: usize| grid.map_or("", |grid| &grid.headings()[at]);
        columns.extend(own.into_iter().map(|at| passed_on(heading(at))));
    }
    Table { name: "legs", meaning: "one leg of a trail", columns, rows }
}

/// Where a leg lies, and how well that is known.
fn measured() -> Vec<Column> {
    vec![
        text("trail", "the thread"),
        text("animal", "whose thread it is"),
        count("section", "from one place the animal was seen to the next, from 1"),
        text("part", "escape, or after_escape"),
        text("from", "the anchor it starts at"),
        text("to", "the anchor it ends at"),
        metres("length_m", "length in space"),
        metres("horizontal_m", "length in plan"),
        metres("vertical_m", "rise, up positive"),
        number(
            "azimuth_deg",
            "degree",
            2,
            "true bearing; blank on a plumb leg, or without a north",
        ),
        number("inclination_deg", "degree", 2, "steepness, up positive"),
        number(
            "turn_deg",
            "degree",
            2,
            "turn from the leg before, right positive; blank if carried on",
        ),
        metres("sd_length_m", "standard deviation of length_m"),
        metres("sd_horizontal_m", "standard deviation of horizontal_m"),
        metres("sd_vertical_m", "standard deviation of vertical_m"),
        metres("height_m", "height above ground halfway"),
    ]
}

/// What it lies on, and whether it counts.
fn lies_on() -> Vec<Column> {
    vec![
        text(
            "support",
            "what it lies on; first half/second half where these differ, a half that nobody noted \
             blank; crossing: from one tree or plant straight to another, above ground",
        ),
        text("plant", "plant species, in halves like the support; blank for a crossing"),
        text("tree", "number or name of the tree, in halves like the support"),
        number(
            "diameter_cm",
            "cm",
            2,
            "diameter of the support, the mean of the halves that have one",
        ),
        text("counted", "whether its length and climb count: yes, or no across a gap"),
        text("known_by", "measured, plumb, steep or unmeasured"),
        text("support_first_half", "what the half next to its start lies on, or crossing"),
        text("support_second_half", "what the half next to its end lies on, or crossing"),
    ]
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    let grids = &analysis.survey.grids;
    let of_animal = factors(grids.animals.as_ref(), &dictionary::ANIMALS);
    let of_trail = factors(grids.trails.as_ref(), &dictionary::TRAILS);
    let mut row = vec![Cell::Blank; COLUMNS + of_animal.len() + of_trail.len()];
    for path in analysis.shown_paths() {
        let listed = analysis.network.trails[path.trail].listed;
        let listed = listed.map(|at| &analysis.survey.trails[at]);
        let animal = listed.and_then(|row| analysis.survey.animal_row(row.animal?));
        let mut own =
            own(&analysis.survey, grids.animals.as_ref(), animal.map(|row| row.row), &of_animal);
        own.extend(self::own(
            &analysis.survey,
            grids.trails.as_ref(),
            listed.map(|row| row.row),
            &of_trail,
        ));
        for (cell, text) in row[COLUMNS..].iter_mut().zip(own) {
            *cell = if text.is_empty() { Cell::Blank } else { Cell::Text(text) };
        }
        for (at, leg) in path.legs.iter().enumerate() {
            let lies = Lies::of(analysis, path, leg);
            let mut row = row.clone();
            names(analysis, path, leg, &mut row);
            lies.cells(&mut row);
            geometry(analysis, path, at, &mut row);
            emit(&row);
        }
    }
}

/// The user's own cells of one row; sex and age in their one spelling.
fn own<'a>(
    survey: &'a Survey,
    grid: Option<&'a Grid>,
    row: Option<usize>,
    columns: &[usize],
) -> Vec<&'a str> {
    let text = |&at: &usize| {
        let spelled = |(grid, row): (&'a Grid, _)| {
            survey.spellings.of(&grid.headings()[at], grid.cell(row, at))
        };
        grid.zip(row).map_or("", spelled)
    };
    columns.iter().map(text).collect()
}

fn names<'a>(analysis: &'a Analysis, path: &Path, leg: &Leg, row: &mut [Cell<'a>]) {
    let node = |point: usize| analysis.node_name(path.points[point].node);
    row[0] = Cell::Text(analysis.trail_name(path.trail));
    row[1] = analysis.animal_name(path.trail);
    row[2] = Cell::Count(leg.section);
    row[3] = Cell::Text(part_name(leg.escape));
    row[4] = Cell::Text(node(leg.from));
    row[5] = Cell::Text(node(leg.to));
    row[20] = Cell::Text(if leg.counted { "yes" } else { "no" });
    row[21] = Cell::Text(match leg.class {
        LegClass::Measured => "measured",
        LegClass::Plumb => "plumb",
        LegClass::Steep => "steep",
        LegClass::Unmeasured => "unmeasured",
    });
}

/// What the two halves of a leg lie on.
struct Lies<'a> {
    halves: [Option<&'a str>; 2],
    /// Support, plant and tree, as [`in_halves`] says them.
    words: [Cow<'a, str>; 3],
    diameter_cm: Option<f64>,
}

impl<'a> Lies<'a> {
    fn of(analysis: &'a Analysis, path: &Path, leg: &Leg) -> Self {
        let survey = &analysis.survey;
        let carriers = carriers(survey, path, leg);
        let text = |name: Name| survey.text(name);
        let halves = of_leg(Division::Support, survey, path, leg).map(|class| match class {
            Class::Named(name) => Some(text(name)),
            Class::Crossing => Some(CROSSING),
            Class::Band(_) | Class::NotRecorded => None,
        });
        let plants = carriers.map(|row| row?.plant.map(text));
        let trees = carriers.map(|row| row?.tree.map(text));
        let diameters: Vec<f64> = carriers.iter().filter_map(|row| (*row)?.diameter_cm).collect();
        Self {
            halves,
            words: [halves, plants, trees].map(in_halves),
            diameter_cm: mean(&diameters),
        }
    }

    fn cells<'b>(&'b self, row: &mut [Cell<'b>]) {
        for (cell, words) in row[16..19].iter_mut().zip(&self.words) {
            *cell = if words.is_empty() { Cell::Blank } else { Cell::Text(words) };
        }
        row[19] = Cell::number(self.diameter_cm);
        [row[22], row[23]] = self.halves.map(Cell::text);
    }
}

/// One word where the halves agree, else both: `litter/trunk`, `/T4` where the first is not noted.
fn in_halves([first, second]: [Option<&str>; 2]) -> Cow<'_, str> {
    if first == second {
        return Cow::Borrowed(first.unwrap_or_default());
    }
    Cow::Owned([first, second].map(Option::unwrap_or_default).join("/"))
}

/// Lengths, directions and their standard deviations.
fn geometry(analysis: &Analysis, path: &Path, at: usize, row: &mut [Cell<'_>]) {
    let leg = &path.legs[at];
    let geometry = &analysis.trails[path.trail].geometry;
    let v = geometry.along(leg);
    let (length, run) = (norm(v), norm([v[0], v[1]]));
    row[6] = Cell::Number(length);
    row[7] = Cell::Number(run);
    row[8] = Cell::Number(v[2]);
    let azimuth = azimuth(path, geometry, leg).filter(|_| path.layout.is_oriented());
    row[9] = Cell::number(azimuth.map(Bearing::to_degrees));
    row[10] = Cell::number((length > 0.0).then(|| Incline::of_rise(v[2], run).to_degrees()));
    row[11] = Cell::number(turn(path, geometry, at).map(Turn::to_degrees));
    let covariance = leg.line.and_then(|line| analysis.adjusted.line_covariances.get(line));
    let deviations = covariance.map_or([Cell::Blank; 3], |c| deviations(v, c));
    [row[12], row[13], row[14]] = deviations;
    row[15] = Cell::Number(0.5 * (geometry.heights[leg.from] + geometry.heights[leg.to]));
}

/// Direction of a leg in plan, where it has one; from true north where the path has a north.
fn azimuth(path: &Path, geometry: &Geometry, leg: &Leg) -> Option<Bearing> {
    let [e, n, _] = geometry.along(leg);
    let directed = path.layout.has_plan() && leg.class != LegClass::Plumb;
    Bearing::of_vector(e, n).filter(|_| directed && norm([e, n]) > 1e-6)
}

/// Turn into leg `at` from the leg that arrives where it starts, if both have a direction, or it was
/// read from that leg; one that was carried on is no turn.
pub fn turn(path: &Path, geometry: &Geometry, at: usize) -> Option<Turn> {
    let leg = &path.legs[at];
    let before = path.legs.get(at.checked_sub(1)?)?;
    let follows = path.points[before.to].node == path.points[leg.from].node;
    let known = !leg.assumed && (!before.assumed || leg.turned);
    let whole = follows && known && before.counted && leg.counted;
    let [before, after] = [before, leg].map(|leg| azimuth(path, geometry, leg));
    Some(after?.turn_from(before.filter(|_| whole)?))
}

/// Standard deviations of length, run and rise by the covariance of the vector along the leg.
fn deviations(v: [f64; 3], covariance: &Matrix3<f64>) -> [Cell<'static>; 3] {
    let v = Vector3::from(v);
    let sd = |direction: Vector3<f64>| {
        let unit = direction.try_normalize(1e-9);
        unit.map_or(Cell::Blank, |unit| super::sd(unit.dot(&(covariance * unit))))
    };
    [sd(v), sd(Vector3::new(v.x, v.y, 0.0)), sd(Vector3::z())]
}
