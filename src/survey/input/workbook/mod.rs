//! The bytes of a workbook into the tables of a survey: `.xlsx` and `.ods`, told apart by what
//! they hold and not by their names.
//!
//! In: bytes, and the settings, which map headings and set limits. Out: a grid for each sheet that
//! has the name of a table, with the faults of its cells. Formulas count by their stored values,
//! dates and times become text as the other tables write it. Parts are unpacked piece by piece, at
//! most [`Settings::limit_unpacked_bytes`] in all, and blank cells take no memory.
//! Left out: everything that a sheet shows and does not say: colours, hidden rows, remarks.
//! Source of the two formats: ECMA-376 part 1 (18.3 worksheets, 18.8 styles) and OASIS
//! `OpenDocument` 1.2 part 1 (9 tables).

mod cell;
mod ods;
mod package;
mod reading;
mod sheet;
mod xlsx;

use super::table::unread;
use crate::maths::quantity::count_of;
use crate::survey::Grids;
use crate::survey::dictionary::{ANCHORS, InputTable, TABLES};
use crate::survey::fault::{Code, Faults, Place, Severity};
use crate::survey::grid::Grid;
use crate::survey::settings::Settings;
use package::Package;
use sheet::Sheet;
use std::collections::BTreeMap;

/// Why a workbook cannot be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Trouble {
    /// It is none, or part of it is lost.
    Damaged,
    /// It is none, but a packed file of another kind.
    Another,
    /// It needs a password.
    Locked,
    /// It is of the kind before `.xlsx`.
    Old,
    /// It unpacks to more than the limit.
    TooLarge,
    /// It holds more text than can be kept while its cells are read.
    TooMuchText,
    /// A fault says why.
    Told,
}

/// A sheet of a workbook.
struct Listed {
    name: String,
    /// Whether it has cells: a sheet may be a chart.
    of_cells: bool,
}

/// Reads the tables of the workbook `file`. Where it cannot be read the anchors come back with
/// their needed headings and no rows, so that no later rule complains of them again.
pub fn read_workbook(file: &str, bytes: &[u8], settings: &Settings, faults: &mut Faults) -> Grids {
    let mut sheets = BTreeMap::new();
    let listed = walk(file, bytes, settings, &mut sheets);
    let mut grids: BTreeMap<&str, Grid> = BTreeMap::new();
    let mut trouble = listed.as_ref().err().copied();
    for (name, sheet) in sheets {
        let (grid, more) = sheet.finish();
        faults.append(more);
        match grid {
            Ok(grid) => drop(grids.insert(name, grid)),
            Err(more) => trouble = trouble.or(Some(more)),
        }
    }
    match trouble {
        Some(trouble) => tell(trouble, file, settings, faults),
        None => tell_missing(file, &listed.unwrap_or_default(), &grids, faults),
    }
    if trouble.is_some() {
        grids.clear();
    }
    let mut incomplete = trouble.is_some();
    let mut take = |table: &InputTable| {
        let grid = grids.remove(table.name);
        incomplete |= grid.as_ref().is_some_and(Grid::is_empty);
        // a table without rows is as good as none, but the headings of the anchors are still judged
        grid.filter(|grid| !grid.is_empty() || table.name == ANCHORS.name)
    };
    let [anchors, ties, controls, trails, animals, available] = TABLES.map(&mut take);
    let anchors = anchors.unwrap_or_else(|| unread(file, &ANCHORS));
    Grids { anchors, ties, controls, trails, animals, available, incomplete }
}

/// Hands each cell to the sheet of its name.
fn walk<'s>(
    file: &str,
    bytes: &[u8],
    settings: &'s Settings,
    sheets: &mut BTreeMap<&'static str, Sheet<'s>>,
) -> Result<Vec<Listed>, Trouble> {
    /// What files begin with that hold other files in the way of the years before 2007.
    const COMPOUND: &[u8] = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1";
    if bytes.starts_with(COMPOUND) {
        return Err(if holds_wide(bytes, "EncryptedPackage") {
            Trouble::Locked
        } else {
            Trouble::Old
        });
    }
    let mut package = Package::open(bytes, settings.limit_unpacked_bytes as u64)?;
    let wanted = |name: &str| TABLES.iter().any(|table| table.name == name);
    let visit = |name: &str, found| {
        let table = TABLES.iter().find(|table| table.name == name).ok_or(Trouble::Damaged)?;
        let sheet = sheets.entry(table.name);
        sheet.or_insert_with(|| Sheet::new(file, table, settings)).take(found)
    };
    if ods::is(&mut package)? {
        ods::walk(&mut package, wanted, visit)
    } else if xlsx::is(&mut package)? {
        xlsx::walk(&mut package, wanted, visit)
    } else {
        Err(Trouble::Another)
    }
}

/// Whether a text stands in `bytes` in letters of two bytes each.
fn holds_wide(bytes: &[u8], text: &str) -> bool {
    let wide: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    bytes.windows(wide.len()).any(|window| window == wide)
}

fn tell(trouble: Trouble, file: &str, settings: &Settings, faults: &mut Faults) {
    let limit = count_of(settings.limit_unpacked_bytes, "byte");
    let (code, found, expected, hint) = match trouble {
        Trouble::Told => return,
        Trouble::TooLarge => (
            Code::FileTooLarge,
            "a workbook that unpacks to more than its limit".to_owned(),
            format!("at most {limit} unpacked"),
            "limits.unpacked_bytes in survey.toml, or --set limits.unpacked_bytes=NUMBER, raises \
             the limit",
        ),
        Trouble::TooMuchText => (
            Code::FileTooLarge,
            "a workbook with more or longer texts than any survey".to_owned(),
            "texts in cells, as people write them".to_owned(),
            "save the tables as CSV, or copy them into a new workbook",
        ),
        Trouble::Locked => (
            Code::UnreadableFile,
            "a workbook that is locked with a password".to_owned(),
            "a workbook that can be read".to_owned(),
            "save it without a password",
        ),
        Trouble::Old => (
            Code::UnreadableFile,
            "a workbook of the old kind, or another program's file".to_owned(),
            "an .xlsx or .ods workbook".to_owned(),
            "open it in a spreadsheet program and save it as .xlsx or .ods",
        ),
        Trouble::Another => (
            Code::UnreadableFile,
            "a packed file that is no workbook".to_owned(),
            "an .xlsx or .ods workbook".to_owned(),
            "was another file given this name? save the tables as .xlsx, .ods or CSV",
        ),
        Trouble::Damaged => (
            Code::UnreadableFile,
            "no workbook, or a damaged one".to_owned(),
            "an .xlsx or .ods workbook".to_owned(),
            "open it in a spreadsheet program and save it again; was it copied to its end?",
        ),
    };
    faults.error(code, Place::file(file)).found(found).expected(expected).hint(hint);
}

/// Says that the anchors are missing, or that another sheet may be misnamed.
fn tell_missing(file: &str, listed: &[Listed], grids: &BTreeMap<&str, Grid>, faults: &mut Faults) {
    for table in TABLES.iter().filter(|table| !grids.contains_key(table.name)) {
        let needed = table.name == ANCHORS.name;
        let severity = if needed { Severity::Error } else { Severity::Warning };
        let place = Place { sheet: Some(table.name.into()), ..Place::file(file) };
        if let Some(own) = listed.iter().find(|sheet| sheet.name == table.name) {
            let (code, found) = if own.of_cells {
                (Code::EmptyTable, "a blank sheet")
            } else {
                (Code::NotASurvey, "a chart")
            };
            faults
                .report(code, severity, place)
                .found(found)
                .expected(format!("a sheet with headings and one row per {}", table.row))
                .hint("was the right sheet saved?");
        } else if let Some(near) = listed.iter().find(|sheet| looks_like(&sheet.name, table.name)) {
            faults
                .report(Code::MissingTable, severity, place)
                .found(format!("a sheet named {}", near.name))
                .expected(format!("a sheet named {}", table.name))
                .hint(format!("{} is not read; rename it if it is meant", near.name));
        } else if needed {
            let names: Vec<&str> =
                listed.iter().take(12).map(|sheet| sheet.name.as_str()).collect();
            faults
                .report(Code::MissingTable, severity, place)
                .found(format!("the sheets {}", names.join(", ")))
                .expected("a sheet named anchors, the one table every survey needs")
                .hint("rename the sheet with one row for each marked point to anchors");
        }
    }
}

/// Whether a sheet is named as a table in another case, with blanks, or in the singular or plural.
fn looks_like(name: &str, table: &str) -> bool {
    let plain = name.trim().to_lowercase();
    plain.trim_end_matches('s') == table.trim_end_matches('s')
}
