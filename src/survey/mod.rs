//! The survey as written: rows of the tables, names, settings, and what each input column means.
//!
//! In: a [`Grid`] of text cells for each table, and the text of `survey.toml`. Out: a [`Survey`]
//! of typed rows, with the faults found on the way. A blank cell is `None`, never zero.
//! Assumes nothing of the order of columns; unknown columns stay in the grid and are passed on.
//! Left out: what only makes sense between rows (`results/rules`), and where the bytes came from
//! (`survey/input`).

pub mod dictionary;
pub mod elevations;
pub mod fault;
pub mod grid;
mod headings;
pub mod input;
pub mod leg_support;
pub mod load;
pub mod looks;
pub mod names;
mod nearest;
mod number;
mod read;
mod reading;
pub mod rows;
pub mod settings;
mod sides;
pub mod sources;
pub mod spellings;
pub mod twins;

use crate::maths::quantity::Length;
use crate::survey::fault::Place;
use elevations::ElevationRaster;
use grid::Grid;
use names::{Name, Names};
use rows::{AnchorRow, AnimalRow, AvailableRow, ControlRow, TieRow, TrailRow};
use settings::Settings;
use spellings::Spellings;
use twins::Twins;

pub use nearest::nearest;
pub use read::read_tables;

/// The tables of a survey as text, each where it was found.
#[derive(Debug, Default)]
pub struct Grids {
    /// The only needed table.
    pub anchors: Grid,
    /// Check measurements.
    pub ties: Option<Grid>,
    /// Known points.
    pub controls: Option<Grid>,
    /// One row a thread.
    pub trails: Option<Grid>,
    /// One row an animal.
    pub animals: Option<Grid>,
    /// What was on offer.
    pub available: Option<Grid>,
    /// Whether some table is there of which nothing could be read, so that what it holds is not
    /// known.
    pub incomplete: bool,
}

/// A survey as written: everything typed, nothing repaired.
#[derive(Debug, Default)]
pub struct Survey {
    /// All settings, defaults filled in.
    pub settings: Settings,
    /// Every name that stands in a table, once.
    pub names: Names,
    /// Rows of `anchors`, in walking order.
    pub anchors: Vec<AnchorRow>,
    /// Rows of `ties`.
    pub ties: Vec<TieRow>,
    /// Rows of `controls`.
    pub controls: Vec<ControlRow>,
    /// Rows of `trails`.
    pub trails: Vec<TrailRow>,
    /// Rows of `animals`.
    pub animals: Vec<AnimalRow>,
    /// Rows of `available`.
    pub available: Vec<AvailableRow>,
    /// The names that a reader would take for one.
    pub twins: Twins,
    /// The one spelling of groups that are written in several ways.
    pub spellings: Spellings,
    /// The raster of the ground, where the settings name one that can be read.
    pub elevations: Option<ElevationRaster>,
    /// The tables as text, for places of faults and for columns that are passed on.
    pub grids: Grids,
}

impl Survey {
    /// The text of a name.
    pub fn text(&self, name: Name) -> &str {
        self.names.text(name)
    }

    /// Every column of animals and trails that may be compared by, as headed.
    pub fn factor_columns(&self) -> Vec<&str> {
        let grids = [&self.grids.animals, &self.grids.trails].into_iter().flatten();
        let all = grids.flat_map(|grid| grid.headings()).map(AsRef::as_ref);
        all.filter(|heading| !matches!(*heading, "" | "animal" | "trail" | "note")).collect()
    }

    /// The place of a column in row `index` of the anchors.
    pub fn anchor_place(&self, index: usize, column: &str) -> Place {
        self.grids.anchors.place(index, column)
    }

    /// The place of a column in row `index` of the ties.
    pub fn tie_place(&self, index: usize, column: &str) -> Place {
        place_in(self.grids.ties.as_ref(), "ties", index, column)
    }

    /// The place of a column in row `index` of the controls.
    pub fn control_place(&self, index: usize, column: &str) -> Place {
        place_in(self.grids.controls.as_ref(), "controls", index, column)
    }

    /// The place of a column in row `index` of the trails.
    pub fn trail_place(&self, index: usize, column: &str) -> Place {
        place_in(self.grids.trails.as_ref(), "trails", index, column)
    }

    /// The place of a column in row `index` of the animals.
    pub fn animal_place(&self, index: usize, column: &str) -> Place {
        place_in(self.grids.animals.as_ref(), "animals", index, column)
    }

    /// The place of a column in row `index` of what was on offer.
    pub fn available_place(&self, index: usize, column: &str) -> Place {
        place_in(self.grids.available.as_ref(), "available", index, column)
    }

    /// The row of the trails table that names `trail`.
    pub fn trail_row(&self, trail: Name) -> Option<&TrailRow> {
        self.trails.iter().find(|row| row.trail == trail)
    }

    /// The row of the animals table that names `animal`.
    pub fn animal_row(&self, animal: Name) -> Option<&AnimalRow> {
        self.animals.iter().find(|row| row.animal == animal)
    }

    /// The row of the controls table that names `control`.
    pub fn control_row(&self, control: Name) -> Option<&ControlRow> {
        self.controls.iter().find(|row| row.control == control)
    }

    /// The whole stretch of thread that a trail's weights give, where both were weighed and the
    /// weight of a metre can be told: `None` until a survey states it.
    pub fn thread_by_weight(&self, trail: &TrailRow) -> Option<Length> {
        let used = trail.bobbin_before_g? - trail.bobbin_after_g?;
        let per_metre = self.settings.thread_g_per_m?;
        Some(Length::from_metres(used / per_metre))
    }
}

fn place_in(grid: Option<&Grid>, table: &str, index: usize, column: &str) -> Place {
    grid.map_or_else(|| Place::file(table), |grid| grid.place(index, column))
}
