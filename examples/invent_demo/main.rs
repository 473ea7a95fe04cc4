//! Invents the demo surveys: edible dormice in a beech–fir wood that is nowhere.
//!
//! ```text
//! cargo run --example invent_demo -- demo
//! ```
//!
//! Three small models, one after the other: the **habit** of a dormouse (a walk on the ground from
//! tree to tree, climbs, moves along branches, home to a refuge), the **instruments** that measure
//! its thread (one standard deviation each as the defaults of `survey.toml` say, no error beyond
//! two of them, rounded as people write), and the **sheets** on which they are written. From the
//! sheets as corrected follow the sheets as first typed, with the slips of [`SLIPS`], which are
//! printed for `demo/README.md`. It shares no code with the library, so that it can test it.
//!
//! Left out: an anchor that is not met again exactly, slack thread, trees that lean.

#![expect(clippy::disallowed_methods, reason = "needs no unit types and writes its own files")]
#![expect(clippy::print_stdout, reason = "the list of slips goes into the readme")]
#![expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "small numbers")]

mod chance;
mod crew;
mod sheet;
mod slips;
mod study;
mod survey;
mod table;
mod walk;
mod wood;

use slips::{SLIPS, make};
use std::env;
use std::fs;
use std::io;
use std::path::Path;
use survey::{SETTINGS, survey};
use table::Table;

fn save(folder: &Path, tables: &[Table]) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    fs::write(folder.join("survey.toml"), SETTINGS)?;
    tables
        .iter()
        .try_for_each(|table| fs::write(folder.join(table.name).with_extension("csv"), table.csv()))
}

fn main() -> io::Result<()> {
    let folder = env::args().nth(1).unwrap_or_else(|| "demo".to_owned());
    let mut tables = survey();
    save(&Path::new(&folder).join("dormice"), &tables)?;
    println!("| table | row | of | column | written | was | found by |");
    println!("|---|---|---|---|---|---|---|");
    for slip in SLIPS.lines().skip(1) {
        let line = make(slip, &mut tables);
        println!("{}", line.ok_or_else(|| io::Error::other(format!("no place for {slip}")))?);
    }
    save(&Path::new(&folder).join("dormice-as-written"), &tables)
}
