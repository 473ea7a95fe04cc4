//! Turning angles written with their side: read where the side is a letter, else what is meant.

use super::grid::Grid;
use super::number::number;

/// Words for a side, English and German: a letter is read, a word is answered by a hint.
const SIDES: [(&str, f64); 6] =
    [("L", -1.0), ("R", 1.0), ("LEFT", -1.0), ("RIGHT", 1.0), ("LINKS", -1.0), ("RECHTS", 1.0)];

/// A turn written with its side.
pub(super) struct Sided {
    /// Right positive, degrees.
    pub(super) degrees: f64,
    /// Whether the side is one letter.
    pub(super) by_letter: bool,
}

/// The turn of a cell that has a side before or behind its size: `L45` and `45 left` are −45.
pub(super) fn sided(text: &str, grid: &Grid) -> Option<Sided> {
    let size = text.trim_matches(|letter: char| letter.is_alphabetic() || letter.is_whitespace());
    let (before, behind) = text.split_once(size).filter(|_| !size.is_empty())?;
    let word = format!("{}{}", before.trim(), behind.trim()).to_uppercase();
    let (side, sign) = SIDES.iter().find(|(side, _)| *side == word)?;
    let degrees = number(size, grid).ok().filter(|degrees| *degrees >= 0.0)?;
    Some(Sided { degrees: sign * degrees, by_letter: side.len() == 1 })
}

/// What to write for a turn beyond half a turn, as long as it is within a whole one.
pub(super) fn beyond_half(text: &str, degrees: f64) -> Option<String> {
    if degrees.abs() <= 180.0 || degrees.abs() > 360.0 {
        return None;
    }
    let same = (degrees + 180.0).rem_euclid(360.0) - 180.0;
    Some(format!(
        "turns run from -180 to 180, right positive: a turn of {text} is {same:.0}; a bearing goes \
         under bearing_deg"
    ))
}

/// What to write for a turn in words.
pub(super) fn in_words(text: &str, sided: Option<&Sided>) -> String {
    match sided {
        Some(Sided { degrees, .. }) if degrees.abs() <= 180.0 => {
            let letter = if *degrees < 0.0 { 'L' } else { 'R' };
            format!(
                "left is negative, right positive: for {text} write {degrees} or {letter}{}",
                degrees.abs()
            )
        }
        _ => "left is negative, right positive: write -45 or 30, or L45 or R30".to_owned(),
    }
}
