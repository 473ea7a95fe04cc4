//! How a reading may have come to be written wrongly: the trial readings of one line.
//!
//! Digits are taken from the cell as it was written; where there is none, from the shortest form of
//! the number.

use super::cell::{Cell, usual_decimals};
use super::observation::Kind;
use super::slip::{Slip, WouldRead};
use crate::network::{HeightReading, Line, Network, Written};
use crate::quantity::{Bearing, Length, Turn, wrap_half_turn};
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

/// Digit slips that are tried, degrees of needle and of other angles.
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

struct Trials<'a> {
    line: &'a Line,
    found: Vec<Misreading>,
}

impl Trials<'_> {
    fn add(&mut self, slip: Slip, kind: Kind, would_read: WouldRead, line: Line) {
        self.found.push(Misreading { slip, kind, would_read, line, handicap: slip.handicap() });
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
        trial(Slip::ReversedNeedle, cell.value + circle / 2.0);
        let swapped = cell.swapped();
        for value in swapped.iter().copied().filter(|v| (0.0..circle).contains(v)) {
            trial(Slip::SwappedDigits, value);
        }
        // A sum past north is the same reading as one that is told already.
        let told = |value: f64| swapped.iter().any(|s| (s - value.rem_euclid(circle)).abs() < 1e-9);
        for off in BEARING_SLIPS.into_iter().filter(|off| !told(cell.value + off)) {
            trial(Slip::DigitSlipTens, cell.value + off);
        }
    }

    fn point(&mut self, read: Bearing) {
        let turned = self.line.bearing.map(|b| b + std::f64::consts::PI);
        let line = Line { bearing: turned, ..*self.line };
        self.add(Slip::ReversedNeedle, Kind::Bearing, WouldRead::Point(read.reversed()), line);
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
            trial(Slip::WrongSign, -cell.value);
        }
        cell.swapped().into_iter().for_each(|value| trial(Slip::SwappedDigits, value));
        for off in ANGLE_SLIPS {
            trial(Slip::DigitSlipTens, cell.value + off);
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
            trial(Slip::WrongSign, -cell.value);
        }
        for value in cell.swapped().into_iter().filter(|v| v.abs() <= 180.0) {
            trial(Slip::SwappedDigits, value);
        }
        for off in BEARING_SLIPS.into_iter().filter(|off| (cell.value + off).abs() <= 180.0) {
            trial(Slip::DigitSlipTens, cell.value + off);
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

#[cfg(test)]
mod tests {
    use super::super::written::survey;
    use super::*;

    const HEADINGS: &str = "trail,anchor,from,tape_m,tape_ft,bearing_deg,bearing_gon,bearing_point,\
                            back_bearing_deg,turn_deg,incline_deg,height_m,height_ft";

    /// The slips that are tried on readings of `kind` of the leg in `row`, with what would stand
    /// there, and by how many degrees, or to which length, its line would change.
    fn tried(rows: &str, row: usize, kind: Kind) -> Vec<(Slip, f64, usize, f64)> {
        let (survey, network) = survey(&format!("{HEADINGS}\n{rows}"), "");
        let at = network.lines.iter().position(|l| l.written == Written::Anchor(row)).unwrap();
        let was = &network.lines[at];
        let all = misreadings(&survey, &network, at).into_iter().filter(|t| t.kind == kind);
        let told = all.map(|trial| {
            let (value, decimals) = match trial.would_read {
                WouldRead::Number(value, decimals) => (value, decimals),
                WouldRead::Point(point) => (point.to_degrees(), 0),
                WouldRead::Node(_) => panic!("no reading"),
            };
            let angles = |l: &Line| match kind {
                Kind::Bearing => l.bearing,
                Kind::BackBearing => l.back_bearing,
                Kind::Incline => l.incline,
                _ => l.turn,
            };
            let change = match kind {
                Kind::Tape => trial.line.tape.unwrap(),
                _ => {
                    wrap_half_turn(angles(&trial.line).unwrap() - angles(was).unwrap()).to_degrees()
                }
            };
            // All else of the line stays as it was read.
            let same = Line { tape: was.tape, bearing: was.bearing, ..trial.line };
            let same = Line { back_bearing: was.back_bearing, incline: was.incline, ..same };
            assert_eq!(Line { turn: was.turn, ..same }, *was);
            let round = |x: f64| (x * 1e6).round() / 1e6;
            (trial.slip, round(value), decimals, round(change))
        });
        told.collect()
    }

    const SEVERAL: &str = "Bor,0,,,,,,,,,,0,
Bor,1,,3.1,,120,,,300,,-75,,
Bor,2,,,10,,50,,,,9,,
Bor,3,,2.5,,,,ENE,,,0,,
Bor,4,,2.5,,,,,,130,,,
Bor,5,,2.5,,,,,,-70,,,";

    /// 120: the wrong end 300; digits 210 and 102; the others off by 10, 20, 90 and 100, of which
    /// 210 is told already.
    #[test]
    fn a_needle_may_be_read_at_the_wrong_end_or_by_wrong_digits() {
        use Slip::{DigitSlipTens, ReversedNeedle, SwappedDigits};
        let tens = |value: f64| (DigitSlipTens, value, 0, value - 120.0);
        let mut expected = vec![
            (ReversedNeedle, 300.0, 0, 180.0),
            (SwappedDigits, 210.0, 0, 90.0),
            (SwappedDigits, 102.0, 0, -18.0),
        ];
        expected.extend([20.0, 30.0, 100.0, 110.0, 130.0, 140.0, 220.0].map(tens));
        let mut found = tried(SEVERAL, 1, Kind::Bearing);
        found[0].3 = found[0].3.abs(); // half a turn either way
        assert_eq!(found, expected);
        // 300 read back: 390 is 30, which is told already.
        let back = tried(SEVERAL, 1, Kind::BackBearing);
        let back: Vec<f64> = back.into_iter().map(|(_, value, ..)| value).collect();
        assert_eq!(back, [120.0, 30.0, 200.0, 210.0, 280.0, 290.0, 310.0, 320.0, 40.0]);
        // 50 gon are 45°: the circle has 400, and ten of them are 9°.
        let gon = tried(SEVERAL, 2, Kind::Bearing);
        assert_eq!(gon[0].1, 250.0);
        assert_eq!(gon[1], (SwappedDigits, 5.0, 0, -40.5));
        assert_eq!(gon[2], (DigitSlipTens, 350.0, 0, -90.0));
        assert_eq!(gon.len(), 10);
        // A point of the compass may only be read at the wrong end: ENE is 67.5°, WSW 247.5°.
        let [(slip, value, _, change)] = tried(SEVERAL, 3, Kind::Bearing).try_into().unwrap();
        assert_eq!((slip, value, change.abs()), (ReversedNeedle, 247.5, 180.0));
    }

    /// −75: the sign, 57 for 75, and tens that stay within the vertical. 0 has no sign to lose.
    #[test]
    fn inclines_and_turns_may_lose_their_sign() {
        use Slip::{DigitSlipTens, SwappedDigits, WrongSign};
        let tens = |was: f64| move |value: f64| (DigitSlipTens, value, 0, value - was);
        let mut steep = vec![(WrongSign, 75.0, 0, 150.0), (SwappedDigits, -57.0, 0, 18.0)];
        steep.extend([-85.0, -65.0, -55.0].map(tens(-75.0)));
        assert_eq!(tried(SEVERAL, 1, Kind::Incline), steep);
        let level: Vec<_> = [-20.0, -10.0, 10.0, 20.0].map(tens(0.0)).into();
        assert_eq!(tried(SEVERAL, 3, Kind::Incline), level);
        // A turn of 310 there is none; −130 is 260 back, or 100 on.
        let mut right = vec![(WrongSign, -130.0, 0, 100.0), (SwappedDigits, 103.0, 0, -27.0)];
        right.extend([30.0, 40.0, 110.0, 120.0, 140.0, 150.0].map(tens(130.0)));
        assert_eq!(tried(SEVERAL, 4, Kind::Turn), right);
        let mut left = vec![(WrongSign, 70.0, 0, 140.0), (SwappedDigits, -7.0, 0, 63.0)];
        left.extend([-170.0, -160.0, -90.0, -80.0, -60.0, -50.0, 20.0, 30.0].map(tens(-70.0)));
        assert_eq!(tried(SEVERAL, 5, Kind::Turn), left);
    }

    /// 10 feet are 3.048 m; off by a mark 1 or 100 feet, whose 30.48 m a tape still has.
    #[test]
    fn tapes_in_feet_slip_in_feet() {
        let found = tried(SEVERAL, 2, Kind::Tape);
        let lengths: Vec<_> = found.iter().map(|(_, value, _, metres)| (*value, *metres)).collect();
        let feet = [1.0, 100.0, 1.0, 5.0, 9.0, 11.0, 15.0, 20.0];
        assert_eq!(lengths, feet.map(|value| (value, (value * 304_800.0_f64).round() / 1e6)));
        // 12 m off by a mark would be 120 m, and no tape is so long; 100 m there are.
        let long: Vec<f64> = ["12", "10"]
            .into_iter()
            .flat_map(|tape| {
                let rows = format!("Bor,0,,,,,,,,,,0,\nBor,1,,{tape},,120,,,,,,,");
                let marks = tried(&rows, 1, Kind::Tape);
                marks.into_iter().filter(|t| t.0 == Slip::DecimalSlip).map(|t| t.3)
            })
            .collect();
        assert_eq!(long, [1.2, 1.0, 100.0]);
    }

    /// 8 m may be 0.8 m or 80 m; 26.2 feet, 7.986 m, off by a mark 2.62 feet or 262, which is 79.858 m.
    #[test]
    fn heights_slip_in_their_own_unit() {
        let rows = "Bor,0,,,,,,,,,,0,\nBor,1,,9,,120,,,,,,8,\nBor,2,,2,,120,,,,,,,26.2";
        let (survey, network) = survey(&format!("{HEADINGS}\n{rows}"), "");
        let of = |at: usize| misread_heights(&survey, &network.heights[at]);
        let round = |x: f64| (x * 1e3).round() / 1e3;
        let metres: Vec<_> = of(1).iter().map(|t| (t.row, t.was, round(t.metres))).collect();
        let all = [0.8, 80.0, 2.438, 3.0, 7.0, 9.0, 13.0, 18.0];
        assert_eq!(metres, all.map(|metres| (1, 8.0, metres)));
        let marks: Vec<_> = of(2)
            .into_iter()
            .filter(|trial| trial.slip == Slip::DecimalSlip)
            .map(|trial| (trial.would_read, round(trial.metres), trial.handicap))
            .collect();
        let feet = |value, decimals| WouldRead::Number(value, decimals);
        assert_eq!(marks[1], (feet(262.0, 0), 79.858, 0.0));
        assert_eq!((marks[0].1, marks[0].2), (0.799, 0.0));
        assert!(of(2).iter().all(|trial| trial.slip != Slip::FeetForMetres));
    }

    /// A leg from 2 may start at those passed before it, last ones first, each once and never at its
    /// own ends.
    #[test]
    fn a_leg_may_start_at_another_anchor_that_was_passed() {
        let rows =
            "Bor,0,,,,,,,,,,0,\nBor,1,,2,,0,,,,,,,\nBor,2,,2,,0,,,,,,,\nBor,1,2,2,,180,,,,,,,
Bor,3,,2,,0,,,,,,,\nBor,4,2,2,,0,,,,,,,\nBor,5,,2,,0,,,,,,,";
        let (survey, network) = survey(&format!("{HEADINGS}\n{rows}"), "");
        let name = |node: usize| survey.text(network.nodes[node].name);
        let starts = |row: usize| -> Vec<(&str, f64)> {
            let at = network.lines.iter().position(|l| l.written == Written::Anchor(row)).unwrap();
            let all = other_starts(&survey, &network, at).into_iter();
            all.map(|trial| {
                assert_eq!(trial.would_read, WouldRead::Node(trial.line.from));
                assert_eq!(Line { from: network.lines[at].from, ..trial.line }, network.lines[at]);
                (name(trial.line.from), trial.handicap)
            })
            .collect()
        };
        assert_eq!(starts(5), [("3", 0.0), ("1", 8.0), ("0", 8.0)]);
        assert_eq!(starts(6), [("3", 9.0), ("1", 9.0), ("2", 9.0), ("0", 9.0)]);
        assert_eq!(starts(1), []);
    }
}
