//! What trails, animals and groups used, and what they chose of what was on offer.

use super::Analysis;
use super::comparison::{MetricTest, roster};
use crate::adjustment::path::Path;
use crate::maths::quantity::percent;
use crate::maths::statistics::describe::{mean, sd};
use crate::measures::compare::TestRow;
use crate::measures::compare::factors::Factor;
use crate::measures::support::availability::{Offer, group_columns, offer};
use crate::measures::support::classes::{Class, Division};
use crate::measures::support::perches::{Stay, stays};
use crate::measures::support::selection::{Choice, FEWEST, Selected, fit, selected};
use crate::measures::support::visits::PathUse;
use crate::survey::names::Name;
use std::collections::{BTreeMap, BTreeSet};

/// The part of a path in which an animal's choices are looked at: after the escape run, which says
/// more of the handling than of the animal.
pub const CHOICE_PART: usize = 1;

/// What one animal used.
#[derive(Clone, Debug)]
pub struct AnimalUse {
    /// The animal.
    pub animal: Name,
    /// The row of its first trail, for what its factors say.
    pub listed: usize,
    /// The rows of all its trails.
    pub trails: Vec<usize>,
    /// All its trails together.
    pub used: PathUse,
}

/// What each animal used, in the order of the animals; those without the part are left out.
pub fn of_animals(analysis: &Analysis, part: usize) -> Vec<AnimalUse> {
    let of_trail: BTreeMap<usize, &PathUse> = analysis
        .shown_paths()
        .filter_map(|path| {
            Some((analysis.listed(path)?, analysis.trails[path.trail].used[part].as_ref()?))
        })
        .collect();
    let of = |(animal, trails): &(Name, Vec<usize>)| {
        let mut uses = trails.iter().filter_map(|row| of_trail.get(row));
        let mut all = (*uses.next()?).clone();
        uses.for_each(|other| all.add(other));
        let listed = *trails.first()?;
        Some(AnimalUse { animal: *animal, listed, trails: trails.clone(), used: all })
    };
    roster(analysis).animals.iter().filter_map(of).collect()
}

/// One class as a group of animals used it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GroupUse {
    /// Metres of all of them.
    pub length: f64,
    /// The mean over animals of their shares; animals that did not move have none.
    pub share: Option<f64>,
    /// Its standard deviation between animals.
    pub share_sd: Option<f64>,
    /// How many animals have a share.
    pub animals: usize,
    /// Visits of all of them.
    pub visits: usize,
    /// Anchors of all of them.
    pub anchors: usize,
}

/// Every class of a division that some of these animals used.
pub fn of_group(uses: &[&AnimalUse], division: Division) -> Vec<(Class, GroupUse)> {
    let classes: BTreeSet<Class> =
        uses.iter().flat_map(|animal| animal.used.of(division).map(|(class, _)| class)).collect();
    let total =
        |animal: &AnimalUse| -> f64 { animal.used.of(division).map(|(_, used)| used.length).sum() };
    let of = |class: Class| {
        let own = |animal: &AnimalUse| {
            animal.used.classes.get(&(division, class)).copied().unwrap_or_default()
        };
        let moved = uses.iter().filter(|animal| total(animal) > 0.0);
        let shares: Vec<f64> = moved.map(|animal| own(animal).length / total(animal)).collect();
        let sum = uses.iter().map(|animal| own(animal));
        let (length, visits, anchors) = sum.fold((0.0, 0, 0), |(length, visits, anchors), used| {
            (length + used.length, visits + used.visits, anchors + used.anchors)
        });
        let (share, share_sd, animals) = (mean(&shares), sd(&shares), shares.len());
        (class, GroupUse { length, share, share_sd, animals, visits, anchors })
    };
    classes.into_iter().map(of).collect()
}

/// Animals of one level of a factor, by what they used.
pub fn by_level<'a>(uses: &'a [AnimalUse], factor: &Factor) -> Vec<(String, Vec<&'a AnimalUse>)> {
    let levels = factor.levels(uses.iter().map(|animal| animal.listed));
    let of = |level: String| {
        let own = |animal: &&AnimalUse| factor.level(animal.listed) == Some(&level);
        (level.clone(), uses.iter().filter(own).collect())
    };
    levels.into_iter().map(of).collect()
}

/// How many of the metres of all trails asked for rest on halves of legs, as the start of a sentence;
/// `None` where none do.
pub fn halves_words(analysis: &Analysis, part: usize) -> Option<String> {
    let mut all = PathUse::default();
    for path in analysis.shown_paths() {
        if let Some(used) = &analysis.trails[path.trail].used[part] {
            all.add(used);
        }
    }
    let share = all.halves_m / all.total.length;
    (share > 0.0).then(|| {
        format!("{} of the metres are halves of legs whose ends differ in support", percent(share))
    })
}

/// Perches and refuges of the trails asked for.
pub fn all_stays(analysis: &Analysis) -> Vec<Stay> {
    let paths: Vec<&Path> = analysis.shown_paths().collect();
    stays(&analysis.survey, &paths, |path| analysis.listed(path))
}

/// What was on offer, and what each animal made of it.
pub struct Choices {
    /// What was on offer.
    pub offer: Offer,
    /// One an animal that was offered anything.
    pub animals: Vec<Choice>,
    /// The rows of their first trails, in the same order.
    pub listed: Vec<usize>,
}

/// Choices among supports and among plants, where the survey says what was on offer.
pub fn choices(analysis: &Analysis) -> Vec<Choices> {
    let survey = &analysis.survey;
    let factors: Vec<Factor> =
        group_columns(survey).into_iter().filter_map(|name| Factor::of(survey, name)).collect();
    let uses = of_animals(analysis, CHOICE_PART);
    // A factor of the trails must be the same for all of an animal's: else nobody can say what it
    // was offered.
    let level = |factor: &Factor, animal: &AnimalUse| {
        let level = factor.level(animal.listed)?;
        let same = animal.trails.iter().all(|&row| factor.level(row) == Some(level));
        same.then(|| level.to_owned())
    };
    let of = |division| {
        let offer = offer(survey, division)?;
        let (mut animals, mut listed) = (Vec::new(), Vec::new());
        for animal in &uses {
            let groups: BTreeMap<String, String> = factors
                .iter()
                .filter_map(|factor| Some((factor.name.clone(), level(factor, animal)?)))
                .collect();
            let Some((available, points)) = offer.shares(animal.animal, &groups) else { continue };
            let metres = |name: &Name| {
                let class = animal.used.classes.get(&(division, Class::Named(*name)));
                class.map_or(0.0, |used| used.length)
            };
            let used_m = offer.classes.iter().map(metres).collect();
            animals.push(Choice { animal: animal.animal, used_m, available, points });
            listed.push(animal.listed);
        }
        Some(Choices { offer, animals, listed })
    };
    [Division::Support, Division::Plant].into_iter().filter_map(of).collect()
}

/// Tests of selection: over all classes, then class by class.
pub fn selection_tests(analysis: &Analysis) -> Vec<MetricTest> {
    choices(analysis).iter().flat_map(|choices| tests_of(analysis, choices)).collect()
}

fn tests_of(analysis: &Analysis, choices: &Choices) -> Vec<MetricTest> {
    let metric = match choices.offer.division {
        Division::Plant => "plant_selection",
        _ => "support_selection",
    };
    let test = |row| MetricTest { metric, part: CHOICE_PART, factor: String::new(), row };
    let animals: Vec<&Choice> = choices.animals.iter().collect();
    let moved = animals.iter().filter(|choice| choice.used().is_some()).count();
    let Some(fit) = fit(&animals, analysis.wanted.seed) else {
        return vec![test(TestRow {
            test: "goodness_of_fit",
            animals: vec![moved],
            reason: format!("needs {FEWEST} animals that used something on offer"),
            ..TestRow::default()
        })];
    };
    let whole = TestRow {
        test: "goodness_of_fit",
        groups: "all classes".into(),
        animals: vec![fit.animals],
        statistic: Some(fit.overall.statistic),
        ..TestRow::default()
    }
    .with(&fit.overall);
    let count = choices.offer.classes.len() as f64;
    let of_class = |(class, found): (&Name, Selected)| TestRow {
        test: "selection_ratio",
        groups: analysis.survey.text(*class).to_owned(),
        animals: vec![fit.animals],
        statistic: found.ratio,
        effect: found.ratio,
        effect_name: "selection_ratio",
        interval: found.interval,
        p: found.p,
        p_adjusted: found.p.map(|p| (count * p).min(1.0)),
        ..TestRow::default()
    };
    let classes = choices.offer.classes.iter().zip(selected(&animals)).map(of_class);
    std::iter::once(whole).chain(classes).map(test).collect()
}
