//! The one part of an `.ods` workbook that holds its cells. Blank cells and rows are counted, not
//! written, and so are cells that repeat.

use super::cell::{Content, Found, moment_text, time_text};
use super::package::{Node, Package, Tag};
use super::{Listed, Trouble};
use jiff::civil::{Date, DateTime, Time};

const CELLS: &str = "content.xml";
/// The day from which this format's programs count.
const DAY_NOUGHT: Date = Date::constant(1899, 12, 30);
const LIST: &str = "META-INF/manifest.xml";

/// Whether a package is a workbook of this kind.
pub(super) fn is(package: &mut Package<'_>) -> Result<bool, Trouble> {
    let mut locked = false;
    let mut workbook = false;
    package.walk(LIST, |node| {
        match node {
            Node::Open("encryption-data", _) => locked = true,
            Node::Open("file-entry", tag) if tag.get("full-path").as_deref() == Some("/") => {
                let kind = tag.get("media-type").unwrap_or_default();
                workbook = kind.contains("opendocument.spreadsheet");
            }
            _ => {}
        }
        Ok(())
    })?;
    if locked { Err(Trouble::Locked) } else { Ok(workbook && package.holds(CELLS)) }
}

/// Walks through the cells of every sheet that is `wanted`, and lists all sheets.
pub(super) fn walk(
    package: &mut Package<'_>,
    wanted: impl Fn(&str) -> bool,
    mut visit: impl FnMut(&str, Found) -> Result<(), Trouble>,
) -> Result<Vec<Listed>, Trouble> {
    let mut sheets = Vec::new();
    let mut sheet = Sheet::default();
    let mut inside = false;
    let mut deeper = 0_usize; // tables within the cells or forms of a table
    package.walk(CELLS, |node| {
        match &node {
            Node::Open("table", _) if inside => deeper += 1,
            Node::Close("table") if deeper > 0 => deeper -= 1,
            Node::Open("table", tag) => {
                let name = tag.get("name").unwrap_or_default();
                sheets.push(Listed { name: name.clone(), of_cells: true });
                sheet = Sheet { name, ..Sheet::default() };
                inside = true;
            }
            Node::Close("table") => inside = false,
            _ if inside && deeper == 0 && wanted(&sheet.name) => sheet.take(&node, &mut visit)?,
            _ => {}
        }
        Ok(())
    })?;
    Ok(sheets)
}

/// A sheet while it is read.
#[derive(Default)]
struct Sheet {
    name: String,
    row: usize,
    /// How often the row stands there.
    rows: usize,
    column: usize,
    /// The cells of the row that are not blank, each with how often it stands there.
    cells: Vec<(usize, usize, Content)>,
    cell: Option<Open>,
    /// How deep within a remark on the cell, whose text is not the cell's.
    remark: usize,
    paragraphs: usize,
}

/// A cell while it is read.
struct Open {
    times: usize,
    kind: String,
    value: String,
    text: String,
    has_formula: bool,
    merged: (usize, usize),
}

impl Sheet {
    fn take(
        &mut self,
        node: &Node<'_>,
        visit: &mut impl FnMut(&str, Found) -> Result<(), Trouble>,
    ) -> Result<(), Trouble> {
        match node {
            Node::Open("annotation", _) => self.remark += 1,
            Node::Close("annotation") => self.remark = self.remark.saturating_sub(1),
            _ if self.remark > 0 => {}
            Node::Open("table-row", tag) => {
                self.rows = tag.count("number-rows-repeated").unwrap_or(1);
                self.column = 0;
            }
            Node::Close("table-row") => return self.hand_over(visit),
            Node::Open("table-cell", tag) => self.begin(*tag),
            Node::Open("covered-table-cell", tag) => {
                let times = tag.count("number-columns-repeated").unwrap_or(1);
                self.column = self.column.saturating_add(times);
            }
            Node::Close("table-cell") => self.end(visit)?,
            node => self.text(node),
        }
        Ok(())
    }

    fn begin(&mut self, tag: Tag<'_>) {
        let kind = tag.get("value-type").unwrap_or_default();
        // one program keeps the kind `error` apart from the kind that the format knows
        let wrong = tag.named("value-type").any(|kind| kind == "error");
        let value = match kind.as_str() {
            "date" => tag.get("date-value"),
            "time" => tag.get("time-value"),
            "boolean" => tag.get("boolean-value"),
            "string" => tag.get("string-value"),
            _ => tag.get("value"),
        };
        let spanned = |name| tag.count(name).unwrap_or(1);
        self.paragraphs = 0;
        self.cell = Some(Open {
            times: spanned("number-columns-repeated"),
            kind: if wrong { "error".into() } else { kind },
            value: value.unwrap_or_default(),
            text: String::new(),
            has_formula: tag.get("formula").is_some(),
            merged: (spanned("number-rows-spanned"), spanned("number-columns-spanned")),
        });
    }

    fn text(&mut self, node: &Node<'_>) {
        let Some(cell) = &mut self.cell else { return };
        match node {
            Node::Open("p", _) => {
                if self.paragraphs > 0 {
                    cell.text.push('\n');
                }
                self.paragraphs += 1;
            }
            Node::Open("s", tag) => {
                let spaces = tag.count("c").unwrap_or(1).min(1000);
                cell.text.extend(std::iter::repeat_n(' ', spaces));
            }
            Node::Open("tab", _) => cell.text.push('\t'),
            Node::Open("line-break", _) => cell.text.push('\n'),
            Node::Text(more) if self.paragraphs > 0 => cell.text.push_str(more),
            _ => {}
        }
    }

    fn end(
        &mut self,
        visit: &mut impl FnMut(&str, Found) -> Result<(), Trouble>,
    ) -> Result<(), Trouble> {
        let Some(cell) = self.cell.take() else { return Ok(()) };
        let (rows, columns) = cell.merged;
        if rows > 1 || columns > 1 {
            let (row, column) = (self.row, self.column);
            visit(&self.name, Found::Merged { row, column, rows, columns })?;
        }
        if let Some(content) = content(&cell)? {
            self.cells.push((self.column, cell.times, content));
        }
        self.column = self.column.saturating_add(cell.times);
        Ok(())
    }

    /// Hands over the cells of a row, as often as it stands there.
    fn hand_over(
        &mut self,
        visit: &mut impl FnMut(&str, Found) -> Result<(), Trouble>,
    ) -> Result<(), Trouble> {
        if !self.cells.is_empty() {
            let (row, rows) = (self.row, self.rows);
            visit(&self.name, Found::Repeated { row, rows })?;
            for row in self.row..self.row.saturating_add(self.rows) {
                for (first, times, content) in &self.cells {
                    for column in *first..first.saturating_add(*times) {
                        let content = content.clone();
                        visit(&self.name, Found::Cell { row, column, content })?;
                    }
                }
            }
        }
        self.cells.clear();
        self.row = self.row.saturating_add(self.rows);
        Ok(())
    }
}

/// What a cell holds; `None` where it is blank.
fn content(cell: &Open) -> Result<Option<Content>, Trouble> {
    let value = cell.value.trim();
    let as_text = || Some(cell.text.clone()).filter(|text| !text.trim().is_empty());
    Ok(match cell.kind.as_str() {
        "error" => Some(Content::Wrong(cell.text.clone())),
        "float" | "percentage" | "currency" => {
            Some(Content::Number(value.parse().map_err(|_| Trouble::Damaged)?))
        }
        "boolean" => Some(Content::Truth(value == "true")),
        "date" => Some(Content::Moment(date(value))),
        "time" => Some(Content::Moment(time(value).unwrap_or_else(|| value.to_owned()))),
        "string" if !value.is_empty() => Some(Content::Text(cell.value.clone())),
        "" if cell.has_formula => Some(Content::Uncomputed),
        _ => as_text().map(Content::Text),
    })
}

/// A date as the tables write it; a time alone is kept as one of the day before all others.
fn date(value: &str) -> String {
    match value.parse::<DateTime>() {
        Ok(moment) if moment.date() == DAY_NOUGHT => time_text(moment.time()),
        Ok(moment) => moment_text(moment),
        Err(_) => value.to_owned(),
    }
}

/// `PT05H40M00S` as a time of day.
fn time(value: &str) -> Option<String> {
    let parts = value.strip_prefix("PT")?.strip_suffix('S')?;
    let (hours, rest) = parts.split_once('H')?;
    let (minutes, seconds) = rest.split_once('M')?;
    let whole = seconds.split(['.', ',']).next()?;
    let time = Time::new(hours.parse().ok()?, minutes.parse().ok()?, whole.parse().ok()?, 0);
    time.ok().map(time_text)
}
