//! The tables of a survey from its folder: as files of text, or as the sheets of one workbook.
//!
//! In: a [`Folder`] and the settings. Out: [`Grids`], and a fault for each table that is missing,
//! misnamed, or there and not read.

use super::disk::ReadError;
use super::folder::Folder;
use crate::maths::quantity::count_of;
use crate::survey::Grids;
use crate::survey::dictionary::{
    ANCHORS, ANIMALS, AVAILABLE, CONTROLS, InputTable, TABLES, TIES, TRAILS,
};
use crate::survey::fault::{Code, Place, Severity};
use crate::survey::grid::Grid;
use crate::survey::input::csv::read_grid;
use crate::survey::input::file_names::{file_of, is_workbook_name};
use crate::survey::input::table::{is_number, prove_comma, unread};
use crate::survey::input::workbook::read_workbook;
use crate::survey::settings::Settings;

/// Faults of a table of anchors that is not there or has no rows, so that a workbook may hold them.
const NO_ANCHORS: [Code; 2] = [Code::MissingTable, Code::EmptyTable];
/// How a raised limit is written, for the hint of a refused file.
const RAISE_BYTES: &str =
    "limits.bytes in survey.toml, or --set limits.bytes=NUMBER, raises the limit";

impl Folder<'_> {
    /// The tables of the workbook `name`.
    pub(super) fn workbook(&mut self, name: &str, settings: &Settings) -> Result<Grids, ReadError> {
        match self.bytes(name, settings.limit_bytes as u64, RAISE_BYTES)? {
            Some(bytes) => Ok(read_workbook(name, &bytes, settings, &mut self.faults)),
            None => {
                Ok(Grids { anchors: unread(name, &ANCHORS), incomplete: true, ..Grids::default() })
            }
        }
    }

    /// The tables: from files of text where those hold the anchors, else from the workbook.
    pub(super) fn tables(&mut self, settings: &Settings) -> Result<Grids, ReadError> {
        let workbooks: Vec<String> =
            self.names.iter().filter(|name| is_workbook_name(name)).cloned().collect();
        let before = std::mem::take(&mut self.faults);
        let anchors = self.grid(&ANCHORS, settings)?;
        let of_anchors = std::mem::replace(&mut self.faults, before);
        let none_there = anchors.as_ref().is_none_or(Grid::is_empty)
            && of_anchors.sorted().iter().all(|fault| NO_ANCHORS.contains(&fault.code));
        match workbooks.as_slice() {
            [only] if none_there => {
                self.incomplete = false;
                self.tell_tables_not_read(only, settings)?;
                return self.workbook(only, settings);
            }
            [_, ..] if none_there => self.tell_workbooks(&workbooks),
            others => {
                self.faults.append(of_anchors);
                for other in others {
                    self.tell_workbook_not_read(other);
                }
            }
        }
        self.grids(anchors, settings)
    }

    /// Warns of each table of text that has rows while the survey is read from `workbook`.
    fn tell_tables_not_read(
        &mut self,
        workbook: &str,
        settings: &Settings,
    ) -> Result<(), ReadError> {
        for table in TABLES {
            let (before, incomplete) = (std::mem::take(&mut self.faults), self.incomplete);
            let grid = self.grid(table, settings)?;
            (self.faults, self.incomplete) = (before, incomplete);
            let Some(grid) = grid.filter(|grid| !grid.is_empty()) else { continue };
            self.faults
                .warn(Code::TableNotRead, grid.whole())
                .found(count_of(grid.len(), "row"))
                .expected(format!("all tables in one place: the anchors are in {workbook}"))
                .hint(format!("not read; copy the rows into the sheet {} there", table.name));
        }
        Ok(())
    }

    fn tell_workbook_not_read(&mut self, workbook: &str) {
        self.faults
            .note(Code::TableNotRead, Place::file(workbook))
            .found("a workbook beside anchors.csv")
            .expected("all tables in one place: the anchors are in anchors.csv")
            .hint("not read; to have it read, name the workbook instead of the folder");
    }

    fn tell_workbooks(&mut self, workbooks: &[String]) {
        self.faults
            .error(Code::MissingTable, Place::file(&file_of(&ANCHORS)))
            .found(format!("no anchors as text, and the workbooks {}", workbooks.join(", ")))
            .expected("one workbook, or tables as text")
            .hint("name the workbook that is meant instead of the folder");
        self.incomplete = true;
    }

    fn grids(&mut self, anchors: Option<Grid>, settings: &Settings) -> Result<Grids, ReadError> {
        let mut grids = Grids {
            anchors: anchors.unwrap_or_else(|| unread(&file_of(&ANCHORS), &ANCHORS)),
            ties: self.grid(&TIES, settings)?,
            controls: self.grid(&CONTROLS, settings)?,
            trails: self.grid(&TRAILS, settings)?,
            animals: self.grid(&ANIMALS, settings)?,
            available: self.grid(&AVAILABLE, settings)?,
            incomplete: false,
        };
        grids.incomplete = self.incomplete;
        Ok(grids)
    }

    /// The table, if it is there and can be read.
    fn grid(&mut self, table: &InputTable, settings: &Settings) -> Result<Option<Grid>, ReadError> {
        let file = file_of(table);
        let Some(bytes) = self.bytes(&file, settings.limit_bytes as u64, RAISE_BYTES)? else {
            self.incomplete |= self.holds(&file) || self.tell_missing(table);
            return Ok(None);
        };
        let mut grid = read_grid(&file, &bytes, table, settings.limit_rows, &mut self.faults);
        // a column under a heading of the user's own may prove the comma as well
        prove_comma(&mut grid, |own| {
            settings
                .columns
                .iter()
                .any(|(heading, mapped)| mapped == own && is_number(table, heading))
        });
        self.incomplete |= grid.is_empty();
        // a table without rows is as good as none, but the headings of the anchors are still judged
        Ok(Some(grid).filter(|grid| !grid.is_empty() || table.name == ANCHORS.name))
    }

    /// Says that the anchors are missing, or that another table may be misnamed; returns whether
    /// it said anything.
    fn tell_missing(&mut self, table: &InputTable) -> bool {
        let needed = table.name == ANCHORS.name;
        let severity = if needed { Severity::Error } else { Severity::Warning };
        let file = file_of(table);
        let told = self.tell_look_alike(Code::MissingTable, severity, &file);
        if told || !needed {
            return told;
        }
        let place = Place::file(&file);
        self.faults
            .error(Code::MissingTable, place)
            .found("no such file")
            .expected("the table of anchors, the one table every survey needs, or a workbook")
            .hint("is this the folder of the survey?");
        true
    }
}
