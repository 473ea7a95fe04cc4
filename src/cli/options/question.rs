//! What is to be compared.

use crate::analysis::Analysis;
use crate::analysis::comparison::{Question, roster, usual};
use crate::cli::Failure;
use crate::cli::args::CompareArgs;
use crate::compare::factors::{Factor, columns};
use crate::quantity::Bearing;

/// What is to be compared; by what the animals table offers where nothing was asked for.
pub(in crate::cli) fn question(
    args: &CompareArgs,
    analysis: &Analysis,
) -> Result<Question, Failure> {
    let survey = &analysis.survey;
    let factor = |name: &String| {
        Factor::of(survey, name).ok_or_else(|| {
            let known = columns(survey).join(", ");
            Failure::Usage(format!("no column {name} of animals or trails; there are {known}"))
        })
    };
    let factors = |names: &[String]| names.iter().map(factor).collect::<Result<Vec<_>, _>>();
    if args.direction.is_some_and(|degrees| !degrees.is_finite()) {
        return Err(Failure::Usage("--direction wants degrees from true north".into()));
    }
    let question = Question {
        by: factors(&args.by)?,
        with: factors(&args.with)?,
        pairs: args.pairs.as_ref().map(|text| pairs(text, analysis, factor)).transpose()?,
        within: args.within.as_ref().map(factor).transpose()?,
        direction: args.direction.map(Bearing::from_degrees),
    };
    if let Some(factor) = question.by.iter().find(|factor| groups_nothing(factor, analysis)) {
        let name = &factor.name;
        return Err(Failure::Usage(format!(
            "{name} is another one for each animal, so that there is no group; --with {name} \
             compares against a number"
        )));
    }
    let asked = !args.by.is_empty()
        || !args.with.is_empty()
        || args.pairs.is_some()
        || args.direction.is_some();
    Ok(if asked { question } else { usual(analysis) })
}

/// Whether each animal has a level of its own.
fn groups_nothing(factor: &Factor, analysis: &Analysis) -> bool {
    let roster = roster(analysis);
    let rows = || roster.animals.iter().flat_map(|(_, trails)| trails.iter().copied());
    let levels = factor.levels(rows());
    let animals = |level: &String| {
        let has = |trails: &[usize]| trails.iter().any(|&row| factor.level(row) == Some(level));
        roster.animals.iter().filter(|(_, trails)| has(trails)).count()
    };
    levels.len() > 2 && levels.iter().all(|level| animals(level) < 2)
}

/// `COLUMN`, where it has two levels, or `COLUMN=A,B`.
fn pairs(
    text: &str,
    analysis: &Analysis,
    factor: impl Fn(&String) -> Result<Factor, Failure>,
) -> Result<(Factor, [String; 2]), Failure> {
    let (name, chosen) = text.split_once('=').map_or((text, None), |(a, b)| (a, Some(b)));
    let factor = factor(&name.to_owned())?;
    let roster = roster(analysis);
    let known = factor.levels(roster.animals.iter().flat_map(|(_, trails)| trails.iter().copied()));
    let wanted: Vec<String> = match chosen {
        Some(chosen) => chosen.split(',').map(|level| level.trim().to_owned()).collect(),
        None => known.clone(),
    };
    let all_known = wanted.iter().all(|level| known.contains(level));
    match <[String; 2]>::try_from(wanted) {
        Ok(levels) if all_known => Ok((factor, levels)),
        _ => Err(Failure::Usage(format!(
            "--pairs wants two levels, like {name}=A,B; {name} has {}",
            known.join(", ")
        ))),
    }
}
