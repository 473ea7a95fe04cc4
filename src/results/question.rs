//! What is asked of a study: the columns that were named, as factors; and by what else animals are
//! shown side by side.
//!
//! In: [`Asked`] by name. Out: a [`Question`], and a sentence for each part of it that cannot be
//! asked. Nothing that was not asked is tested.

use super::Analysis;
use super::comparison::roster;
use crate::maths::quantity::Bearing;
use crate::measures::compare::animals::Roster;
use crate::measures::compare::factors::Factor;
use crate::survey::dictionary;
use crate::survey::settings::Asked;

/// Most levels of a column by which animals are shown side by side unasked.
const MOST_LEVELS: usize = 6;

/// What is to be compared.
#[derive(Clone, Debug, Default)]
pub struct Question {
    /// Groups by each of these.
    pub by: Vec<Factor>,
    /// Against each of these numbers.
    pub with: Vec<Factor>,
    /// The same animals in two levels of a factor, the first taken from the second.
    pub pairs: Option<(Factor, [String; 2])>,
    /// Labels are shuffled within the levels of this only.
    pub within: Option<Factor>,
    /// The direction that was expected beforehand.
    pub direction: Option<Bearing>,
}

impl Question {
    /// The question that was asked, and why some of it cannot be.
    pub fn of(analysis: &Analysis, asked: &Asked) -> (Self, Vec<String>) {
        let mut asking = Asking { analysis, roster: roster(analysis), problems: Vec::new() };
        let by = asked.by.iter().filter_map(|name| asking.grouping(name)).collect();
        let with = asked.with.iter().filter_map(|name| asking.numbers(name)).collect();
        let pairs = asked.pairs.as_ref().and_then(|text| asking.pairs(text));
        let within = asked.within.as_ref().and_then(|name| asking.factor(name));
        if within.is_some() && asked.by.is_empty() {
            asking
                .problems
                .push("within says where labels are shuffled: it wants by as well".into());
        }
        let direction = asked.direction_deg.map(Bearing::from_degrees);
        (Self { by, with, pairs, within, direction }, asking.problems)
    }

    /// Whether nothing was asked.
    pub fn is_nothing(&self) -> bool {
        self.by.is_empty()
            && self.with.is_empty()
            && self.pairs.is_none()
            && self.direction.is_none()
    }
}

/// A question while it is put together.
struct Asking<'a> {
    analysis: &'a Analysis,
    roster: Roster,
    problems: Vec<String>,
}

impl Asking<'_> {
    fn factor(&mut self, name: &str) -> Option<Factor> {
        let survey = &self.analysis.survey;
        let found = Factor::of(survey, name);
        if found.is_none() {
            let known = survey.factor_columns().join(", ");
            self.problems.push(format!("no column {name} of animals or trails; there are {known}"));
        }
        found
    }

    /// A factor that puts animals together.
    fn grouping(&mut self, name: &str) -> Option<Factor> {
        let factor = self.factor(name)?;
        let levels = factor.levels(self.rows());
        let animals = |level: &String| {
            let has = |trails: &[usize]| trails.iter().any(|&row| factor.level(row) == Some(level));
            self.roster.animals.iter().filter(|(_, trails)| has(trails)).count()
        };
        let apart = levels.len() > 2 && levels.iter().all(|level| animals(level) < 2);
        if apart {
            self.problems.push(format!(
                "{name} is another one for each animal, so that there is no group; --with {name} \
                 compares against a number"
            ));
        }
        (!apart).then_some(factor)
    }

    /// A factor of numbers.
    fn numbers(&mut self, name: &str) -> Option<Factor> {
        let factor = self.factor(name)?;
        let words = factor.levels(self.rows().filter(|row| factor.number(*row).is_none()));
        if let Some(like) =
            words.first().filter(|_| self.rows().all(|r| factor.number(r).is_none()))
        {
            self.problems.push(format!(
                "{name} holds words, like {like}, and --with wants numbers; --by {name} compares groups"
            ));
            return None;
        }
        Some(factor)
    }

    fn rows(&self) -> impl Iterator<Item = usize> {
        self.roster.animals.iter().flat_map(|(_, trails)| trails.iter().copied())
    }

    /// `COLUMN`, where it has two levels, or `COLUMN=A,B`.
    fn pairs(&mut self, text: &str) -> Option<(Factor, [String; 2])> {
        let (name, chosen) = text.split_once('=').map_or((text, None), |(a, b)| (a, Some(b)));
        let factor = self.factor(name)?;
        let known = factor.levels(self.rows());
        let wanted: Vec<String> = match chosen {
            Some(chosen) => chosen.split(',').map(|level| level.trim().to_owned()).collect(),
            None => known.clone(),
        };
        let all_known = wanted.iter().all(|level| known.contains(level));
        match <[String; 2]>::try_from(wanted) {
            Ok(levels) if all_known => Some((factor, levels)),
            _ => {
                let known = known.join(", ");
                self.problems
                    .push(format!("pairs wants two levels, like {name}=A,B; {name} has {known}"));
                None
            }
        }
    }
}

/// By what animals are shown side by side: the groups that were asked for, else each column that
/// divides them into a few.
pub fn groupings(analysis: &Analysis) -> Vec<Factor> {
    let asked = Question::of(analysis, &analysis.survey.settings.compare).0.by;
    if !asked.is_empty() {
        return asked;
    }
    let roster = roster(analysis);
    let known = |heading: &str| dictionary::ANIMALS.column(heading).is_some();
    let grouping =
        |heading: &&str| matches!(*heading, "species" | "sex" | "age") || !known(heading);
    let divides = |factor: &Factor| {
        let rows = roster.animals.iter().filter_map(|(_, trails)| trails.first().copied());
        let levels = factor.levels(rows).len();
        factor.of_animal && (2..=MOST_LEVELS).contains(&levels) && levels < roster.animals.len()
    };
    let survey = &analysis.survey;
    let by = survey.factor_columns().into_iter().filter(grouping);
    by.filter_map(|heading| Factor::of(survey, heading)).filter(divides).collect()
}

/// What a covariate says that is no number, animal by animal.
pub fn words_among_numbers(analysis: &Analysis, factor: &Factor) -> Vec<String> {
    let survey = &analysis.survey;
    let of = |(animal, trails): &(_, Vec<usize>)| {
        let row = trails.iter().find(|row| factor.number(**row).is_none())?;
        Some(format!("{} ({})", survey.text(*animal), factor.level(*row)?))
    };
    roster(analysis).animals.iter().filter_map(of).collect()
}
