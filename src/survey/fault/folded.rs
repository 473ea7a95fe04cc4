//! Faults for a reader: one that repeats down a column is told once, with its rows.

use super::{Code, Fault, Faults, Severity};
use std::collections::BTreeMap;

/// From more than so many on, faults of one column that differ by what was found alone are told once.
const FEW: usize = 5;
/// How many stretches of rows are told, and how many things that were found.
const TOLD: (usize, usize) = (6, 3);

/// Faults of one column that are the same, or nearly.
#[derive(Clone, Debug)]
pub struct Folded<'f> {
    /// The first of them by place.
    pub first: &'f Fault,
    rows: Vec<usize>,
    found: Vec<&'f str>,
}

impl<'f> Folded<'f> {
    fn of(first: &'f Fault) -> Self {
        let found = vec![first.found.as_str()];
        Self { first, rows: first.place.row.into_iter().collect(), found }
    }

    fn take(&mut self, other: Self) {
        self.rows.extend(other.rows);
        for found in other.found {
            if !self.found.contains(&found) {
                self.found.push(found);
            }
        }
    }

    /// Where they are: the place of the one, or the column and the first of the rows.
    pub fn place(&self) -> String {
        let mut place = self.first.place.clone();
        if self.rows.len() < 2 {
            return place.phrase();
        }
        (place.row, place.cell) = (None, None);
        format!("{}: {} cells, {}", place.phrase(), self.rows.len(), rows_words(&self.rows))
    }

    /// What was found: the first few things of many.
    pub fn found(&self) -> String {
        let mut words = self.found.iter().take(TOLD.1).copied().collect::<Vec<_>>().join("; ");
        if self.found.len() > TOLD.1 {
            words += "; …";
        }
        words
    }
}

/// `rows 3–7, 9 and 12 more`.
fn rows_words(rows: &[usize]) -> String {
    let stretches: Vec<&[usize]> = rows.chunk_by(|above, row| above + 1 == *row).collect();
    let stretch = |rows: &&[usize]| match rows {
        [first, .., last] => format!("{first}–{last}"),
        [one] => one.to_string(),
        [] => String::new(),
    };
    let told: Vec<String> = stretches.iter().take(TOLD.0).map(stretch).collect();
    let left: usize = stretches.iter().skip(TOLD.0).map(|rows| rows.len()).sum();
    let more = if left > 0 { format!(" and {left} more") } else { String::new() };
    format!("rows {}{more}", told.join(", "))
}

/// What a fault says beside its row: file, sheet, column, expected, hint, found.
type Said<'f> = (Code, Severity, [&'f str; 6]);

/// What is said of a cell, with what was `found` in it.
fn said<'f>(fault: &'f Fault, found: &'f str) -> Option<Said<'f>> {
    fault.place.row?;
    let (sheet, column) = (fault.place.sheet.as_deref(), fault.place.column.as_deref()?);
    let (file, sheet) = (fault.place.file.as_ref(), sheet.unwrap_or(""));
    let said = [file, sheet, column, &fault.expected, &fault.hint, found];
    Some((fault.code, fault.severity, said))
}

/// Those of one key together, where the first of them is.
fn merged<'f>(
    all: impl Iterator<Item = Folded<'f>>,
    key: impl Fn(&Folded<'f>) -> Option<Said<'f>>,
) -> Vec<Folded<'f>> {
    let mut place: BTreeMap<Said<'f>, usize> = BTreeMap::new();
    let mut merged: Vec<Folded<'f>> = Vec::new();
    for one in all {
        let next = merged.len();
        let at = key(&one).map_or(next, |key| *place.entry(key).or_insert(next));
        if at == next {
            merged.push(one);
        } else {
            merged[at].take(one);
        }
    }
    merged
}

impl Faults {
    /// The faults in the order of [`Faults::sorted`], those that repeat told where the first is: the
    /// same said of several cells of a column, or more than a few that differ only by what was found.
    pub fn folded(&self) -> Vec<Folded<'_>> {
        let each = self.sorted().into_iter().map(Folded::of);
        let same = merged(each, |one| said(one.first, &one.first.found));
        let mut counts: BTreeMap<Said<'_>, usize> = BTreeMap::new();
        for key in same.iter().filter_map(|one| said(one.first, "")) {
            *counts.entry(key).or_default() += 1;
        }
        let many = |key: &Said<'_>| counts.get(key).is_some_and(|count| *count > FEW);
        let mut folded = merged(same.into_iter(), |one| said(one.first, "").filter(many));
        for one in &mut folded {
            one.rows.sort_unstable();
        }
        folded
    }
}
