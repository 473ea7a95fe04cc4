//! The spread of one metric in a survey that has been made: a pilot.
//!
//! In: an analysis, a metric and part, and the column that divides the animals. Out: a
//! [`PilotSurvey`], or a sentence that says why it tells nothing. Values, animals and levels are those that
//! `compare` compares. Trails of an animal on one date are one night; a trail without a date is a night of
//! its own. Left out: what a trail that was cut short would have added; how long a trail lasted.

use crate::maths::statistics::describe::{mean, sd};
use crate::maths::statistics::means::skewness;
use crate::maths::statistics::power::{Pilot, PilotValue, spread_of_pilot};
use crate::measures::compare::factors::Factor;
use crate::measures::metrics::Metric;
use crate::results::Analysis;
use crate::results::answer::people;
use crate::results::comparison::{roster, trail_values};
use crate::survey::nearest;
use std::collections::{BTreeMap, BTreeSet};

/// Fewest animals by which skewness is judged, and from which size on it is told.
const FEWEST_FOR_SKEW: usize = 6;
const STRONGLY_SKEWED: f64 = 1.0;

/// What a pilot survey tells of one metric.
#[derive(Clone, Debug)]
pub struct PilotSurvey {
    /// The spread.
    pub pilot: Pilot,
    /// Each group in words with its number of animals; one of all animals where nothing divides them.
    pub groups: Vec<(String, usize)>,
    /// Whether a column divides the animals.
    pub divided: bool,
    /// Trails with a value.
    pub trails: usize,
    /// Trails whose value has a standard error by measurement.
    pub with_error: usize,
    /// Animals of two nights and more.
    pub with_nights: usize,
    /// Trails whose value is a minimum.
    pub at_least: usize,
    /// Trails of more than one night, which count as one value.
    pub long: usize,
    /// Animals with a value that the column says nothing of.
    pub undivided: usize,
    /// Whether the means of animals about those of their groups are strongly skewed to the right.
    pub skewed: bool,
}

/// The pilot that a survey is. Without a column all of its animals are one group.
///
/// # Errors
/// A sentence that says why it tells nothing.
pub fn of_survey(
    analysis: &Analysis,
    by: Option<&str>,
    metric: Metric,
    part: usize,
) -> Result<PilotSurvey, String> {
    let factor = by.map(|name| dividing(analysis, name)).transpose()?;
    let trails = Trails::of(analysis, factor.as_ref(), metric, part);
    let levels: Vec<String> = match &factor {
        Some(factor) => factor.levels(trails.rows.iter().copied()),
        None => Vec::new(),
    };
    if let Some(factor) = factor.as_ref().filter(|_| levels.len() != 2) {
        return Err(not_two(&factor.name, &levels));
    }
    let group = |row: usize| match &factor {
        Some(factor) => levels.iter().position(|level| Some(level.as_str()) == factor.level(row)),
        None => Some(0),
    };
    let values = trails.values(&group);
    let name = metric.entry().name;
    let pilot = spread_of_pilot(&values).ok_or_else(|| {
        format!(
            "the pilot tells no spread of {name}: it takes two animals of one group with values \
             that differ"
        )
    })?;
    let words = |level: &String| factor.as_ref().map(|factor| people(&factor.name, level));
    let mut names: Vec<String> = levels.iter().filter_map(words).collect();
    if factor.is_none() {
        names.push("animals".to_owned());
    }
    Ok(trails.told(pilot, names, &values))
}

/// The column by which animals are divided.
fn dividing(analysis: &Analysis, name: &str) -> Result<Factor, String> {
    let survey = &analysis.survey;
    let factor = Factor::of(survey, name).ok_or_else(|| {
        let known = survey.factor_columns();
        let meant = nearest(name, known.iter().copied());
        let meant = meant.map_or(String::new(), |meant| format!(" (is {meant} meant?)"));
        format!("the pilot has no column {name}{meant}; there are {}", known.join(", "))
    })?;
    if factor.of_animal {
        return Ok(factor);
    }
    Err(format!(
        "{name} divides trails and not animals: a forecast by it is that of the same animals twice, \
         --pairs"
    ))
}

fn not_two(name: &str, levels: &[String]) -> String {
    match levels {
        [] => format!("{name} is blank for every animal of the pilot: there are no groups"),
        [only] => format!(
            "the pilot has no two groups: {name} is {only} for all of its animals. Without --by \
             they are one group, whose spread serves for both"
        ),
        more => format!(
            "a forecast is of two groups, and {name} has {}: {}",
            more.len(),
            more.iter().take(8).cloned().collect::<Vec<_>>().join(", ")
        ),
    }
}

/// The trails that have a value.
struct Trails<'a> {
    analysis: &'a Analysis,
    /// Rows of the trails table.
    rows: Vec<usize>,
    /// Value, standard error, and whether it is a minimum, in the same order.
    values: Vec<(f64, Option<f64>, bool)>,
    /// The number of each trail's animal.
    animals: Vec<usize>,
    undivided: usize,
}

impl<'a> Trails<'a> {
    /// Those of animals that the column says something of.
    fn of(analysis: &'a Analysis, factor: Option<&Factor>, metric: Metric, part: usize) -> Self {
        let roster = roster(analysis);
        let numbers: BTreeMap<usize, usize> = roster
            .animals
            .iter()
            .enumerate()
            .flat_map(|(number, (_, rows))| rows.iter().map(move |row| (*row, number)))
            .collect();
        let mut trails =
            Self { analysis, rows: vec![], values: vec![], animals: vec![], undivided: 0 };
        let mut left_out = BTreeSet::new();
        for value in trail_values(analysis, metric, part) {
            let Some(&animal) = numbers.get(&value.listed) else { continue };
            if factor.is_some_and(|factor| factor.level(value.listed).is_none()) {
                left_out.insert(animal);
                continue;
            }
            trails.rows.push(value.listed);
            trails.values.push((value.value, value.se, value.at_least));
            trails.animals.push(animal);
        }
        trails.undivided = left_out.len();
        trails
    }

    /// One value a trail. Trails of one date share a night.
    fn values(&self, group: &dyn Fn(usize) -> Option<usize>) -> Vec<PilotValue> {
        let survey = &self.analysis.survey;
        let dates: BTreeSet<_> = survey.trails.iter().filter_map(|trail| trail.date).collect();
        let night = |row: usize| {
            let dated =
                survey.trails[row].date.and_then(|date| dates.iter().position(|d| *d == date));
            dated.unwrap_or(dates.len() + row)
        };
        let all = self.rows.iter().zip(&self.values).zip(&self.animals);
        all.filter_map(|((&row, &(value, se, _)), &animal)| {
            Some(PilotValue { group: group(row)?, animal, night: night(row), value, se })
        })
        .collect()
    }

    fn told(&self, pilot: Pilot, names: Vec<String>, values: &[PilotValue]) -> PilotSurvey {
        let mut nights: BTreeMap<(usize, usize), BTreeMap<usize, Vec<f64>>> = BTreeMap::new();
        for value in values {
            let own = nights.entry((value.group, value.animal)).or_default();
            own.entry(value.night).or_default().push(value.value);
        }
        let of_group = |at: usize| nights.keys().filter(|(group, _)| *group == at).count();
        let long =
            |row: &&usize| self.analysis.survey.trails[**row].nights.is_some_and(|n| n > 1.0);
        PilotSurvey {
            pilot,
            divided: names.len() == 2,
            trails: values.len(),
            with_error: values.iter().filter(|value| value.se.is_some()).count(),
            with_nights: nights.values().filter(|own| own.len() > 1).count(),
            at_least: self.values.iter().filter(|(_, _, at_least)| *at_least).count(),
            long: self.rows.iter().filter(long).count(),
            undivided: self.undivided,
            skewed: is_skewed(&nights),
            groups: names.into_iter().enumerate().map(|(at, name)| (name, of_group(at))).collect(),
        }
    }
}

/// Whether animals' means are strongly skewed about those of their groups.
fn is_skewed(nights: &BTreeMap<(usize, usize), BTreeMap<usize, Vec<f64>>>) -> bool {
    let mut groups: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for ((group, _), own) in nights {
        let own: Vec<f64> = own.values().filter_map(|night| mean(night)).collect();
        groups.entry(*group).or_default().extend(mean(&own));
    }
    let mut off: Vec<f64> = Vec::new();
    for values in groups.values_mut() {
        values.sort_by(f64::total_cmp);
        if let Some(centre) = mean(values) {
            off.extend(values.iter().map(|value| value - centre));
        }
    }
    off.sort_by(f64::total_cmp);
    let Some((centre, spread)) = mean(&off).zip(sd(&off)) else { return false };
    off.len() >= FEWEST_FOR_SKEW && spread > 0.0 && skewness(&off, centre, spread) > STRONGLY_SKEWED
}
