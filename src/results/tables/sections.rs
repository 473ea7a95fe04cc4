//! `sections.csv`: each night, from one place the animal was seen to the next.

use super::{Analysis, Cell, Emit, Table, count, metres, text};
use crate::adjustment::path::Path;
use crate::adjustment::path::sections::Section;
use crate::measures::metrics::space::distance;
use crate::survey::names::Name;

pub(super) fn table() -> Table {
    let columns = vec![
        text("trail", "the thread"),
        text("animal", "whose thread it is"),
        count("section", "its number, from 1"),
        text("from", "the anchor it starts at"),
        text("to", "the anchor it ends at"),
        count("legs", "legs that count"),
        metres("length_m", "length in space"),
        metres("net_m", "distance from start to end, in space"),
        metres("highest_m", "greatest height above ground"),
        metres("displacement_m", "distance from the release after this section"),
        text("refuge", "the refuge at its end"),
        text("returned", "yes: the refuge is one that the animal has used before"),
    ];
    Table { name: "sections", meaning: "one section of a trail, as a rule a night", columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    for path in analysis.shown_paths() {
        for section in &analysis.trails[path.trail].sections {
            let node = |point: usize| analysis.node_name(path.points[point].node);
            let refuge = refuge(analysis, path, section.end);
            let [length, highest, legs] = extent(analysis, path, section);
            let at = |point: usize| analysis.trails[path.trail].geometry.points[point];
            let between = |a: usize, b: usize| {
                let known = path.layout.has_plan() && path.whole;
                Cell::number(known.then(|| distance(at(a), at(b))))
            };
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a count")]
            let legs = legs as usize;
            emit(&[
                Cell::Text(analysis.trail_name(path.trail)),
                analysis.animal_name(path.trail),
                Cell::Count(section.number),
                Cell::Text(node(section.start)),
                Cell::Text(node(section.end)),
                Cell::Count(legs),
                Cell::Number(length),
                between(section.start, section.end),
                Cell::Number(highest),
                between(0, section.end),
                Cell::text(refuge.map(|name| analysis.survey.text(name))),
                Cell::yes(refuge.is_some_and(|name| used_before(analysis, path, section, name))),
            ]);
        }
    }
}

/// Length, greatest height and number of legs that count.
fn extent(analysis: &Analysis, path: &Path, section: &Section) -> [f64; 3] {
    let geometry = &analysis.trails[path.trail].geometry;
    let start = geometry.heights[section.start];
    section.legs(path).iter().fold([0.0, start, 0.0], |[length, highest, legs], leg| {
        let counts = f64::from(u8::from(leg.counted));
        let highest = highest.max(geometry.heights[leg.to]);
        [length + counts * geometry.length(leg), highest, legs + counts]
    })
}

fn refuge(analysis: &Analysis, path: &Path, point: usize) -> Option<Name> {
    analysis.survey.anchors[path.points[point].row].refuge
}

/// Whether this animal was at the refuge before: earlier on this trail, or on an earlier trail.
fn used_before(analysis: &Analysis, path: &Path, section: &Section, refuge: Name) -> bool {
    let animal = |trail: usize| analysis.animal_name(trail);
    let own = path.points[..section.end].iter().any(|p| at_refuge(analysis, p.row, refuge));
    let earlier = analysis.paths.iter().any(|other| {
        is_before(analysis, other, path)
            && animal(other.trail) != Cell::Blank
            && animal(other.trail) == animal(path.trail)
            && other.points.iter().any(|p| at_refuge(analysis, p.row, refuge))
    });
    own || earlier
}

/// Whether a trail is earlier than another: by date, and where a date is missing or both are of one day
/// by the order of their rows.
fn is_before(analysis: &Analysis, other: &Path, path: &Path) -> bool {
    let date = |path: &Path| analysis.survey.trails[analysis.listed(path)?].date;
    match (date(other), date(path)) {
        (Some(a), Some(b)) if a != b => a < b,
        _ => other.trail < path.trail,
    }
}

fn at_refuge(analysis: &Analysis, row: usize, refuge: Name) -> bool {
    analysis.survey.anchors[row].refuge == Some(refuge)
}
