//! What animals and trails can be compared by: any column of their tables.

use crate::survey::Survey;
use crate::survey::grid::Grid;
use crate::survey::names::Name;
use std::collections::BTreeMap;

/// One column, trail by trail.
#[derive(Clone, Debug, PartialEq)]
pub struct Factor {
    /// The heading.
    pub name: String,
    /// Whether it belongs to the animal, and is the same for all its trails.
    pub of_animal: bool,
    cells: Vec<String>,
    decimal_comma: bool,
}

/// The factor that no table need have: which of an animal's own trails this is, by date.
pub const NIGHT: &str = "night";

impl Factor {
    /// The column headed `name`: of the animals, else of the trails, else [`NIGHT`].
    pub fn of(survey: &Survey, name: &str) -> Option<Self> {
        let column = |grid: Option<&Grid>| grid.and_then(|grid| grid.column(name));
        let comma = |grid: Option<&Grid>| grid.is_some_and(|grid| grid.dialect.decimal_comma);
        let cell = |grid: Option<&Grid>, row: usize, at: usize| {
            grid.map_or(String::new(), |grid| {
                survey.spellings.of(name, grid.cell(row, at)).to_owned()
            })
        };
        let factor = |of_animal, grid, cells| {
            let decimal_comma = comma(grid);
            Some(Self { name: name.to_owned(), of_animal, cells, decimal_comma })
        };
        let animals = survey.grids.animals.as_ref();
        if let Some(at) = column(animals).filter(|_| name != "animal") {
            let of = |row: Option<usize>| row.map_or(String::new(), |row| cell(animals, row, at));
            let rows: BTreeMap<Name, usize> =
                survey.animals.iter().rev().map(|row| (row.animal, row.row)).collect();
            let row = |animal| rows.get(&animal).copied();
            let cells = survey.trails.iter().map(|trail| of(trail.animal.and_then(row)));
            return factor(true, animals, cells.collect());
        }
        let trails = survey.grids.trails.as_ref();
        if let Some(at) = column(trails).filter(|_| name != "trail" && name != "animal") {
            let cells = survey.trails.iter().map(|row| cell(trails, row.row, at));
            return factor(false, trails, cells.collect());
        }
        (name == NIGHT).then(|| factor(false, None, nights(survey))).flatten()
    }

    /// What it says of the trail in row `listed`; `None` where the cell is blank.
    pub fn level(&self, listed: usize) -> Option<&str> {
        self.cells.get(listed).map(String::as_str).filter(|cell| !cell.is_empty())
    }

    /// The number it says of that trail; `None` where the cell is no number.
    pub fn number(&self, listed: usize) -> Option<f64> {
        let cell = self.level(listed)?;
        let point = if self.decimal_comma { cell.replace(',', ".") } else { cell.to_owned() };
        point.parse().ok().filter(|number: &f64| number.is_finite())
    }

    /// Its levels among these trails: numbers by size, words by letter.
    pub fn levels(&self, listed: impl IntoIterator<Item = usize>) -> Vec<String> {
        let mut levels: Vec<(Option<f64>, String)> = listed
            .into_iter()
            .filter_map(|row| Some((self.number(row), self.level(row)?.to_owned())))
            .collect();
        levels.sort_by(|(a, x), (b, y)| match (a, b) {
            (Some(a), Some(b)) => a.total_cmp(b).then_with(|| x.cmp(y)),
            _ => x.cmp(y),
        });
        levels.dedup();
        levels.into_iter().map(|(_, level)| level).collect()
    }
}

/// Which of its animal's trails each one is, by date, then by row; blank without an animal.
fn nights(survey: &Survey) -> Vec<String> {
    let mut order: Vec<usize> = (0..survey.trails.len()).collect();
    order.sort_by_key(|&row| (survey.trails[row].date, row));
    let mut counted: BTreeMap<Name, usize> = BTreeMap::new();
    let mut nights = vec![String::new(); order.len()];
    for row in order {
        if let Some(animal) = survey.trails[row].animal {
            let count = counted.entry(animal).or_default();
            *count += 1;
            nights[row] = count.to_string();
        }
    }
    nights
}
