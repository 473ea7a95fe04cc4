//! What a comparison comes to, in plain words: the answer first, figures after.
//!
//! In: an [`Analysis`] and a [`Comparison`] of it. Out: sentences, each with its n, interval and p.
//! Left out: any number that no result table has.

mod between;
mod others;
mod space;
mod supports;
mod typical;
mod words;

use super::Analysis;
use super::comparison::{Comparison, GroupRow, MetricTest, asked, roster};
use super::headlines::{HEADLINES, Headline};
use super::question::{Question, groupings, words_among_numbers};
use crate::maths::quantity::{count_of, significant};
use crate::measures::compare::factors::Factor;
use crate::measures::metrics::Metric;
use crate::survey::names::Name;

pub use super::headlines::headlines;
pub use between::TESTS;
pub use words::{capital, difference, list, p_value, people, value};

/// What is said of one question.
#[derive(Clone, Debug, Default)]
pub struct Said {
    /// What it is about.
    pub head: String,
    /// What must be known first, in sentences.
    pub lead: Vec<String>,
    /// The rest, in sentences.
    pub rest: Vec<String>,
}

impl Said {
    fn new(head: impl Into<String>, lead: Vec<String>, rest: Vec<String>) -> Self {
        Self { head: head.into(), lead, rest }
    }
}

/// The sentences.
pub fn answer(
    analysis: &Analysis,
    question: &Question,
    groups: &[GroupRow],
    tests: &[MetricTest],
) -> Vec<String> {
    let mut said = questions(analysis, question, groups, tests);
    if question.is_nothing() {
        let all = animals(analysis, groups).into_iter().chain(nothing_asked(analysis)).collect();
        said.insert(0, Said::new("All animals", all, Vec::new()));
    }
    said.into_iter().flat_map(|said| said.lead.into_iter().chain(said.rest)).collect()
}

/// What a rebuild says, question by question; how the animals are comes first.
pub fn study_answer(analysis: &Analysis) -> Vec<Said> {
    let Comparison { question, groups, tests, problems } = asked(analysis);
    let mut animals = animals(analysis, groups);
    if question.is_nothing() {
        animals.extend(nothing_asked(analysis));
    }
    let animals = Said::new("All animals", animals, Vec::new());
    let mut said: Vec<Said> =
        [animals].into_iter().chain(questions(analysis, question, groups, tests)).collect();
    if let Some(last) = said.last_mut() {
        last.rest.extend(problems.iter().map(|problem| format!("Not compared: {problem}.")));
    }
    said
}

/// How the animals are, all together.
fn animals(analysis: &Analysis, groups: &[GroupRow]) -> Vec<String> {
    typical::sentences(groups).into_iter().chain(space::sentence(analysis)).collect()
}

/// How to ask.
fn nothing_asked(analysis: &Analysis) -> Option<String> {
    let columns: Vec<String> = groupings(analysis).into_iter().map(|factor| factor.name).collect();
    let first = columns.first()?;
    Some(format!(
        "No groups were compared, since none were asked for: by = [\"{first}\"] under [compare] of \
         survey.toml, or compare --by {first}; {} would do.",
        list(&columns)
    ))
}

/// As many factors have their say first.
const FIRST: usize = 3;

fn questions(
    analysis: &Analysis,
    question: &Question,
    groups: &[GroupRow],
    tests: &[MetricTest],
) -> Vec<Said> {
    let count = asked_and_tested(question, tests);
    let by = question.by.iter().enumerate().map(|(at, factor)| {
        let mut lead = between::sentences(factor, groups, tests, count);
        let mut rest = lead.split_off(usize::from(at < FIRST));
        rest.extend(others::over_nights(factor, tests));
        rest.extend(others::directions_of_groups(factor, tests));
        Said::new(format!("By {}", factor.name.replace('_', " ")), lead, rest)
    });
    let mut said: Vec<Said> = by.collect();
    let mut others = Vec::new();
    for headline in &HEADLINES {
        if let Some((factor, levels)) = &question.pairs {
            others.extend(others::within_animals(headline, factor, levels, tests, count));
        }
        for factor in &question.with {
            others.extend(others::against(headline, factor, tests, count));
        }
    }
    let with = question.with.iter();
    others.extend(with.filter_map(|factor| others::within_nights(factor, tests, count)));
    said.push(Said::new("The same animals twice, and numbers", others, Vec::new()));
    let (direction, first) = others::direction(analysis, question, tests);
    let [lead, mut rest] =
        if first { [vec![direction], vec![]] } else { [vec![], vec![direction]] };
    let places = analysis.survey.settings.places.keys();
    rest.extend(places.filter_map(|place| others::towards_place(place, tests)));
    said.push(Said::new("Directions", lead, rest));
    let supports = supports::used(analysis).into_iter().chain(supports::chosen(analysis, tests));
    said.push(Said::new("Supports", supports.collect(), supports::beside(tests)));
    let notes = caution(question, tests).into_iter().chain(measurement(groups));
    let notes = notes.chain(left_out(analysis, question, groups)).collect();
    said.push(Said::new("To be kept in mind", Vec::new(), notes));
    said
}

/// How many questions were asked and could be tested, over all factors.
fn asked_and_tested(question: &Question, tests: &[MetricTest]) -> usize {
    let of = |factor: &Factor, names: &[&str]| {
        let tested =
            |h: &&Headline| h.test(tests, &factor.name, names).is_some_and(|row| row.p.is_some());
        HEADLINES.iter().filter(tested).count()
    };
    let by = question.by.iter().map(|factor| of(factor, &TESTS));
    let with = question.with.iter().map(|factor| of(factor, &["slope"]));
    let pairs = question.pairs.iter().map(|(factor, _)| of(factor, &["sign_permutation"]));
    by.chain(with).chain(pairs).sum()
}

/// How many tests stand in the table beside the questions of the answer.
fn caution(question: &Question, tests: &[MetricTest]) -> Option<String> {
    let unadjusted = |test: &&MetricTest| {
        !test.factor.is_empty() && test.row.p.is_some() && test.row.p_adjusted.is_none()
    };
    let count = tests.iter().filter(unadjusted).count();
    (!question.is_nothing() && count > 0).then(|| {
        format!(
            "tests.csv holds {count} more p values, of other metrics and other tests: they are not adjusted, and \
             without any difference about {:.0} of them would be below 0.05.",
            (0.05 * count as f64).round(),
        )
    })
}

/// How much of the uncertainty of a mean is the instruments', and how much the animals'.
fn measurement(groups: &[GroupRow]) -> Option<String> {
    let of = |metric: Metric, part: usize| {
        let row = groups
            .iter()
            .find(|row| row.factor.is_empty() && row.metric == metric && row.part == part)?;
        let (se, own) = (row.summary.se?, row.summary.measurement_se?);
        Some(format!("{} m of {} m", significant(own, 2), significant(se, 2)))
    };
    let [length, height] = [of(Metric::PathLength, 0)?, of(Metric::HeightMax, 1)?];
    Some(format!(
        "Of the standard error of a mean over all animals, measurement makes {length} in path \
         length and {height} in greatest height; the rest is how animals differ."
    ))
}

/// What is missing, and what is a lower bound.
fn left_out(analysis: &Analysis, question: &Question, groups: &[GroupRow]) -> Vec<String> {
    let roster = roster(analysis);
    let names = |list: &[Name]| {
        let names: Vec<&str> = list.iter().map(|name| analysis.survey.text(*name)).collect();
        names.join(", ")
    };
    let mut notes = Vec::new();
    let mut note = |who: &[Name], what: &str| {
        if !who.is_empty() {
            notes.push(format!("{what}: {}.", names(who)));
        }
    };
    note(&roster.nameless, "Left out, since they have no animal");
    let unlisted = analysis.shown_paths().filter(|path| analysis.listed(path).is_none());
    let unlisted: Vec<Name> =
        unlisted.map(|path| analysis.network.trails[path.trail].name).collect();
    note(&unlisted, "Left out, since the trails table does not name them");
    if analysis.wanted.trails.is_empty() {
        note(&roster.idle, "Animals without any trail");
    }
    let pairs = question.pairs.iter().map(|(factor, _)| factor);
    let factors = question.by.iter().chain(&question.with).chain(pairs).chain(&question.within);
    for factor in factors {
        let blank = |(_, trails): &&(Name, Vec<usize>)| {
            trails.iter().all(|row| factor.level(*row).is_none())
        };
        let without: Vec<Name> =
            roster.animals.iter().filter(blank).map(|(animal, _)| *animal).collect();
        note(&without, &format!("Without {}, and left out of what goes by it", factor.name));
    }
    for factor in &question.with {
        let words = words_among_numbers(analysis, factor);
        if !words.is_empty() {
            let words = list(&words);
            notes.push(format!("Left out of {}, which is no number there: {words}.", factor.name));
        }
    }
    if roster.animals.is_empty() {
        notes.push("No trail has an animal: fill the column animal of the trails table.".into());
    }
    let bounds = groups.iter().filter(|row| row.factor.is_empty());
    let bounds = bounds.filter(|row| row.metric == Metric::PathLength && row.part == 0);
    let at_least = bounds.map(|row| row.summary.at_least).max().unwrap_or(0);
    if at_least > 0 {
        notes.push(format!(
            "{} had a thread that was cut short or a gap: their totals are minimum values.",
            count_of(at_least, "animal")
        ));
    }
    notes
}
