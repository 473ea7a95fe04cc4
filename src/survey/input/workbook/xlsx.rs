//! The parts of an `.xlsx` workbook: names of sheets, shared texts, formats of dates, cells.

use super::cell::{Content, Found, moment_of_days, place_of, shows_moment};
use super::package::{Node, Package};
use super::{Listed, Trouble};
use std::collections::BTreeMap;

/// The most bytes and entries of shared texts: they are kept while cells are read.
const MOST_SHARED_BYTES: usize = 64 << 20;
const MOST_SHARED: usize = 2_000_000;

/// What one part says of another.
struct Relation {
    /// The last word of its kind, as `worksheet`.
    kind: String,
    target: String,
}

/// Whether a package is a workbook of this kind.
pub(super) fn is(package: &mut Package<'_>) -> Result<bool, Trouble> {
    Ok(book_part(package)?.is_some())
}

/// Walks through the cells of every sheet that is `wanted`, and lists all sheets.
pub(super) fn walk(
    package: &mut Package<'_>,
    wanted: impl Fn(&str) -> bool,
    mut visit: impl FnMut(&str, Found) -> Result<(), Trouble>,
) -> Result<Vec<Listed>, Trouble> {
    let part = book_part(package)?.ok_or(Trouble::Damaged)?;
    let relations = relations(package, &part)?;
    let of_kind = |kind| relations.values().find(|r| r.kind == kind).map(|r| r.target.as_str());
    let mut from_1904 = false;
    let mut sheets = Vec::new();
    package.walk(&part, |node| {
        match node {
            Node::Open("workbookPr", tag) => {
                from_1904 = tag.get("date1904").is_some_and(|value| is_true(&value));
            }
            Node::Open("sheet", tag) => {
                sheets
                    .push((tag.get("name").unwrap_or_default(), tag.get("id").unwrap_or_default()));
            }
            _ => {}
        }
        Ok(())
    })?;
    let target = |id: &String| relations.get(id).filter(|relation| relation.kind == "worksheet");
    let any = sheets.iter().any(|(name, id)| wanted(name) && target(id).is_some());
    let mut shared = Shared::default();
    let mut formats = Formats { from_1904, moments: Vec::new() };
    if any {
        shared.read(package, of_kind("sharedStrings").unwrap_or(""))?;
        formats.read(package, of_kind("styles").unwrap_or(""))?;
    }
    for (name, id) in &sheets {
        if let Some(relation) = target(id).filter(|_| wanted(name)) {
            if !package.holds(&relation.target) {
                return Err(Trouble::Damaged);
            }
            cells(package, &relation.target, &shared, &formats, |found| visit(name, found))?;
        }
    }
    let listed = |(name, id): (String, String)| Listed { of_cells: target(&id).is_some(), name };
    Ok(sheets.into_iter().map(listed).collect())
}

fn is_true(value: &str) -> bool {
    matches!(value, "1" | "true" | "on")
}

/// The part that lists the sheets.
fn book_part(package: &mut Package<'_>) -> Result<Option<String>, Trouble> {
    let relations = relations(package, "")?;
    let book = relations.into_values().find(|relation| relation.kind == "officeDocument");
    Ok(book.map(|relation| relation.target).filter(|target| package.holds(target)))
}

/// The relations of a part by their names; their targets made whole.
fn relations(package: &mut Package<'_>, part: &str) -> Result<BTreeMap<String, Relation>, Trouble> {
    let (folder, name) = part.rsplit_once('/').unwrap_or(("", part));
    let at = if folder.is_empty() { String::new() } else { format!("{folder}/") };
    let mut found = BTreeMap::new();
    package.walk(&format!("{at}_rels/{name}.rels"), |node| {
        if let Node::Open("Relationship", tag) = node
            && let (Some(id), Some(kind), Some(target)) =
                (tag.get("Id"), tag.get("Type"), tag.get("Target"))
        {
            let kind = kind.rsplit('/').next().unwrap_or("").to_owned();
            let target = match target.strip_prefix('/') {
                Some(whole) => whole.to_owned(),
                None => format!("{at}{target}"),
            };
            found.insert(id, Relation { kind, target });
        }
        Ok(())
    })?;
    Ok(found)
}

/// Texts that cells share, end to end.
#[derive(Default)]
struct Shared {
    text: String,
    ends: Vec<usize>,
}

impl Shared {
    fn read(&mut self, package: &mut Package<'_>, part: &str) -> Result<(), Trouble> {
        let mut rich = Rich::default();
        package.walk(part, |node| {
            match node {
                Node::Close("si") => self.ends.push(self.text.len()),
                node => rich.take(&node, &mut self.text),
            }
            if self.text.len() > MOST_SHARED_BYTES || self.ends.len() > MOST_SHARED {
                return Err(Trouble::TooMuchText);
            }
            Ok(())
        })
    }

    fn get(&self, index: usize) -> Option<&str> {
        let end = *self.ends.get(index)?;
        let start = index.checked_sub(1).and_then(|before| self.ends.get(before));
        self.text.get(start.copied().unwrap_or(0)..end)
    }
}

/// Text in pieces of different looks; how it is spoken is left out.
#[derive(Default)]
struct Rich {
    in_text: bool,
    spoken: bool,
}

impl Rich {
    fn take(&mut self, node: &Node<'_>, text: &mut String) {
        match node {
            Node::Open("rPh", _) => self.spoken = true,
            Node::Close("rPh") => self.spoken = false,
            Node::Open("t", _) => self.in_text = !self.spoken,
            Node::Close("t") => self.in_text = false,
            Node::Text(more) if self.in_text => text.push_str(more),
            _ => {}
        }
    }
}

/// Which styles of cells show a date or a time.
struct Formats {
    from_1904: bool,
    moments: Vec<bool>,
}

impl Formats {
    fn read(&mut self, package: &mut Package<'_>, part: &str) -> Result<(), Trouble> {
        let mut own = BTreeMap::new();
        let mut in_cells = false;
        package.walk(part, |node| {
            match node {
                Node::Open("numFmt", tag) => {
                    if let Some(id) = tag.count("numFmtId") {
                        own.insert(id, shows_moment(&tag.get("formatCode").unwrap_or_default()));
                    }
                }
                Node::Open("cellXfs", _) => in_cells = true,
                Node::Close("cellXfs") => in_cells = false,
                Node::Open("xf", tag) if in_cells => {
                    let id = tag.count("numFmtId").unwrap_or(0);
                    // the formats that are built in and not spelled out
                    let built_in = matches!(id, 14..=22 | 27..=36 | 45..=47 | 50..=58);
                    self.moments.push(own.get(&id).copied().unwrap_or(built_in));
                }
                _ => {}
            }
            Ok(())
        })
    }
}

/// One cell while it is read.
#[derive(Default)]
struct Open {
    row: usize,
    column: usize,
    kind: String,
    style: usize,
    value: String,
    inline: String,
    has_value: bool,
    has_formula: bool,
}

fn cells(
    package: &mut Package<'_>,
    part: &str,
    shared: &Shared,
    formats: &Formats,
    mut visit: impl FnMut(Found) -> Result<(), Trouble>,
) -> Result<(), Trouble> {
    let mut cell = Open::default();
    let (mut next_row, mut next_column) = (0, 0);
    let (mut in_value, mut rich) = (false, Rich::default());
    package.walk(part, |node| {
        match node {
            Node::Open("row", tag) => {
                let stated = tag.count("r").and_then(|row| row.checked_sub(1));
                cell.row = stated.unwrap_or(next_row);
                (next_row, next_column) = (cell.row.saturating_add(1), 0);
            }
            Node::Open("c", tag) => {
                let stated = tag.get("r").and_then(|reference| place_of(&reference));
                (cell.row, cell.column) = stated.unwrap_or((cell.row, next_column));
                next_column = cell.column.saturating_add(1);
                cell.kind = tag.get("t").unwrap_or_default();
                cell.style = tag.count("s").unwrap_or(0);
                cell.value.clear();
                cell.inline.clear();
                (cell.has_value, cell.has_formula) = (false, false);
            }
            Node::Open("v", _) => (in_value, cell.has_value) = (true, true),
            Node::Close("v") => in_value = false,
            Node::Open("f", _) => cell.has_formula = true,
            Node::Text(text) if in_value => cell.value.push_str(text),
            Node::Close("c") => {
                if let Some(content) = content(&cell, shared, formats)? {
                    visit(Found::Cell { row: cell.row, column: cell.column, content })?;
                }
            }
            Node::Open("mergeCell", tag) => {
                if let Some(found) = tag.get("ref").and_then(|range| merged(&range)) {
                    visit(found)?;
                }
            }
            node => rich.take(&node, &mut cell.inline),
        }
        Ok(())
    })
}

fn merged(range: &str) -> Option<Found> {
    let (first, last) = range.split_once(':')?;
    let ((row, column), (last_row, last_column)) = (place_of(first)?, place_of(last)?);
    let rows = last_row.checked_sub(row)? + 1;
    Some(Found::Merged { row, column, rows, columns: last_column.checked_sub(column)? + 1 })
}

/// What a cell holds; `None` where it is blank.
fn content(cell: &Open, shared: &Shared, formats: &Formats) -> Result<Option<Content>, Trouble> {
    let value = cell.value.trim();
    if cell.has_formula && !cell.has_value {
        return Ok(Some(Content::Uncomputed));
    }
    let text = |text: &str| (!text.trim().is_empty()).then(|| Content::Text(text.to_owned()));
    Ok(match cell.kind.as_str() {
        "s" if value.is_empty() => None,
        "s" => {
            let index = value.parse().map_err(|_| Trouble::Damaged)?;
            text(&spelled_out(shared.get(index).ok_or(Trouble::Damaged)?))
        }
        "str" => text(&spelled_out(&cell.value)),
        "inlineStr" => text(&spelled_out(&cell.inline)),
        "e" => Some(Content::Wrong(value.to_owned())),
        "b" => (!value.is_empty()).then(|| Content::Truth(is_true(value))),
        "d" => text(&value.replacen('T', " ", 1)).map(|_| Content::Moment(iso(value))),
        _ if value.is_empty() => None,
        _ => {
            let number: f64 = value.parse().map_err(|_| Trouble::Damaged)?;
            let is_moment = formats.moments.get(cell.style).copied().unwrap_or(false);
            let moment = is_moment.then(|| moment_of_days(number, formats.from_1904)).flatten();
            Some(moment.map_or(Content::Number(number), Content::Moment))
        }
    })
}

/// A moment that is stored as text.
fn iso(value: &str) -> String {
    let moment = value.trim_end_matches('Z').parse();
    moment.map_or_else(|_| value.to_owned(), super::cell::moment_text)
}

/// Characters that XML does not allow are stored by number, as `_x000D_`.
fn spelled_out(text: &str) -> String {
    let mut rest = text;
    let mut plain = String::with_capacity(text.len());
    while let Some(at) = rest.find("_x") {
        let (before, from) = rest.split_at(at);
        plain.push_str(before);
        let number = from.get(2..6).filter(|_| from.get(6..7) == Some("_"));
        let character = number.and_then(|hex| u32::from_str_radix(hex, 16).ok());
        let (text, length) = match character.and_then(char::from_u32) {
            Some(character) => (character, 7),
            None => ('_', 1),
        };
        plain.push(text);
        rest = from.get(length..).unwrap_or("");
    }
    plain.push_str(rest);
    plain
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn characters_stored_by_number_are_spelled_out() {
        assert_eq!(spelled_out("two_x000D_lines"), "two\rlines");
        assert_eq!(spelled_out("a_x_b_x005F_x0041_é_x00"), "a_x_b_x0041_é_x00");
        assert_eq!(spelled_out("plain_name"), "plain_name");
    }
}
