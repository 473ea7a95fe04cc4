//! Tables as text.

use std::collections::{BTreeMap, BTreeSet};

pub(crate) type Row = BTreeMap<&'static str, String>;

/// A table; columns that nobody filled are not written.
#[derive(Clone)]
pub(crate) struct Table {
    pub(crate) name: &'static str,
    pub(crate) columns: Vec<&'static str>,
    pub(crate) rows: Vec<Row>,
}

impl Table {
    pub(crate) fn new(name: &'static str, columns: &str, rows: Vec<Row>) -> Self {
        let columns = columns.split_whitespace().map(|word| &*word.to_owned().leak()).collect();
        Self { name, columns, rows }
    }

    pub(crate) fn csv(&self) -> String {
        let filled: BTreeSet<&str> = self
            .rows
            .iter()
            .flat_map(|row| row.iter().filter(|c| !c.1.is_empty()))
            .map(|c| *c.0)
            .collect();
        let columns: Vec<&str> =
            self.columns.iter().copied().filter(|column| filled.contains(column)).collect();
        let line = |cells: Vec<String>| cells.join(",") + "\n";
        let mut text = line(columns.iter().map(|&column| column.to_owned()).collect());
        for row in &self.rows {
            text += &line(columns.iter().map(|column| quoted(row.get(column))).collect());
        }
        text
    }
}

fn quoted(cell: Option<&String>) -> String {
    match cell {
        Some(text) if text.contains([',', '"']) => format!("\"{}\"", text.replace('"', "\"\"")),
        Some(text) => text.clone(),
        None => String::new(),
    }
}

pub(crate) fn yes(is: bool) -> String {
    if is { "yes".to_owned() } else { String::new() }
}
