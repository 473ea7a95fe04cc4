//! The answer in words: what an ecologist wants to know first.

use super::check::faults_words;
use super::terminal::{Terminal, Tone};
use crate::adjustment::closure::Verdict;
use crate::results::instruments::told;
use crate::results::overview::{
    ClosureWords, TRAIL_HEADS, closures_words as all_closures, not_known, overview, title,
    trail_lines, unchecked,
};
use crate::results::tables::{Cell, Table, tables};
use crate::results::{Analysis, precisions};
use crate::survey::fault::{Faults, Severity};
use serde_json::{Map, Value, json};

/// The summary of a rebuild.
pub(super) fn words(analysis: &Analysis, faults: &Faults, terminal: &Terminal) -> String {
    let mut text = String::new();
    if faults.count(Severity::Warning) > 0 {
        text += &faults_words(faults, terminal);
        text.push('\n');
    }
    text += &format!("{}\n", terminal.toned(Tone::Strong, title(analysis)));
    text += &format!("{}\n", overview(analysis));
    text += &trails(analysis, terminal);
    text += &closures_words(analysis, terminal);
    text + &unknown(analysis, terminal)
}

/// How wide each column of the trails is, and whether numbers stand in it.
const TRAIL_WIDTHS: [(usize, bool); 8] =
    [(10, false), (10, false), (7, true), (17, true), (17, true), (8, true), (14, true), (7, true)];

/// One line a trail.
fn trails(analysis: &Analysis, terminal: &Terminal) -> String {
    let line = |cells: &[&str]| {
        let mut text = String::new();
        for (cell, (width, number)) in cells.iter().zip(TRAIL_WIDTHS) {
            text += &if number {
                format!("{cell:>width$} ")
            } else {
                format!("{:<width$} ", cut(cell, width))
            };
        }
        text + " " + cells[TRAIL_WIDTHS.len()]
    };
    let mut text = format!("\n{}\n", terminal.toned(Tone::Strong, &line(&TRAIL_HEADS)));
    for trail in trail_lines(analysis) {
        text += &format!("{}\n", line(&trail.each_ref().map(String::as_str)));
    }
    text
}

fn cut(text: &str, most: usize) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if clean.chars().count() <= most {
        return clean;
    }
    clean.chars().take(most - 1).chain(['…']).collect()
}

/// Every closure in words; nothing where there is no trail.
pub(super) fn closures_words(analysis: &Analysis, terminal: &Terminal) -> String {
    let mut text = String::new();
    for ClosureWords { found, verdict } in all_closures(analysis) {
        let tone = match verdict {
            Verdict::Closes => Tone::Good,
            Verdict::Doubtful => Tone::Doubtful,
            Verdict::Fails => Tone::Bad,
            Verdict::TooCoarse => Tone::Faint,
        };
        text += &format!("  {found}; {}\n", terminal.toned(tone, verdict.words()));
    }
    text += &unchecked(analysis).map_or(String::new(), |words| format!("  {words}\n"));
    for sentence in told(analysis).into_iter().chain(precisions::told(analysis)) {
        text += &format!("  {sentence}\n");
    }
    if text.is_empty() {
        return text;
    }
    format!("\n{}\n{text}", terminal.toned(Tone::Strong, "Closure"))
}

/// The rows of a table as JSON.
pub(super) fn table_json(analysis: &Analysis, name: &str) -> Value {
    let all = tables(analysis);
    let Some(table) = all.iter().find(|table| table.name == name) else { return json!([]) };
    let mut rows = Vec::new();
    table.for_each_row(analysis, &mut |row| rows.push(row_json(table, row)));
    Value::Array(rows)
}

/// One row of a table as a JSON object.
pub(super) fn row_json(table: &Table, row: &[Cell<'_>]) -> Value {
    let mut object = Map::new();
    for (cell, column) in row.iter().zip(&table.columns) {
        let value = match cell {
            Cell::Blank => Value::Null,
            Cell::Text(text) => Value::from(*text),
            Cell::Number(number) => Value::from(*number),
            Cell::Count(count) => Value::from(*count),
        };
        object.insert(column.name.to_string(), value);
    }
    Value::Object(object)
}

/// What is not known, and why.
fn unknown(analysis: &Analysis, terminal: &Terminal) -> String {
    let head = terminal.toned(Tone::Strong, "Not known, and how it is known");
    not_known(analysis).iter().fold(format!("\n{head}\n"), |text, line| text + "  " + line + "\n")
}
