//! `perches.csv`: where animals perched and hid.

use super::{Analysis, Cell, Emit, Table, count, metres, number, part_name, text};
use crate::maths::quantity::Incline;
use crate::measures::support::perches::{Period, Place, Stay};
use crate::results::usage::all_stays;
use crate::survey::rows::Perch;

pub(super) fn table() -> Table {
    let columns = vec![
        text("trail", "the thread"),
        text("animal", "whose thread it is"),
        count("section", "from one place the animal was seen to the next, from 1"),
        text("part", "escape, or after_escape"),
        text("anchor", "the anchor"),
        text("kind", "perch, or refuge"),
        text("evidence", "seen, or sign; blank at a refuge where nobody saw it"),
        text("period", "day or night, by the hours of the settings; blank without a time"),
        metres("height_m", "height above ground"),
        metres("sd_height_m", "standard deviation of the height"),
        text("height_at_least", "yes: out of reach, the height may be greater"),
        text("support", "what it sat on"),
        text("plant", "plant species"),
        text("tree", "number or name of the tree"),
        number("diameter_cm", "cm", 2, "diameter of the support"),
        number("support_incline_deg", "degree", 1, "steepness of the support"),
        text("refuge", "the refuge's name"),
        count("stay", "which of this animal's stays in this refuge, from 1"),
        count("animals", "animals that used this refuge"),
    ];
    Table { name: "perches", meaning: "one stay at a perch or refuge", columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    for stay in all_stays(analysis) {
        row(analysis, &stay, emit);
    }
}

fn row(analysis: &Analysis, stay: &Stay, emit: &mut Emit<'_>) {
    let path = &analysis.paths[stay.trail];
    let point = &path.points[stay.point];
    let anchor = &analysis.survey.anchors[point.row];
    let height = &analysis.adjusted.heights[point.node];
    let name = |name: Option<_>| Cell::text(name.map(|name| analysis.survey.text(name)));
    let counted = |count: Option<usize>| count.map_or(Cell::Blank, Cell::Count);
    emit(&[
        Cell::Text(analysis.trail_name(stay.trail)),
        analysis.animal_name(stay.trail),
        Cell::Count(point.section),
        Cell::Text(part_name(point.escape)),
        Cell::Text(analysis.node_name(point.node)),
        Cell::Text(if stay.place == Place::Refuge { "refuge" } else { "perch" }),
        Cell::text(stay.evidence.map(|e| if e == Perch::Seen { "seen" } else { "sign" })),
        Cell::text(stay.period.map(|p| if p == Period::Day { "day" } else { "night" })),
        Cell::Number(height.height),
        Cell::Number(height.sd),
        Cell::yes(anchor.height_at_least),
        name(anchor.support),
        name(anchor.plant),
        name(anchor.tree),
        Cell::number(anchor.diameter_cm),
        Cell::number(anchor.support_incline.map(Incline::to_degrees)),
        name(stay.refuge),
        counted(stay.stay),
        counted(stay.animals),
    ]);
}
