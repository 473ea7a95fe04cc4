//! What was measured at anchors against what was measured at points beside the path.
//!
//! In: numbers in columns that `anchors` and `available` have in common, at anchors and at the points of
//! `available` that name a trail, and an anchor of it or none. Out: for each column the mean difference,
//! animals the unit, and the odds of use. An anchor's points are held against that anchor; points that name
//! no anchor, all together against the mean of their trail's anchors.

use super::Analysis;
use super::comparison::{MetricTest, roster};
use crate::maths::statistics::matched::{
    FEWEST_ANIMALS, MatchedSet, Term, Unfitted, conditional, paired,
};
use crate::measures::compare::TestRow;
use crate::survey::dictionary;
use crate::survey::grid::Grid;
use crate::survey::names::Name;
use std::collections::BTreeMap;

/// The columns that both tables measure: of neither dictionary, and with a number in each.
fn columns(analysis: &Analysis) -> Vec<&str> {
    let grids = &analysis.survey.grids;
    let Some(beside) = grids.available.as_ref() else { return Vec::new() };
    let own = |heading: &&str| {
        let known = dictionary::ANCHORS.column(heading).or(dictionary::AVAILABLE.column(heading));
        let measured =
            |grid: &Grid| (0..grid.len()).any(|row| number(grid, row, heading).is_some());
        !heading.is_empty() && known.is_none() && measured(beside) && measured(&grids.anchors)
    };
    beside.headings().iter().map(AsRef::as_ref).filter(own).collect()
}

fn number(grid: &Grid, row: usize, heading: &str) -> Option<f64> {
    let cell = grid.cell(row, grid.column(heading)?);
    let point = if grid.dialect.decimal_comma { cell.replace(',', ".") } else { cell.to_owned() };
    point.parse().ok().filter(|number: &f64| number.is_finite())
}

/// What is measured in every column, NaN where it was not.
fn measured(grid: &Grid, row: usize, columns: &[&str]) -> Vec<f64> {
    columns.iter().map(|heading| number(grid, row, heading).unwrap_or(f64::NAN)).collect()
}

/// The mean of several rows, column by column, of what was measured.
fn mean_of(rows: &[Vec<f64>], columns: usize) -> Vec<f64> {
    let of = |at: usize| {
        let known: Vec<f64> =
            rows.iter().filter_map(|row| row.get(at).copied()).filter(|x| x.is_finite()).collect();
        known.iter().sum::<f64>() / known.len() as f64
    };
    (0..columns).map(of).collect()
}

/// The matched sets of all animals that were asked for.
fn sets(analysis: &Analysis, columns: &[&str]) -> Vec<MatchedSet> {
    let survey = &analysis.survey;
    let Some(beside) = survey.grids.available.as_ref() else { return Vec::new() };
    let mut points: BTreeMap<(Name, Option<Name>), Vec<Vec<f64>>> = BTreeMap::new();
    for row in &survey.available {
        if let Some(place) = row.beside {
            points.entry(place).or_default().push(measured(beside, row.row, columns));
        }
    }
    let mut used: BTreeMap<(Name, Option<Name>), Vec<Vec<f64>>> = BTreeMap::new();
    for row in &survey.anchors {
        let values = measured(&survey.grids.anchors, row.row, columns);
        used.entry((row.trail, Some(row.anchor))).or_default().push(values.clone());
        used.entry((row.trail, None)).or_default().push(values);
    }
    let roster = roster(analysis);
    let animal_of = |trail: Name| {
        let own = |rows: &[usize]| rows.iter().any(|&row| survey.trails[row].trail == trail);
        roster.animals.iter().position(|(_, rows)| own(rows))
    };
    points
        .into_iter()
        .filter_map(|(place, available)| {
            let used = mean_of(used.get(&place)?, columns.len());
            Some(MatchedSet { animal: animal_of(place.0)?, used, available })
        })
        .collect()
}

/// The tests of every column; nothing where nothing was measured beside the path.
pub(super) fn tests(analysis: &Analysis) -> Vec<MetricTest> {
    let columns = columns(analysis);
    if columns.is_empty() {
        return Vec::new();
    }
    let sets = sets(analysis, &columns);
    let differences = paired(&sets, analysis.wanted.seed);
    let odds = conditional(&sets);
    let mut rows = Vec::new();
    for (at, column) in columns.iter().enumerate() {
        let mut add = |row: TestRow| {
            let factor = (*column).to_owned();
            rows.push(MetricTest { metric: "microhabitat", part: 0, factor, row });
        };
        let animals = |n: usize| TestRow { animals: vec![n], ..TestRow::default() };
        add(match differences.get(at).copied().flatten() {
            Some(found) => TestRow {
                test: "matched_points",
                statistic: Some(found.test.statistic),
                effect: Some(found.test.statistic),
                effect_name: "used_less_beside",
                interval: found.interval,
                p_adjusted: Some(found.p_adjusted),
                reason: format!("{} sets of points", found.sets),
                ..animals(found.animals)
            }
            .with(&found.test),
            None => TestRow {
                test: "matched_points",
                reason: "needs two animals with the number at an anchor and beside it".into(),
                ..animals(0)
            },
        });
        add(match &odds {
            Ok(fit) => match fit.terms.get(at) {
                Some(term) => odds_row(term, fit.animals),
                None => animals(fit.animals),
            },
            Err(why) => {
                TestRow { test: "conditional_logistic", reason: unfitted(*why), ..animals(0) }
            }
        });
    }
    rows
}

fn odds_row(term: &Term, animals: usize) -> TestRow {
    let few = format!("no interval of fewer than {FEWEST_ANIMALS} animals");
    TestRow {
        test: "conditional_logistic",
        animals: vec![animals],
        statistic: Some(term.coefficient),
        effect: Some(term.odds_ratio()),
        effect_name: "odds_ratio",
        interval: term.odds_ratio_interval(),
        p: term.p,
        reason: if term.p.is_none() { few } else { String::new() },
        ..TestRow::default()
    }
}

fn unfitted(why: Unfitted) -> String {
    match why {
        Unfitted::NoSets => "no anchor with numbers has a point beside it",
        Unfitted::Collinear => "the columns say the same, or do not vary",
        Unfitted::Separated => "used and unused points are apart altogether: the odds run away",
    }
    .into()
}
