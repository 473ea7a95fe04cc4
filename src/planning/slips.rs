//! Slips put into a made-up field sheet.

use super::dice::Dice;
use super::simulate::{Sheet, SheetRow};
use crate::adjustment::slip::Slip;
use crate::maths::quantity::Length;

/// A slip as it was put in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planted {
    /// What happened.
    pub slip: Slip,
    /// The row of its trail, the release being 0.
    pub row: usize,
    /// The column.
    pub column: &'static str,
    /// What stands there.
    pub written: String,
    /// What should.
    pub was: String,
}

/// Legs shorter than this, metres, are left alone: a slip in them hardly shows.
const LONG_M: f64 = 1.0;

/// Puts a slip of this sort into one leg of a trail, inside a loop where there is one. `None` where
/// no leg can have it.
pub(super) fn plant(sheet: &mut Sheet, slip: Slip, dice: &mut Dice) -> Option<Planted> {
    let inside = |row: usize| {
        sheet.ties.is_empty()
            || sheet.ties.iter().any(|tie| tie.ends[0] < row && row <= tie.ends[1])
    };
    let spoilt: Vec<usize> = sheet.planted.iter().map(|planted| planted.row).collect();
    let mut trials: Vec<Planted> = Vec::new();
    for (row, read) in sheet.rows.iter().enumerate().skip(1) {
        let tape: f64 = read.leg.tape.parse().unwrap_or(0.0);
        if tape > LONG_M && inside(row) && !spoilt.contains(&row) && !read.leg.bearing.is_empty() {
            trials.extend(trial(read, row, slip, dice));
        }
    }
    if trials.is_empty() {
        return None;
    }
    let planted = trials.swap_remove(dice.below(trials.len()));
    let row = &mut sheet.rows[planted.row];
    let cell = match planted.column {
        "tape_m" => &mut row.leg.tape,
        "bearing_deg" => &mut row.leg.bearing,
        "incline_deg" => &mut row.leg.incline,
        _ => &mut row.from,
    };
    cell.clone_from(&planted.written);
    sheet.planted.push(planted.clone());
    Some(planted)
}

/// The slip in this row; `None` where it would change nothing, or be caught as it is typed.
fn trial(read: &SheetRow, row: usize, slip: Slip, dice: &mut Dice) -> Option<Planted> {
    let planted = |column: &'static str, was: &str, written: String| {
        let was = was.to_owned();
        (written != was).then_some(Planted { slip, row, column, written, was })
    };
    let leg = &read.leg;
    let number = |text: &str| text.parse::<f64>().ok();
    match slip {
        Slip::ReversedNeedle => {
            let turned = (number(&leg.bearing)? + 180.0).rem_euclid(360.0);
            planted("bearing_deg", &leg.bearing, format!("{turned:.0}"))
        }
        Slip::DigitSlipTens => {
            let off = if dice.chance(0.5) { 10.0 } else { 20.0 };
            let turned = (number(&leg.bearing)? + off).rem_euclid(360.0);
            planted("bearing_deg", &leg.bearing, format!("{turned:.0}"))
        }
        Slip::DecimalSlip => {
            let off = format!("{:.1}", number(&leg.tape)? * 10.0);
            planted("tape_m", &leg.tape, off)
        }
        Slip::FeetForMetres => {
            let feet = number(&leg.tape)? / Length::from_feet(1.0).to_metres();
            planted("tape_m", &leg.tape, format!("{feet:.2}"))
        }
        Slip::CentimetresForMetres => {
            planted("tape_m", &leg.tape, format!("{:.0}", 100.0 * number(&leg.tape)?))
        }
        Slip::SwappedDigits => {
            let swapped = swapped(&leg.bearing, dice)?;
            let fits = number(&swapped).is_some_and(|value| value < 360.0);
            fits.then(|| planted("bearing_deg", &leg.bearing, swapped)).flatten()
        }
        Slip::WrongSign => {
            let incline = number(&leg.incline).filter(|value| *value != 0.0)?;
            planted("incline_deg", &leg.incline, format!("{:.0}", -incline))
        }
        Slip::WrongFrom => {
            let back = 2 + dice.below(5);
            let from = row.checked_sub(back)?;
            planted("from", &read.from, (from + 1).to_string())
        }
    }
}

/// Two neighbouring digits of a number changed about.
fn swapped(text: &str, dice: &mut Dice) -> Option<String> {
    let bytes = text.as_bytes();
    let differ = |at: &usize| {
        let (a, b) = (bytes[*at], bytes[*at + 1]);
        a.is_ascii_digit() && b.is_ascii_digit() && a != b
    };
    let places: Vec<usize> = (0..bytes.len().saturating_sub(1)).filter(differ).collect();
    let at = *places.get(dice.below(places.len()))?;
    let mut swapped = bytes.to_vec();
    swapped.swap(at, at + 1);
    String::from_utf8(swapped).ok()
}
