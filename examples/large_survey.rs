//! A survey larger than any study's, to measure time and memory on; the commands of
//! `docs/performance.md`.
//!
//! `cargo run --release --example large_survey -- FOLDER TRAILS ANCHORS EVERY` writes TRAILS trails
//! of ANCHORS anchors into FOLDER, with a tie at every EVERY-th anchor.

#![expect(clippy::disallowed_methods, reason = "it writes a survey to measure on")]

use rows::{HEADINGS, rows};
use std::error::Error;
use std::fs;
use std::path::Path;

#[path = "../benches/chain/rows.rs"]
mod rows;

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [folder, numbers @ ..] = arguments.as_slice() else {
        return Err("usage: large_survey FOLDER TRAILS ANCHORS EVERY".into());
    };
    let numbers: Vec<usize> = numbers.iter().map(|text| text.parse()).collect::<Result<_, _>>()?;
    let [trails, anchors, every] = numbers[..] else {
        return Err("usage: large_survey FOLDER TRAILS ANCHORS EVERY".into());
    };
    let mut tables = HEADINGS.map(str::to_owned);
    for trail in 1..=trails {
        let name = if trails == 1 { "T".to_owned() } else { format!("T{trail}") };
        let own = rows(&name, anchors.saturating_sub(1), every.max(1));
        tables.iter_mut().zip(own).for_each(|(table, own)| table.push_str(&own));
    }
    fs::create_dir_all(folder)?;
    for (name, table) in ["anchors.csv", "ties.csv"].iter().zip(tables) {
        fs::write(Path::new(folder).join(name), table)?;
    }
    Ok(())
}
