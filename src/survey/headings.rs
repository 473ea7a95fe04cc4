//! The headings of a table against the dictionary: needed ones, doubles, near misses.

use super::dictionary::Column;
use super::grid::Grid;
use super::nearest::nearest;
use crate::survey::fault::{Code, Faults};

/// Checks the headings of `grid`: needed ones, doubles, near misses.
pub(super) fn check_headings(grid: &Grid, columns: &'static [Column], faults: &mut Faults) {
    for column in columns.iter().filter(|column| column.needed) {
        if grid.column(column.heading).is_none() {
            faults
                .error(Code::MissingColumn, grid.heading_place(column.heading))
                .found(grid.headings().join(", "))
                .expected(format!("a column headed {}", column.heading))
                .hint("a workbook's own headings can be mapped under [columns] in survey.toml");
        }
    }
    for (at, heading) in grid.headings().iter().enumerate() {
        let known = columns.iter().any(|column| column.heading == heading.as_ref());
        if grid.column(heading) != Some(at) && !heading.is_empty() {
            faults
                .error(Code::DuplicateColumn, grid.heading_place(heading))
                .found(heading.as_ref())
                .expected("one column of each name")
                .hint("rename or remove one of the two");
        } else if !known && !heading.is_empty() {
            near_miss(grid, heading, columns, faults);
        }
    }
}

/// Warns of a heading that is close to one in the dictionary and not the same.
fn near_miss(grid: &Grid, heading: &str, columns: &'static [Column], faults: &mut Faults) {
    let plain = heading.trim().to_lowercase().replace([' ', '-'], "_");
    let is_there = |name: &&str| grid.column(name).is_some();
    let all = columns.iter().map(|column| column.heading);
    let absent = all.clone().filter(|name| !is_there(name));
    let stem = |name: &str| name.rsplit_once('_').map_or(name, |(stem, _)| stem).to_owned();
    let by_stem = absent.clone().find(|name| stem(name) == plain && name.contains('_'));
    // Of two names that are as near, the missing one is the likelier to be meant.
    let either = absent.chain(all.clone().filter(is_there));
    let near = || if plain.len() >= 4 { nearest(&plain, either) } else { None };
    let meant = all.clone().find(|name| *name == plain).or(by_stem).or_else(near);
    let Some(meant) = meant.filter(|meant| !counts(meant, &plain)) else { return };
    let hint = if is_there(&meant) {
        "that column is there already: this one is passed on unread; remove one, or rename it"
    } else {
        "the column is passed on unread; rename it to have it used"
    };
    faults
        .warn(Code::NearMissHeading, grid.heading_place(heading))
        .found(heading)
        .expected(format!("{meant}, if that is meant"))
        .hint(hint);
}

/// Whether `heading` is `name` with a number behind it, as in `note2`: one more of a kind.
fn counts(name: &str, heading: &str) -> bool {
    let behind = heading.strip_prefix(name).map(|behind| behind.trim_start_matches('_'));
    behind.is_some_and(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()))
}
