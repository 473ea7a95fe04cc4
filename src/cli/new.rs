//! `new`: starts a survey in a folder of its own.

use super::args::NewArgs;
use super::terminal::Terminal;
use super::{Failure, output};
use crate::products::sheet::{Choice, FIELD_SHEET, WORKBOOK, files};
use serde_json::json;

pub(super) fn run(args: &NewArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let choice = Choice::new(&args.columns, &args.codes)
        .map_err(|wrong| Failure::Usage(wrong.join("\n           ")))?;
    let target = output::new_target(&args.dir)?;
    let files = files(&choice, args.paper).map_err(|error| Failure::Machine(error.to_string()))?;
    output::write_new(&files, &target)?;
    let shown = args.dir.display();
    if args.print.json {
        let names: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
        terminal.print(&format!("{}\n", json!({"out": args.dir, "files": names})))?;
    } else if !args.print.quiet {
        terminal.print(&format!(
            "A new survey in {shown}\n\n\
             \x20 {FIELD_SHEET:16} to print and take along\n\
             \x20 {WORKBOOK:16} to type it in: a sheet a table, with lists and ranges\n\
             \x20 {:16} the same tables as text, if you prefer that to the workbook\n\
             \x20 {:16} instruments, declination and so on, each explained\n\n\
             Fill in the workbook or the tables as text, not both. Then: perchline check {shown}\n",
            "anchors.csv …", "survey.toml",
        ))?;
    }
    terminal.flush()
}
