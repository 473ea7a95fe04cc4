//! `animal_overlap.csv`: what the home areas of two animals share.

use super::{Analysis, Cell, Emit, Table, count, metres, number, text};
use crate::results::space::{MOST_ANIMALS, Overlap, overlaps};

pub(super) fn table() -> Table {
    let area = |name, meaning| number(name, "m²", 4, meaning);
    let share = |name, meaning| number(name, "1", 4, meaning);
    let columns = vec![
        text("animal", "the one"),
        text("other", "the other"),
        count("positions", "positions of the one"),
        count("other_positions", "positions of the other"),
        number("nights", "", 2, "nights of the one"),
        number("other_nights", "", 2, "nights of the other"),
        area("home_area_m2", "home area of the one, as in animal_space.csv"),
        area("other_home_area_m2", "home area of the other"),
        area("shared_m2", "area that both convex polygons share; no interval is given"),
        share("shared_share", "that as a share of the home area of the one"),
        share("other_shared_share", "that as a share of the home area of the other"),
        metres("centre_distance_m", "distance between the arithmetic means of their positions"),
        text("reason", "why there are no pairs"),
    ];
    let meaning = "two animals that both have a home area";
    Table { name: "animal_overlap", meaning, columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    match overlaps(analysis) {
        Ok(overlaps) => overlaps.iter().for_each(|overlap| row(analysis, overlap, emit)),
        Err(animals) => {
            let reason = format!(
                "{animals} animals have home areas: pairs are made of {MOST_ANIMALS} at most"
            );
            let mut cells = vec![Cell::Blank; 12];
            cells.push(Cell::Text(&reason));
            emit(&cells);
        }
    }
}

fn row(analysis: &Analysis, overlap: &Overlap<'_>, emit: &mut Emit<'_>) {
    let [one, other] = overlap.animals;
    let [share, other_share] = overlap.shares();
    emit(&[
        Cell::Text(analysis.survey.text(one.animal)),
        Cell::Text(analysis.survey.text(other.animal)),
        Cell::Count(one.extent.positions),
        Cell::Count(other.extent.positions),
        Cell::number(one.extent.nights),
        Cell::number(other.extent.nights),
        Cell::Number(overlap.areas[0]),
        Cell::Number(overlap.areas[1]),
        Cell::Number(overlap.shared),
        Cell::Number(share),
        Cell::Number(other_share),
        Cell::Number(overlap.centres),
        Cell::Blank,
    ]);
}
