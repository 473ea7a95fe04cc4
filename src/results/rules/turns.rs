//! Rules of turning angles: what a first leg cannot have, and sides written as letters.

use crate::adjustment::network::{Network, Trail};
use crate::maths::quantity::{Turn, count_of, degrees};
use crate::survey::Survey;
use crate::survey::fault::{Code, Faults};

pub(super) fn check(survey: &Survey, network: &Network, faults: &mut Faults) {
    sides_are_letters(survey, faults);
    for trail in &network.trails {
        first_leg_has_no_turn(survey, network, trail, faults);
    }
}

/// Turns written with L or R are read, and told once.
fn sides_are_letters(survey: &Survey, faults: &mut Faults) {
    let grid = &survey.grids.anchors;
    let Some(column) = grid.column("turn_deg") else { return };
    let with_side = |row: &usize| grid.cell(*row, column).contains(['L', 'R', 'l', 'r']);
    let rows: Vec<usize> = survey
        .anchors
        .iter()
        .filter(|anchor| anchor.readings.turn.is_some())
        .map(|anchor| anchor.row)
        .filter(with_side)
        .collect();
    let Some(&first) = rows.first() else { return };
    faults
        .note(Code::TurnBySide, survey.anchor_place(first, "turn_deg"))
        .found(format!("{} like {}", count_of(rows.len(), "cell"), grid.cell(first, column).trim()))
        .expected("degrees, right positive")
        .hint("L is read as left, which is negative, R as right");
}

/// A first leg has no leg before it: what stands there as a turn is told and not used.
fn first_leg_has_no_turn(survey: &Survey, network: &Network, trail: &Trail, faults: &mut Faults) {
    let first = network.visits_of(trail).iter().take(2).find_map(|visit| {
        let row = &survey.anchors[visit.row];
        let used = visit.line.is_some_and(|line| network.lines[line].turned_from.is_some());
        row.readings.turn.filter(|_| !used).map(|turn| (row.row, turn))
    });
    let Some((row, turn)) = first else { return };
    faults
        .note(Code::FirstTurn, survey.anchor_place(row, "turn_deg"))
        .found(degrees(Turn::to_degrees(turn)))
        .expected("a blank cell: a first leg has no leg before it")
        .hint("it is not used; if it is a bearing, put it under bearing_deg: it gives the north");
}
