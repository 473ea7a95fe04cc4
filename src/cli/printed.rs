//! The printed tables as CSV, each by itself, and as Markdown, all as they stand in a paper.

use crate::results::cell::csv_line;
use crate::results::printed::Printed;

/// One table as CSV.
pub(super) fn csv(table: &Printed) -> Vec<u8> {
    let mut out = Vec::new();
    csv_line(&table.heads, &mut out);
    table.rows.iter().for_each(|row| csv_line(row, &mut out));
    out
}

/// All tables, with their titles and notes.
pub(super) fn markdown(tables: &[Printed]) -> String {
    let mut text = String::new();
    for (at, table) in tables.iter().enumerate() {
        text += &format!("**Table {}.** {}\n\n", at + 1, table.title);
        text += &line(&table.heads);
        text += &line(&vec!["---".to_owned(); table.heads.len()]);
        table.rows.iter().for_each(|row| text += &line(row));
        text += &format!("\n{}\n\n", table.notes.join(" "));
    }
    text
}

fn line(cells: &[String]) -> String {
    let cells: Vec<String> = cells.iter().map(|cell| plain(cell)).collect();
    format!("| {} |\n", cells.join(" | "))
}

/// A cell or caption may hold anything a user wrote: what Markdown or a browser would take for its
/// own is made plain text.
pub(super) fn plain(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('|', "\\|").replace(['\n', '\r'], " ")
}
