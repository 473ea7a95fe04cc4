//! `selection.csv`: what was used against what was on offer, after the escape run.

use super::{Analysis, Cell, Emit, Table, count, metres, number, text};
use crate::measures::support::classes::Division;
use crate::measures::support::selection::{Choice, selected};
use crate::results::question::groupings;
use crate::results::usage::{Choices, choices};

pub(super) fn table() -> Table {
    let columns = vec![
        text("unit", "what was on offer: support, or plant"),
        text("class", "which support or plant"),
        text("level", "animal, group, or pooled: all animals, each with the same weight"),
        text("group", "the animal, or the factor and its level"),
        count("animals", "animals that used something on offer"),
        metres("used_m", "metres on it after the escape run"),
        number("used_share", "1", 5, "share of metres on what was on offer, mean over animals"),
        number("available_share", "1", 5, "share on offer, mean over animals"),
        number("ratio", "1", 5, "selection ratio: share used over share on offer"),
        number("ratio_low95", "1", 5, "lower end; the intervals of all classes hold together"),
        number("ratio_high95", "1", 5, "upper end; blank with fewer than four animals"),
        number("standardised_b", "1", 5, "the ratio over the sum of ratios"),
        number("jacobs_d", "1", 5, "index of Jacobs, -1 shunned to 1 preferred"),
        text("reason", "why a ratio is blank"),
    ];
    Table { name: "selection", meaning: "one class as an animal or group chose it", columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    let by = groupings(analysis);
    for choices in choices(analysis) {
        let all: Vec<&Choice> = choices.animals.iter().collect();
        several(analysis, &choices, ("pooled", "all"), &all, emit);
        for factor in &by {
            for level in factor.levels(choices.listed.iter().copied()) {
                let own = choices.animals.iter().zip(&choices.listed);
                let own = own.filter(|(_, listed)| factor.level(**listed) == Some(&level));
                let own: Vec<&Choice> = own.map(|(choice, _)| choice).collect();
                let name = format!("{}={level}", factor.name);
                several(analysis, &choices, ("group", &name), &own, emit);
            }
        }
        for choice in &all {
            let name = analysis.survey.text(choice.animal);
            several(analysis, &choices, ("animal", name), &[choice], emit);
        }
    }
}

fn several(
    analysis: &Analysis,
    choices: &Choices,
    (level, group): (&str, &str),
    own: &[&Choice],
    emit: &mut Emit<'_>,
) {
    let unit = if choices.offer.division == Division::Plant { "plant" } else { "support" };
    let animals = own.iter().filter(|choice| choice.used().is_some()).count();
    for (class, found) in choices.offer.classes.iter().zip(selected(own)) {
        let end = |at: usize| Cell::number(found.interval.map(|ends| ends[at]));
        let blank = found.ratio.is_none();
        emit(&[
            Cell::Text(unit),
            Cell::Text(analysis.survey.text(*class)),
            Cell::Text(level),
            Cell::Text(group),
            Cell::Count(animals),
            Cell::Number(found.used_m),
            Cell::Number(found.used),
            Cell::Number(found.available),
            Cell::number(found.ratio),
            end(0),
            end(1),
            Cell::number(found.standardised_b),
            Cell::number(found.jacobs_d),
            if blank { Cell::Text("nothing of it was on offer") } else { Cell::Blank },
        ]);
    }
}
