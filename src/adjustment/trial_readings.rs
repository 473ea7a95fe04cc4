//! How a reading may have come to be written wrongly: the trial readings of one line.
//!
//! Digits are taken from the cell as it was written; where there is none, from the shortest form of
//! the number.

use super::cell::{Cell, usual_decimals};
use super::observation::Kind;
use super::slip::{Slip, WouldRead};
use crate::adjustment::network::{HeightReading, Line, Network, Written};
use crate::maths::quantity::{Bearing, Length, Turn, wrap_half_turn};
use crate::survey::Survey;
use crate::survey::grid::Grid;

/// One trial reading of a line.
#[derive(Clone, Copy, Debug)]
pub(super) struct Misreading {
    pub(super) slip: Slip,
    /// The reading that would change.
    pub(super) kind: Kind,
    pub(super) would_read: WouldRead,
    /// The line as it would be.
    pub(super) line: Line,
    /// Added to the sum of squares that it leaves.
    pub(super) handicap: f64,
}

/// Slips along the scale that are tried, degrees of needle and of other angles.
const BEARING_SLIPS: [f64; 8] = [-100.0, -90.0, -20.0, -10.0, 10.0, 20.0, 90.0, 100.0];
const ANGLE_SLIPS: [f64; 4] = [-20.0, -10.0, 10.0, 20.0];
/// Tapes are tried up to this, metres: the longest that is carried.
const LONGEST_TAPE_M: f64 = 100.0;

/// One trial reading of a height.
#[derive(Clone, Copy, Debug)]
pub(super) struct HeightMisreading {
    pub(super) slip: Slip,
    pub(super) would_read: WouldRead,
    /// The row of the anchors.
    pub(super) row: usize,
    /// What stands there and what would, metres.
    pub(super) was: f64,
    pub(super) metres: f64,
    /// Added to the sum of squares that it leaves.
    pub(super) handicap: f64,
}

/// All trial readings of a height.
pub(super) fn misread_heights(survey: &Survey, read: &HeightReading) -> Vec<HeightMisreading> {
    let (grid, row) = (&survey.grids.anchors, survey.anchors[read.row].row);
    let feet = !filled(grid, row, "height_m") && filled(grid, row, "height_ft");
    let one = if feet { Length::from_feet(1.0).to_metres() } else { 1.0 };
    let heading = if feet { "height_ft" } else { "height_m" };
    let cell = Cell::of(Some(grid), row, heading, read.height / one);
    let trial = |(slip, value, decimals, handicap): (Slip, f64, usize, f64)| HeightMisreading {
        slip,
        would_read: WouldRead::Number(value, decimals),
        row: read.row,
        was: read.height,
        metres: value * one,
        handicap,
    };
    let usual = usual_decimals(Some(grid), row, heading);
    let all = cell.lengths(feet, usual).into_iter().map(trial);
    all.filter(|trial| trial.metres <= LONGEST_TAPE_M).collect()
}

/// All trial readings of the line at `at`, but other starts.
pub(super) fn misreadings(survey: &Survey, network: &Network, at: usize) -> Vec<Misreading> {
    let l = &network.lines[at];
    let (readings, grid, row) = match l.written {
        Written::Anchor(row) => {
            let row = &survey.anchors[row];
            (&row.readings, Some(&survey.grids.anchors), row.row)
        }
        Written::Tie(row) => {
            let row = &survey.ties[row];
            (&row.readings, survey.grids.ties.as_ref(), row.row)
        }
    };
    let has = |heading: &str| grid.is_some_and(|grid| filled(grid, row, heading));
    let mut trials = Trials { line: l, found: Vec::new() };
    if let Some(tape) = readings.tape {
        let feet = !has("tape_m") && has("tape_ft");
        let one = if feet { Length::from_feet(1.0).to_metres() } else { 1.0 };
        let heading = if feet { "tape_ft" } else { "tape_m" };
        let cell = Cell::of(grid, row, heading, tape.to_metres() / one);
        trials.tape(&cell, feet, usual_decimals(grid, row, heading));
    }
    if let Some(bearing) = readings.bearing {
        if bearing.named_point {
            trials.point(bearing.value);
        } else {
            let gon = !has("bearing_deg") && has("bearing_gon");
            let (heading, circle) =
                if gon { ("bearing_gon", 400.0) } else { ("bearing_deg", 360.0) };
            let read = bearing.value.to_degrees() * circle / 360.0;
            trials.needle(&Cell::of(grid, row, heading, read), circle, Kind::Bearing);
        }
    }
    if let Some(back) = readings.back_bearing {
        let cell = Cell::of(grid, row, "back_bearing_deg", back.to_degrees());
        trials.needle(&cell, 360.0, Kind::BackBearing);
    }
    if let Some(incline) = readings.incline {
        trials.incline(&Cell::of(grid, row, "incline_deg", incline.to_degrees()));
    }
    if let Some(turn) = readings.turn.filter(|_| l.needle().is_none()) {
        trials.turn(&Cell::of(grid, row, "turn_deg", turn.to_degrees()));
    }
    trials.found
}

fn filled(grid: &Grid, row: usize, heading: &str) -> bool {
    grid.column(heading).is_some_and(|at| !grid.cell(row, at).trim().is_empty())
}

/// A slip with the handicap of its sort.
const fn usual(slip: Slip) -> (Slip, f64) {
    (slip, slip.handicap())
}

struct Trials<'a> {
    line: &'a Line,
    found: Vec<Misreading>,
}

impl Trials<'_> {
    fn add(&mut self, slip: (Slip, f64), kind: Kind, would_read: WouldRead, line: Line) {
        let (slip, handicap) = slip;
        self.found.push(Misreading { slip, kind, would_read, line, handicap });
    }

    fn tape(&mut self, cell: &Cell, feet: bool, usual: usize) {
        let Some(tape) = self.line.tape else { return };
        let scale = tape / cell.value; // to metres, and by the observer's correction
        for (slip, value, decimals, handicap) in cell.lengths(feet, usual) {
            if value * scale <= LONGEST_TAPE_M {
                let line = Line { tape: Some(value * scale), ..*self.line };
                let would_read = WouldRead::Number(value, decimals);
                self.found.push(Misreading { slip, kind: Kind::Tape, would_read, line, handicap });
            }
        }
    }

    fn needle(&mut self, cell: &Cell, circle: f64, kind: Kind) {
        let mut trial = |slip, value: f64| {
            let value = value.rem_euclid(circle);
            let turn = Turn::from_degrees((value - cell.value) * 360.0 / circle).to_radians();
            let line = match kind {
                Kind::Bearing => {
                    Line { bearing: self.line.bearing.map(|b| b + turn), ..*self.line }
                }
                _ => Line { back_bearing: self.line.back_bearing.map(|b| b + turn), ..*self.line },
            };
            self.add(slip, kind, WouldRead::Number(value, cell.decimals), line);
        };
        trial(usual(Slip::ReversedNeedle), cell.value + circle / 2.0);
        let swapped = cell.swapped();
        for value in swapped.iter().copied().filter(|v| (0.0..circle).contains(v)) {
            trial(usual(Slip::SwappedDigits), value);
        }
        // A step past north is the same reading as one that is told already.
        let told = |value: f64| swapped.iter().any(|s| (s - value.rem_euclid(circle)).abs() < 1e-9);
        for (value, handicap) in cell.one_digit_wrong(&BEARING_SLIPS) {
            let stepped = BEARING_SLIPS.iter().any(|by| (cell.value + by - value).abs() < 1e-9);
            if (stepped && !told(value)) || (0.0..circle).contains(&value) {
                trial((Slip::DigitSlipTens, handicap), value);
            }
        }
    }

    fn point(&mut self, read: Bearing) {
        let turned = self.line.bearing.map(|b| b + std::f64::consts::PI);
        let line = Line { bearing: turned, ..*self.line };
        let slip = usual(Slip::ReversedNeedle);
        self.add(slip, Kind::Bearing, WouldRead::Point(read.reversed()), line);
    }

    fn incline(&mut self, cell: &Cell) {
        let Some(incline) = self.line.incline else { return };
        let mut trial = |slip, value: f64| {
            if value.abs() <= 90.0 {
                let turn = Turn::from_degrees(value - cell.value).to_radians();
                let line = Line { incline: Some(incline + turn), ..*self.line };
                self.add(slip, Kind::Incline, WouldRead::Number(value, cell.decimals), line);
            }
        };
        if cell.value != 0.0 {
            trial(usual(Slip::WrongSign), -cell.value);
        }
        cell.swapped().into_iter().for_each(|value| trial(usual(Slip::SwappedDigits), value));
        for (value, handicap) in cell.one_digit_wrong(&ANGLE_SLIPS) {
            trial((Slip::DigitSlipTens, handicap), value);
        }
    }

    fn turn(&mut self, cell: &Cell) {
        let Some(turn) = self.line.turn else { return };
        let mut trial = |slip, value: f64| {
            let by = Turn::from_degrees(value - cell.value).to_radians();
            let line = Line { turn: Some(wrap_half_turn(turn + by)), ..*self.line };
            self.add(slip, Kind::Turn, WouldRead::Number(value, cell.decimals), line);
        };
        if cell.value != 0.0 {
            trial(usual(Slip::WrongSign), -cell.value);
        }
        for value in cell.swapped().into_iter().filter(|v| v.abs() <= 180.0) {
            trial(usual(Slip::SwappedDigits), value);
        }
        let wrong = cell.one_digit_wrong(&BEARING_SLIPS).into_iter();
        for (value, handicap) in wrong.filter(|(value, _)| value.abs() <= 180.0) {
            trial((Slip::DigitSlipTens, handicap), value);
        }
    }
}

/// How many visits back another start is looked for.
const STARTS_BACK: usize = 25;

/// A leg whose start was left blank hardly ever starts elsewhere: somebody would have had to forget
/// it. Where one was written, most likely the row above is meant. Common practice, no source.
const BLANK_START: f64 = 9.0;

/// The other anchors of its trail from which a leg may really start: those the walk has passed.
pub(super) fn other_starts(survey: &Survey, network: &Network, at: usize) -> Vec<Misreading> {
    let l = &network.lines[at];
    let Written::Anchor(row) = l.written else { return Vec::new() };
    let visits = network.visits_of(&network.trails[l.trail]);
    let Ok(here) = visits.binary_search_by_key(&row, |visit| visit.row) else { return Vec::new() };
    let blank = survey.anchors[row].from.is_none();
    let mut met = vec![l.from, l.to];
    let mut found = Vec::new();
    for (back, visit) in visits[here.saturating_sub(STARTS_BACK)..here].iter().rev().enumerate() {
        if met.contains(&visit.node) {
            continue;
        }
        met.push(visit.node);
        let handicap = match (blank, back) {
            (true, _) => BLANK_START,
            (false, 0) => 0.0,
            (false, _) => Slip::WrongFrom.handicap(),
        };
        found.push(Misreading {
            slip: Slip::WrongFrom,
            kind: Kind::Tape, // the line as a whole; its tape stands for it
            would_read: WouldRead::Node(visit.node),
            line: Line { from: visit.node, ..*l },
            handicap,
        });
    }
    found
}
