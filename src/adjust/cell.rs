//! A number as it stands in its cell, and what it may have been.

use super::slip::Slip;
use crate::quantity::Length;
use crate::survey::grid::Grid;

/// Digit slips that are tried, metres of tape or height.
const TAPE_SLIPS: [f64; 6] = [-10.0, -5.0, -1.0, 1.0, 5.0, 10.0];
/// How many rows before and after one tell how many decimals are usual.
const AROUND: usize = 5;
/// Added to the handicap of a reading with more decimals than are usual there: nobody reads one
/// length of many more finely. Common practice, no source.
const TOO_FINE: f64 = 6.0;

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

    /// What a length may have been: the slip, the number, its decimals and its handicap.
    /// `usual` is how many decimals readings have there.
    pub(super) fn lengths(&self, feet: bool, usual: usize) -> Vec<(Slip, f64, usize, f64)> {
        let mut found = Vec::new();
        let mut trial = |slip: Slip, value: f64, decimals: usize| {
            if self.value > 0.0 && value > 0.0 {
                let too_fine = if decimals > usual { TOO_FINE } else { 0.0 };
                found.push((slip, value, decimals, slip.handicap() + too_fine));
            }
        };
        trial(Slip::DecimalSlip, self.value / 10.0, self.decimals + 1);
        trial(Slip::DecimalSlip, self.value * 10.0, self.decimals.saturating_sub(1));
        if !feet {
            let metres = Length::from_feet(self.value).to_metres();
            trial(Slip::FeetForMetres, metres, usual.min(2));
        }
        self.swapped().into_iter().for_each(|v| trial(Slip::SwappedDigits, v, self.decimals));
        for off in TAPE_SLIPS {
            trial(Slip::DigitSlipTens, self.value + off, self.decimals);
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
