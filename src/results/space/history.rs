//! When an animal was caught, and how far apart its releases lie.

use super::placed::Placed;
use crate::maths::quantity::count_of;
use crate::maths::statistics::describe::mean;
use crate::results::Analysis;
use crate::survey::names::Name;
use crate::survey::rows::{Moment, TrailRow};
use jiff::civil::{Date, DateTime};

/// The captures of an animal: each row of the trails table is one, whether or not its thread was measured.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Captures {
    /// How many there are.
    pub count: usize,
    /// How many of them have a date.
    pub dated: usize,
    /// The first and the last date.
    pub dates: Option<[Date; 2]>,
}

impl Captures {
    pub(super) fn of(analysis: &Analysis, animal: Name) -> Self {
        let rows: Vec<&TrailRow> = rows(analysis, animal).map(|(_, row)| row).collect();
        let dates = || rows.iter().filter_map(|row| row.date);
        Self {
            count: rows.len(),
            dated: dates().count(),
            dates: dates().min().zip(dates().max()).map(|(first, last)| [first, last]),
        }
    }

    /// Days from the first to the last capture; `None` of fewer than two with a date.
    pub fn days(&self) -> Option<f64> {
        let [first, last] = self.dates.filter(|_| self.dated > 1)?;
        Some(f64::from(first.until(last).ok()?.get_days()))
    }

    /// Mean days from one capture to the next; `None` of fewer than two with a date.
    pub fn interval_days(&self) -> Option<f64> {
        Some(self.days()? / (self.dated - 1) as f64)
    }

    /// Why there is no interval, or what it leaves out; blank where neither.
    pub fn reason(&self) -> String {
        match (self.dated, self.count - self.dated) {
            (_, 0) if self.count == 1 => "one capture".to_owned(),
            (0 | 1, _) => "needs two captures with a date".to_owned(),
            (_, 0) => String::new(),
            (_, undated) => format!("left out: {} without a date", count_of(undated, "capture")),
        }
    }
}

/// The trails of an animal that were asked for, with their rows.
fn rows(analysis: &Analysis, animal: Name) -> impl Iterator<Item = (usize, &TrailRow)> {
    let wanted = |row: &TrailRow| {
        let name = analysis.survey.text(row.trail);
        let wanted = &analysis.wanted.trails;
        wanted.is_empty() || wanted.iter().any(|trail| trail == name)
    };
    let own = analysis.survey.trails.iter().enumerate();
    own.filter(move |(_, row)| row.animal == Some(animal) && wanted(row))
}

/// Distances in plan from one capture to the next, metres; only of captures that follow each other by
/// date, and whose trails both have a place or start at one control.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Moves {
    /// From each release to the next.
    pub releases: Vec<f64>,
    /// From the end of each thread to the next release.
    pub returns: Vec<f64>,
    /// Why some are missing; blank where none are.
    pub reason: String,
}

/// The order of two captures is not known.
const UNORDERED: &str = "captures of one date without start times have no order";

impl Moves {
    pub(super) fn of(analysis: &Analysis, animal: Name, placed: &[Placed]) -> Self {
        let mut dated: Vec<(Date, Option<DateTime>, usize)> = rows(analysis, animal)
            .filter_map(|(at, row)| Some((row.date?, start(row), at)))
            .collect();
        dated.sort_unstable();
        let undated = rows(analysis, animal).count() - dated.len();
        if dated.len() < 2 {
            return Self { reason: few(dated.len(), undated), ..Self::default() };
        }
        let has_order = |pair: &[(Date, Option<DateTime>, usize)]| {
            pair[0].0 != pair[1].0 || pair[0].1.is_some() && pair[0].1 != pair[1].1
        };
        if !dated.windows(2).all(has_order) {
            return Self { reason: UNORDERED.to_owned(), ..Self::default() };
        }
        let mut moves = Self::default();
        let mut missing = 0;
        for pair in dated.windows(2) {
            let [release, back] = between(analysis, placed, [pair[0].2, pair[1].2]);
            moves.releases.extend(release);
            moves.returns.extend(back);
            missing += usize::from(release.is_none() || back.is_none());
        }
        moves.reason = left_out(missing, undated);
        moves
    }
}

/// From the release of one trail, and from the end of its thread, to the release of the next, by their
/// rows. Two releases at one control are one place, wherever each trail was adjusted to.
fn between(analysis: &Analysis, placed: &[Placed], rows: [usize; 2]) -> [Option<f64>; 2] {
    let [before, after] = rows.map(|row| placed.iter().find(|trail| trail.listed == row));
    let [from, to] = [before, after].map(|trail| trail.and_then(|trail| trail.release(analysis)));
    let end = before.and_then(|trail| trail.end(analysis));
    let [control, next] = rows.map(|row| analysis.survey.trails[row].release);
    if control.is_some() && control == next {
        return [Some(0.0), end.zip(from).map(apart)];
    }
    [from.zip(to).map(apart), end.zip(to).map(apart)]
}

/// Mean and greatest of some distances; `None` of none. Summed by size, so that their order changes
/// no digit.
pub fn mean_and_greatest(distances: &[f64]) -> Option<[f64; 2]> {
    let mut sorted = distances.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    Some([mean(&sorted)?, *sorted.last()?])
}

fn apart((a, b): ([f64; 2], [f64; 2])) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

/// When a trail started, where its time of day was written.
fn start(row: &TrailRow) -> Option<DateTime> {
    match row.start_time? {
        Moment::Time(time) => Some(row.date?.to_datetime(time)),
        Moment::DateTime(moment) => Some(moment),
    }
}

fn few(dated: usize, undated: usize) -> String {
    if dated == 1 && undated == 0 { "one capture" } else { "needs two captures with a date" }
        .to_owned()
}

fn left_out(missing: usize, undated: usize) -> String {
    let mut words = Vec::new();
    if missing > 0 {
        words.push(format!(
            "{} where one of the trails has no known place",
            count_of(missing, "pair")
        ));
    }
    if undated > 0 {
        words.push(format!("{} without a date", count_of(undated, "capture")));
    }
    if words.is_empty() { String::new() } else { format!("left out: {}", words.join(", ")) }
}
