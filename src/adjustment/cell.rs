//! A number as it stands in its cell, and what it may have been.

use super::slip::Slip;
use crate::maths::quantity::Length;
use crate::survey::grid::Grid;

/// Slips along the scale that are tried, metres of tape or height.
const TAPE_SLIPS: [f64; 6] = [-10.0, -5.0, -1.0, 1.0, 5.0, 10.0];
/// How many rows before and after one tell how many decimals are usual.
const AROUND: usize = 5;
/// Added to the handicap of a reading with more decimals than are usual there: nobody reads one
/// length of many more finely. Common practice, no source.
const TOO_FINE: f64 = 6.0;

/// Digits that a hand makes alike. Common practice, no source.
const ALIKE: [[u8; 2]; 3] = [*b"17", *b"38", *b"56"];
/// Added to the handicap of a digit that is taken for one unlike it: there are eight of these to each
/// that is alike, and a hand or an eye seldom takes them for another. Common practice, no source.
const UNLIKE: f64 = 3.0;

/// A number as it stands in its cell.
pub(super) struct Cell {
    pub(super) value: f64,
    pub(super) decimals: usize,
    digits: String,
}

impl Cell {
    /// The cell under `heading`; its number is `value` where no text tells it.
    pub(super) fn of(grid: Option<&Grid>, row: usize, heading: &str, value: f64) -> Self {
        let text = grid.and_then(|grid| Some(grid.cell(row, grid.column(heading)?)));
        let typed = text.map(|text| text.trim().replace(',', "."));
        let typed =
            typed.filter(|text| text.parse::<f64>().is_ok_and(|v| (v - value).abs() < 1e-9));
        let digits = typed.unwrap_or_else(|| format!("{}", (value * 1e6).round() / 1e6));
        let decimals = digits.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        Self { value, decimals, digits }
    }

    /// Its number with any two neighbouring digits changed about, across the decimal mark too.
    pub(super) fn swapped(&self) -> Vec<f64> {
        let places: Vec<usize> = self
            .digits
            .char_indices()
            .filter(|(_, c)| c.is_ascii_digit())
            .map(|(at, _)| at)
            .collect();
        let mut found: Vec<f64> = Vec::new();
        for pair in places.windows(2) {
            let mut bytes = self.digits.clone().into_bytes();
            bytes.swap(pair[0], pair[1]);
            let value = String::from_utf8(bytes).ok().and_then(|text| text.parse().ok());
            if let Some(value) = value.filter(|v: &f64| (v - self.value).abs() > 1e-9)
                && !found.contains(&value)
            {
                found.push(value);
            }
        }
        found
    }

    /// Its number with any one digit another, or read off the scale by one of `steps`, each once and
    /// none that two swapped digits make; with its handicap.
    pub(super) fn one_digit_wrong(&self, steps: &[f64]) -> Vec<(f64, f64)> {
        let told = |found: &[(f64, f64)], value: f64| {
            found.iter().any(|(known, _)| (known - value).abs() < 1e-9)
        };
        let swapped = self.swapped();
        let usual = Slip::DigitSlipTens.handicap();
        let mut found: Vec<(f64, f64)> = steps.iter().map(|by| (self.value + by, usual)).collect();
        for (at, was) in self.digits.bytes().enumerate().filter(|(_, b)| b.is_ascii_digit()) {
            for digit in (b'0'..=b'9').filter(|digit| *digit != was) {
                let mut bytes = self.digits.clone().into_bytes();
                bytes[at] = digit;
                let value = String::from_utf8(bytes).ok().and_then(|text| text.parse().ok());
                let alike = ALIKE.iter().any(|pair| pair.contains(&was) && pair.contains(&digit));
                if let Some(value) = value.filter(|value| !told(&found, *value)) {
                    found.push((value, if alike { usual } else { usual + UNLIKE }));
                }
            }
        }
        found.retain(|(value, _)| !swapped.iter().any(|other| (other - value).abs() < 1e-9));
        found
    }

    /// What a length may have been: the slip, the number, its decimals and its handicap.
    /// `usual` is how many decimals readings have there.
    pub(super) fn lengths(&self, feet: bool, usual: usize) -> Vec<(Slip, f64, usize, f64)> {
        let mut found = Vec::new();
        let mut trial = |slip: Slip, value: f64, decimals: usize, handicap: f64| {
            if self.value > 0.0 && value > 0.0 {
                let too_fine = if decimals > usual { TOO_FINE } else { 0.0 };
                found.push((slip, value, decimals, handicap + too_fine));
            }
        };
        let own = Slip::handicap;
        let mark = Slip::DecimalSlip;
        trial(mark, self.value / 10.0, self.decimals + 1, own(mark));
        trial(mark, self.value * 10.0, self.decimals.saturating_sub(1), own(mark));
        if !feet {
            let metres = Length::from_feet(self.value).to_metres();
            trial(Slip::FeetForMetres, metres, usual.min(2), own(Slip::FeetForMetres));
            // whole centimetres are as fine as a tape is read
            let hundredth = if self.decimals == 0 { usual.min(2) } else { self.decimals + 2 };
            let centimetres = Slip::CentimetresForMetres;
            trial(centimetres, self.value / 100.0, hundredth, own(centimetres));
            let hundredfold = self.decimals.saturating_sub(2);
            trial(centimetres, self.value * 100.0, hundredfold, own(centimetres));
        }
        for value in self.swapped() {
            trial(Slip::SwappedDigits, value, self.decimals, own(Slip::SwappedDigits));
        }
        for (value, handicap) in self.one_digit_wrong(&TAPE_SLIPS) {
            trial(Slip::DigitSlipTens, value, self.decimals, handicap);
        }
        found
    }
}

/// How many decimals the readings around a row have under `heading`: all but one of them have no
/// more. Any number where there are none.
pub(super) fn usual_decimals(grid: Option<&Grid>, row: usize, heading: &str) -> usize {
    let Some((grid, column)) = grid.and_then(|grid| Some((grid, grid.column(heading)?))) else {
        return usize::MAX;
    };
    let around =
        (row.saturating_sub(AROUND)..grid.len().min(row + AROUND + 1)).filter(|&r| r != row);
    let cells = around.map(|r| grid.cell(r, column).trim()).filter(|cell| !cell.is_empty());
    let decimals = |cell: &str| cell.split_once(['.', ',']).map_or(0, |(_, after)| after.len());
    let mut all: Vec<usize> = cells.map(decimals).collect();
    all.sort_unstable();
    all.iter().rev().nth(1).copied().unwrap_or(usize::MAX)
}

#[cfg(test)]
mod tests {
    use super::super::written::grid;
    use super::*;

    fn rounded(found: Vec<(Slip, f64, usize, f64)>) -> Vec<(Slip, f64, usize, f64)> {
        let round = |(slip, value, decimals, handicap)| {
            (slip, f64::round(value * 1e5) / 1e5, decimals, f64::round(handicap * 10.0) / 10.0)
        };
        found.into_iter().map(round).collect()
    }

    /// 3.05 m where two decimals are usual: 0.305 is too fine by one; 3.05 feet are 0.92964 m; of the
    /// digits off by 10, 5 and 1 only those count that leave a length. A 5 is likelier a 6 than a 4.
    #[test]
    fn what_a_length_may_have_been() {
        let table = grid("anchors.csv", "anchor,tape_m\n0,\n1, 3.05 ");
        let cell = Cell::of(Some(&table), 1, "tape_m", 3.05);
        assert_eq!((cell.value, cell.decimals), (3.05, 2));
        let tens = |value, handicap| (Slip::DigitSlipTens, value, 2, handicap);
        let unlike = |value| tens(value, 8.3);
        let mut all = vec![
            (Slip::DecimalSlip, 0.305, 3, 6.0),
            (Slip::DecimalSlip, 30.5, 1, 0.0),
            (Slip::FeetForMetres, 0.929_64, 2, 2.8),
            (Slip::CentimetresForMetres, 0.0305, 4, 8.8),
            (Slip::CentimetresForMetres, 305.0, 0, 2.8),
            (Slip::SwappedDigits, 0.35, 2, 2.0),
            (Slip::SwappedDigits, 3.5, 2, 2.0),
            tens(2.05, 5.3),
            tens(4.05, 5.3),
            tens(8.05, 5.3),
            tens(13.05, 5.3),
        ];
        all.extend([0.05, 1.05, 5.05, 6.05, 7.05, 9.05].map(unlike));
        all.extend([3.15, 3.25, 3.35, 3.45, 3.55, 3.65, 3.75, 3.85, 3.95].map(unlike));
        all.extend([3.0, 3.01, 3.02, 3.03, 3.04].map(unlike));
        all.push(tens(3.06, 5.3));
        all.extend([3.07, 3.08, 3.09].map(unlike));
        assert_eq!(rounded(cell.lengths(false, 2)), all);
        all.drain(2..5);
        assert_eq!(rounded(cell.lengths(true, 2)), all, "feet are not feet for metres again");
        // Where whole metres are read all but 30.5 with one decimal is as fine as what stands there.
        let coarse = cell.lengths(false, 1);
        assert_eq!(
            rounded(coarse)[1..6],
            [
                (Slip::DecimalSlip, 30.5, 1, 0.0),
                (Slip::FeetForMetres, 0.929_64, 1, 2.8),
                (Slip::CentimetresForMetres, 0.0305, 4, 8.8),
                (Slip::CentimetresForMetres, 305.0, 0, 2.8),
                (Slip::SwappedDigits, 0.35, 2, 8.0),
            ]
        );
        // 305 cm among tapes to a decimetre or a centimetre: as fine as those.
        let whole = Cell::of(None, 0, "tape_m", 305.0);
        for (usual, handicap) in [(2, 2.8), (1, 2.8), (0, 2.8)] {
            let found = whole.lengths(false, usual);
            assert!(
                found.contains(&(Slip::CentimetresForMetres, 3.05, usual, handicap)),
                "{usual}"
            );
        }
        assert_eq!(Cell::of(None, 0, "tape_m", 0.0).lengths(false, 2), []);
    }

    /// The text of the cell counts only where it is the number, with either decimal mark.
    #[test]
    fn digits_are_those_that_were_written() {
        let table = grid("anchors.csv", "tape_m\n4.50\n6.20");
        let decimals = |row, value| Cell::of(Some(&table), row, "tape_m", value).decimals;
        assert_eq!((decimals(0, 4.5), decimals(1, 6.2)), (2, 2));
        assert_eq!(decimals(0, 1.372), 3, "another number stands there");
        let mut comma = grid("anchors.csv", "tape_m");
        comma.push(2, ["4,50"].into_iter());
        let cell = Cell::of(Some(&comma), 0, "tape_m", 4.5);
        assert_eq!((cell.decimals, cell.swapped()), (2, vec![5.4, 4.05]));
        let bare = Cell::of(None, 0, "tape_m", 12.340_000_04);
        assert_eq!((bare.decimals, bare.swapped()), (2, vec![21.34, 13.24, 12.43]));
        assert_eq!(Cell::of(None, 0, "turn_deg", -70.0).swapped(), [-7.0]);
        assert_eq!(Cell::of(None, 0, "turn_deg", 110.0).swapped(), [101.0], "twice 1 is no slip");
        assert_eq!(Cell::of(None, 0, "tape_m", 101.0).swapped(), [11.0, 110.0]);
    }

    /// Of the five rows on either side, blank ones and the row itself left out, the second finest
    /// tells.
    #[test]
    fn decimals_that_are_usual() {
        let tapes =
            ["9.1234", "1.25", "2", "", "3.5", "1.125", "4", "5.1", "6", "7.25", "8", "9.123"];
        let table = grid("anchors.csv", &format!("tape_m\n{}", tapes.join("\n")));
        let usual = |row| usual_decimals(Some(&table), row, "tape_m");
        // Around the sixth: 4, 2, 0, 1 before, and 0, 1, 0, 2, 0 behind.
        assert_eq!(usual(5), 2);
        // The twelfth lies six rows on; around the seventh: 2, 0, 1, 3 and 1, 0, 2, 0, 3.
        assert_eq!(usual(6), 3);
        // Around the last: 0, 1, 0, 2, 0.
        assert_eq!(usual(11), 1);
        // Around the first: 2, 0, 1, 3.
        assert_eq!(usual(0), 2);
        assert_eq!(usual_decimals(Some(&table), 5, "tape_ft"), usize::MAX);
        let two = grid("anchors.csv", "tape_m\n1.5\n2.5");
        assert_eq!(usual_decimals(Some(&two), 0, "tape_m"), usize::MAX, "one tells nothing");
    }
}
