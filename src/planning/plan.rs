//! A planned trail: from a sketch in words or a table, to the path it would have.

use super::dice::Dice;
use super::truth::{Mark, Support};
use crate::maths::quantity::Turn;
use std::f64::consts::TAU;

/// What a planned leg runs along.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// The ground.
    Ground,
    /// Up a trunk.
    TrunkUp,
    /// Down a trunk.
    TrunkDown,
    /// A branch.
    Branch,
}

impl Along {
    /// The word for it in a plan's `on` column.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Ground => "ground",
            Self::TrunkUp => "trunk_up",
            Self::TrunkDown => "trunk_down",
            Self::Branch => "branch",
        }
    }

    /// All of them.
    pub const ALL: [Self; 4] = [Self::Ground, Self::TrunkUp, Self::TrunkDown, Self::Branch];
}

/// A planned leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlannedLeg {
    /// Metres.
    pub length: f64,
    /// What it runs along.
    pub along: Along,
}

/// More legs than this no trail has.
const MOST_LEGS: usize = 2_000;
/// A leg longer than this, metres, no tape reaches.
const LONGEST_M: f64 = 100.0;

/// How a sketch is written.
pub const SKETCH: &str =
    "a sketch such as `12 legs of 3 m, 4 of them up a trunk, 2 of them along branches`";

/// The legs of a sketch: first those on the ground, then up a trunk, then along branches, then
/// down a trunk.
///
/// # Errors
/// What stands there and what was expected, in one sentence.
pub fn sketched(text: &str) -> Result<Vec<PlannedLeg>, String> {
    let misread = |what: &str| format!("`{what}` is not part of {SKETCH}");
    let mut clauses = text.split([',', ';']).map(str::trim).filter(|clause| !clause.is_empty());
    let first = clauses.next().ok_or_else(|| format!("a plan without legs: expected {SKETCH}"))?;
    let words: Vec<&str> = first.split_whitespace().collect();
    let (count, length) = match words.as_slice() {
        [count, "legs" | "leg", "of", length, "m"] => (count.parse().ok(), length.parse().ok()),
        [count, "legs" | "leg", "of", length] => {
            (count.parse().ok(), length.strip_suffix('m').and_then(|m| m.parse().ok()))
        }
        _ => (None, None),
    };
    let (count, length): (usize, f64) = count.zip(length).ok_or_else(|| misread(first))?;
    let mut counts = [0_usize; 4];
    for clause in clauses {
        let words: Vec<&str> = clause.split_whitespace().collect();
        let [number, "of", "them", rest @ ..] = words.as_slice() else {
            return Err(misread(clause));
        };
        let along = match rest {
            ["up", ..] => Along::TrunkUp,
            ["down", ..] => Along::TrunkDown,
            ["along" | "on", "branch" | "branches" | "a", ..] => Along::Branch,
            _ => return Err(misread(clause)),
        };
        let number: usize = number.parse().map_err(|_| misread(clause))?;
        counts[along as usize] = counts[along as usize].saturating_add(number);
    }
    let off_ground = counts.into_iter().fold(0, usize::saturating_add);
    counts[Along::Ground as usize] = count.checked_sub(off_ground).ok_or_else(|| {
        format!("{off_ground} of {count} legs are on trunks or branches: more than there are")
    })?;
    let order = [Along::Ground, Along::TrunkUp, Along::Branch, Along::TrunkDown];
    let legs = order.into_iter().flat_map(|along| {
        std::iter::repeat_n(PlannedLeg { length, along }, counts[along as usize].min(MOST_LEGS + 1))
    });
    sound(legs.collect())
}

/// The legs of a table with the columns `legs`, `length_m` and `on`, in its order.
///
/// # Errors
/// The row, what stands there and what was expected.
pub fn tabled(text: &str) -> Result<Vec<PlannedLeg>, String> {
    let mut rows = text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    let heading = rows.next().map_or("", |(_, line)| line);
    let headings: Vec<&str> =
        heading.trim_start_matches('\u{feff}').split(',').map(str::trim).collect();
    let column = |name: &str| {
        let missing = || format!("row 1: no column {name}; expected legs,length_m,on");
        headings.iter().position(|heading| *heading == name).ok_or_else(missing)
    };
    let (legs, length, on) = (column("legs")?, column("length_m")?, column("on")?);
    let mut planned = Vec::new();
    for (at, line) in rows {
        let cells: Vec<&str> = line.split(',').map(str::trim).collect();
        let cell = |at: usize| cells.get(at).copied().unwrap_or("");
        let wrong = |column: &str, found: &str, expected: &str| {
            format!("row {}, column {column}: found `{found}`, expected {expected}", at + 1)
        };
        let count: usize =
            cell(legs).parse().map_err(|_| wrong("legs", cell(legs), "a whole number"))?;
        let length: f64 =
            cell(length).parse().map_err(|_| wrong("length_m", cell(length), "metres"))?;
        let along = Along::ALL.into_iter().find(|along| along.word() == cell(on));
        let along =
            along.ok_or_else(|| wrong("on", cell(on), "ground, trunk_up, trunk_down or branch"))?;
        let room = (MOST_LEGS + 1).saturating_sub(planned.len());
        planned.extend(std::iter::repeat_n(PlannedLeg { length, along }, count.min(room)));
    }
    sound(planned)
}

fn sound(legs: Vec<PlannedLeg>) -> Result<Vec<PlannedLeg>, String> {
    if legs.is_empty() {
        return Err("a plan without legs: there is nothing to forecast".to_owned());
    }
    if legs.len() > MOST_LEGS {
        return Err(format!("more than {MOST_LEGS} legs in one trail"));
    }
    let bad = legs.iter().find(|leg| !(leg.length > 0.0 && leg.length <= LONGEST_M));
    match bad {
        Some(leg) => Err(format!(
            "a leg of {} m: expected more than 0 and at most {LONGEST_M} m",
            leg.length
        )),
        None => Ok(legs),
    }
}

/// Turns on the ground, degrees: see `truth`.
const TURN_DEG: f64 = 55.0;

/// One path of a plan. Where it turns nobody knows beforehand: turns are drawn from `dice`.
pub fn laid_out(legs: &[PlannedLeg], dice: &mut Dice) -> Vec<Mark> {
    let mut heading = dice.even(0.0, TAU);
    let mut marks = vec![Mark {
        at: [0.0; 3],
        height: 0.0,
        support: Support::Litter,
        tree: None,
        plumb: false,
    }];
    let mut trees = 0;
    for leg in legs {
        let from = marks[marks.len() - 1];
        heading += Turn::from_degrees(dice.normal(TURN_DEG)).to_radians();
        let run = (leg.length * heading.sin(), leg.length * heading.cos());
        let [east, north, up] = from.at;
        let mark = match leg.along {
            // From a branch to the ground it climbs down by itself: a plan need not say so.
            Along::Ground => Mark {
                at: [east + run.0, north + run.1, 0.0],
                height: 0.0,
                support: Support::Litter,
                tree: None,
                plumb: false,
            },
            Along::Branch => Mark {
                at: [east + run.0, north + run.1, up],
                support: Support::Branch,
                plumb: false,
                ..from
            },
            Along::TrunkUp | Along::TrunkDown => {
                let rise = if leg.along == Along::TrunkUp { leg.length } else { -leg.length };
                let height = (from.height + rise).max(0.0);
                trees += usize::from(from.tree.is_none());
                Mark {
                    at: [east, north, height],
                    height,
                    support: Support::Trunk,
                    tree: Some(trees),
                    plumb: true,
                }
            }
        };
        marks.push(mark);
    }
    marks
}
