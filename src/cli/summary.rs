//! The answer in words: what an ecologist wants to know first.

use super::check::faults_words;
use super::terminal::{Terminal, Tone};
use crate::adjustment::closure::Verdict as OfClosure;
use crate::results::cell::object;
use crate::results::findings::verdict::Verdict;
use crate::results::findings::{self, Finding};
use crate::results::instruments::told;
use crate::results::overview::{
    ClosureWords, TRAIL_HEADS, closures_words as all_closures, not_known, overview, title,
    trail_lines, unchecked,
};
use crate::results::tables::tables;
use crate::results::{Analysis, precisions};
use crate::survey::fault::{Faults, Severity};
use serde_json::{Value, json};

/// The summary of a rebuild.
pub(super) fn words(analysis: &Analysis, faults: &Faults, terminal: &Terminal) -> String {
    let mut text = String::new();
    if faults.count(Severity::Warning) > 0 {
        text += &faults_words(faults, terminal);
        text.push('\n');
    }
    text += &format!("{}\n", terminal.toned(Tone::Strong, title(analysis)));
    text += &format!("{}\n", overview(analysis));
    text += &verdict(analysis, terminal);
    text += &trails(analysis, terminal);
    text += &closures_words(analysis, terminal);
    text += &suspects(analysis, terminal);
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

/// As many closures that hold are told one by one; closures.csv has all of them.
const TOLD_ONE_BY_ONE: usize = 15;

/// Every closure in words, those that hold in one line where they are many; nothing where there is no trail.
pub(super) fn closures_words(analysis: &Analysis, terminal: &Terminal) -> String {
    let mut text = String::new();
    let closures = all_closures(analysis);
    let holds = |closure: &&ClosureWords| closure.verdict == OfClosure::Closes;
    let holding = closures.iter().filter(holds).count();
    let folded = if holding > TOLD_ONE_BY_ONE { holding } else { 0 };
    if folded > 0 {
        let words = OfClosure::Closes.words().replace("closes", "close");
        text += &format!("  {folded} closures {}\n", terminal.toned(Tone::Good, &words));
    }
    for ClosureWords { found, verdict } in closures.iter().filter(|one| folded == 0 || !holds(one))
    {
        let tone = match verdict {
            OfClosure::Closes => Tone::Good,
            OfClosure::Doubtful => Tone::Doubtful,
            OfClosure::Fails => Tone::Bad,
            OfClosure::TooCoarse => Tone::Faint,
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
    table.for_each_row(analysis, &mut |row| rows.push(object(table, row)));
    Value::Array(rows)
}

/// What is not known, and why.
fn unknown(analysis: &Analysis, terminal: &Terminal) -> String {
    let head = terminal.toned(Tone::Strong, "Limits of these data");
    not_known(analysis).iter().fold(format!("\n{head}\n"), |text, line| text + "  " + line + "\n")
}

/// The verdict, a line to be read first.
pub(super) fn verdict(analysis: &Analysis, terminal: &Terminal) -> String {
    let found = Verdict::of(analysis);
    let tone = match (found.closures_failed + found.suspects, found.trails_unchecked) {
        (0, 0) => Tone::Good,
        (0, _) => Tone::Doubtful,
        _ => Tone::Bad,
    };
    format!("{}\n", terminal.toned(tone, &found.sentence()))
}

/// Suspect readings; nothing where there are none.
pub(super) fn suspects(analysis: &Analysis, terminal: &Terminal) -> String {
    laid_out("Suspect readings", &findings::suspects::words(analysis), terminal)
}

/// Legs worth a look; nothing where there are none.
pub(super) fn looks(analysis: &Analysis, terminal: &Terminal) -> String {
    let head = "Worth a look (no check measurement on these legs)";
    laid_out(head, &findings::advice::looks(analysis), terminal)
}

fn laid_out(head: &str, found: &[Finding], terminal: &Terminal) -> String {
    if found.is_empty() {
        return String::new();
    }
    let mut text = format!("\n{}\n", terminal.toned(Tone::Strong, head));
    for Finding { sentence, place, more } in found {
        text += &format!("  {sentence}\n");
        let place = place.iter().map(|place| terminal.toned(Tone::Faint, place));
        for line in place.chain(more.iter().cloned()) {
            text += &format!("    {line}\n");
        }
    }
    text
}

/// The check measurements that would help most; nothing where none would.
pub(super) fn advice(analysis: &Analysis, terminal: &Terminal) -> String {
    let sentences = findings::advice::words(analysis);
    if sentences.is_empty() {
        return String::new();
    }
    let head = terminal.toned(Tone::Strong, "Check measurements worth adding");
    let lines = sentences.into_iter().chain(findings::advice::notes(analysis));
    lines.fold(format!("\n{head}\n"), |text, line| text + "  " + &line + "\n")
}
