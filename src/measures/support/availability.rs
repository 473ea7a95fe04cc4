//! What was on offer to each animal.

use super::classes::Division;
use crate::survey::Survey;
use crate::survey::dictionary;
use crate::survey::names::Name;
use crate::survey::rows::AvailableRow;
use std::collections::BTreeMap;

/// What was on offer, of supports or of plants.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// Supports or plants.
    pub division: Division,
    /// Every class on offer to anybody, in the order of the table.
    pub classes: Vec<Name>,
    rows: Vec<OfferRow>,
}

/// One row of the table, with the cells of its group columns.
#[derive(Clone, Debug, PartialEq)]
struct OfferRow {
    class: usize,
    amount: f64,
    /// Sample points that found it; `None` where nobody sampled.
    points: Option<f64>,
    animal: Option<Name>,
    groups: Vec<(String, String)>,
}

/// What an `available` row is of.
pub fn class_of(row: &AvailableRow, division: Division) -> Option<Name> {
    if division == Division::Support { row.support } else { row.plant }
}

/// Columns of `available` by which what was on offer differs: those that the animals or the trails
/// have as well. Others are the user's own and say nothing.
pub fn group_columns(survey: &Survey) -> Vec<&str> {
    let Some(grid) = survey.grids.available.as_ref() else { return Vec::new() };
    let whose = [survey.grids.animals.as_ref(), survey.grids.trails.as_ref()];
    let divides = |heading: &&str| {
        dictionary::AVAILABLE.column(heading).is_none()
            && whose.iter().flatten().any(|other| other.column(heading).is_some())
    };
    grid.headings().iter().map(|heading| heading.as_ref()).filter(divides).collect()
}

/// What the survey says was on offer of this division; `None` where it says nothing.
pub fn offer(survey: &Survey, division: Division) -> Option<Offer> {
    let grid = survey.grids.available.as_ref()?;
    let columns = group_columns(survey);
    let mut classes: Vec<Name> = Vec::new();
    let mut rows = Vec::new();
    for row in survey.available.iter().filter(|row| row.beside.is_none()) {
        let Some(name) = class_of(row, division) else { continue };
        let class = classes.iter().position(|known| *known == name).unwrap_or_else(|| {
            classes.push(name);
            classes.len() - 1
        });
        let cell = |heading: &&str| {
            let text = survey.spellings.of(heading, grid.cell(row.row, grid.column(heading)?));
            (!text.is_empty()).then(|| ((*heading).to_owned(), text.to_owned()))
        };
        let groups = columns.iter().filter_map(cell).collect();
        rows.push(OfferRow {
            class,
            amount: row.amount,
            points: row.points,
            animal: row.animal,
            groups,
        });
    }
    (!classes.is_empty()).then_some(Offer { division, classes, rows })
}

impl Offer {
    /// The share of each class on offer to `animal`, which stands in these groups by column, and how
    /// many sample points say so, if points do; `None` where nothing was on offer to it. Rows that
    /// name it hold for it alone.
    pub fn shares(
        &self,
        animal: Name,
        groups: &BTreeMap<String, String>,
    ) -> Option<(Vec<f64>, Option<f64>)> {
        let fits = |row: &&OfferRow| {
            row.groups.iter().all(|(column, level)| groups.get(column) == Some(level))
        };
        let own = |row: &&OfferRow| row.animal == Some(animal) && fits(row);
        let named = self.rows.iter().any(|row| own(&row));
        let mut amounts = vec![0.0; self.classes.len()];
        let mut points = Some(0.0);
        let whose = named.then_some(animal);
        for row in self.rows.iter().filter(fits).filter(|row| row.animal == whose) {
            amounts[row.class] += row.amount;
            points = points.zip(row.points).map(|(sum, own)| sum + own);
        }
        let total: f64 = amounts.iter().sum();
        let points = points.filter(|points| *points > 0.0);
        (total > 0.0).then(|| (amounts.iter().map(|amount| amount / total).collect(), points))
    }
}
