//! From trails to animals: the average of each animal's own trails.

use crate::survey::Survey;
use crate::survey::names::Name;
use std::collections::{BTreeMap, BTreeSet};

/// Whose trail is whose.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Roster {
    /// Each animal with the rows of its trails, in the order of the animals table.
    pub animals: Vec<(Name, Vec<usize>)>,
    /// Trails of no animal: nobody can say how many animals they are.
    pub nameless: Vec<Name>,
    /// Animals of the table without any trail.
    pub idle: Vec<Name>,
}

impl Roster {
    /// The animals whose trails stand in these rows of the trails table.
    pub fn of(survey: &Survey, listed: &[usize]) -> Self {
        let mut roster = Self::default();
        let mut own: BTreeMap<Name, Vec<usize>> = BTreeMap::new();
        for &row in listed {
            if let Some(animal) = survey.trails[row].animal {
                own.entry(animal).or_default().push(row);
            }
        }
        let of_trails = listed.iter().filter_map(|&row| survey.trails[row].animal);
        let in_order = survey.animals.iter().map(|row| row.animal).chain(of_trails);
        let mut met = BTreeSet::new();
        for animal in in_order.filter(|animal| met.insert(*animal)) {
            match own.remove(&animal) {
                Some(trails) => roster.animals.push((animal, trails)),
                None => roster.idle.push(animal),
            }
        }
        let nameless = listed.iter().filter(|&&row| survey.trails[row].animal.is_none());
        roster.nameless = nameless.map(|&row| survey.trails[row].trail).collect();
        roster
    }
}

/// One metric of one trail.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrailValue {
    /// Its row in the trails table.
    pub listed: usize,
    /// The value.
    pub value: f64,
    /// Its standard error by measurement.
    pub se: Option<f64>,
    /// Whether the true value is at least this.
    pub at_least: bool,
}

/// One metric of one animal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AnimalValue {
    /// The animal.
    pub animal: Name,
    /// How many trails it is the mean of.
    pub trails: usize,
    /// The mean of its trails.
    pub value: f64,
    /// The standard error of that mean by measurement alone; `None` where some trail has none.
    pub se: Option<f64>,
    /// Whether some trail's value is a lower bound.
    pub at_least: bool,
}

/// Each animal's mean over those of its trails that `take`s; animals without any are left out.
pub fn averages(
    roster: &Roster,
    values: &[TrailValue],
    take: impl Fn(usize) -> bool,
) -> Vec<AnimalValue> {
    let by_row: BTreeMap<usize, &TrailValue> =
        values.iter().map(|value| (value.listed, value)).collect();
    let of = |(animal, trails): &(Name, Vec<usize>)| {
        let own = trails.iter().filter(|row| take(**row));
        let own: Vec<&TrailValue> = own.filter_map(|row| by_row.get(row).copied()).collect();
        let count = own.len() as f64;
        let variance: Option<f64> =
            own.iter().map(|value| value.se.map(|se| se * se)).sum::<Option<f64>>();
        (!own.is_empty()).then(|| AnimalValue {
            animal: *animal,
            trails: own.len(),
            value: own.iter().map(|value| value.value).sum::<f64>() / count,
            se: variance.map(|variance| variance.sqrt() / count),
            at_least: own.iter().any(|value| value.at_least),
        })
    };
    roster.animals.iter().filter_map(of).collect()
}
