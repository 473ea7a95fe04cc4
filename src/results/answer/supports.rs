//! What was used and what was chosen, in sentences.

use super::words::{capital, list, minus, p_equals, p_value};
use crate::maths::quantity::{count_of, percent, significant};
use crate::measures::support::classes::{Class, Division, words};
use crate::measures::support::selection::{Choice, selected};
use crate::results::Analysis;
use crate::results::comparison::MetricTest;
use crate::results::usage::{
    AnimalUse, CHOICE_PART, GroupUse, choices, halves_words, of_animals, of_group,
};

/// How many supports a sentence names.
const NAMED: usize = 4;

/// The supports with the greatest shares.
pub(super) fn used(analysis: &Analysis) -> Option<String> {
    let animals = of_animals(analysis, CHOICE_PART);
    let moved: Vec<&AnimalUse> =
        animals.iter().filter(|animal| animal.used.total.length > 0.0).collect();
    let mut classes = of_group(&moved, Division::Support);
    classes.retain(|(_, used)| used.share.is_some_and(|share| share > 0.0));
    classes.sort_by(|(_, a), (_, b)| b.share.unwrap_or(0.0).total_cmp(&a.share.unwrap_or(0.0)));
    let of = |(class, used): &(Class, GroupUse)| {
        let name = words(*class, Division::Support, &analysis.survey);
        format!("{} {name}", percent(used.share.unwrap_or(0.0)))
    };
    let shares: Vec<String> = classes.iter().take(NAMED).map(of).collect();
    let halves =
        halves_words(analysis, CHOICE_PART).map_or(String::new(), |words| format!("; {words}"));
    (!shares.is_empty()).then(|| {
        format!(
            "After the escape run the path lay on {} (mean share of {}{halves}).",
            list(&shares),
            count_of(moved.len(), "animal")
        )
    })
}

/// Supports used more and less than their share on offer, and how likely chance makes that.
pub(super) fn chosen(analysis: &Analysis, tests: &[MetricTest]) -> Option<String> {
    let all = choices(analysis);
    let own = all.iter().find(|choices| choices.offer.division == Division::Support)?;
    let animals: Vec<&Choice> = own.animals.iter().collect();
    let rows = selected(&animals);
    let of = |more: bool| -> Vec<String> {
        let named = own.offer.classes.iter().zip(&rows).filter_map(|(class, row)| {
            let ([low, high], ratio) = (row.interval?, row.ratio?);
            let clear = if more { low > 1.0 } else { high < 1.0 };
            let name = analysis.survey.text(*class);
            clear.then(|| format!("{name} {} times", significant(ratio, 2)))
        });
        named.collect()
    };
    let fit = tests
        .iter()
        .find(|test| test.metric == "support_selection" && test.row.test == "goodness_of_fit")?;
    let Some(p) = fit.row.p else {
        return Some(format!("Use against what was on offer: no test: {}.", fit.row.reason));
    };
    let n = fit.row.animals.first().copied().unwrap_or(0);
    let part = |words: &str, list_of: Vec<String>| {
        (!list_of.is_empty()).then(|| format!("{words} {}", list(&list_of)))
    };
    let parts =
        [part("more than its share on offer:", of(true)), part("less than its share:", of(false))];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    let head = if parts.is_empty() { "no support stands out".into() } else { parts.join("; ") };
    Some(format!("Used {head} (n = {n}; sign-flip test, {}).", p_equals(p)))
}

/// What was measured at anchors against points beside the path, column by column.
pub(super) fn beside(tests: &[MetricTest]) -> Vec<String> {
    let own = || tests.iter().filter(|test| test.metric == "microhabitat");
    let odds = |column: &str| {
        let row =
            own().find(|test| test.factor == column && test.row.test == "conditional_logistic")?;
        let [low, high] = row.row.interval?.map(|end| significant(end, 3));
        let ratio = significant(row.row.effect?, 3);
        Some(format!("; odds ratio of use with each unit {ratio}, 95 % interval {low} to {high}"))
    };
    let said = |test: &MetricTest| {
        let (row, column) = (&test.row, test.factor.replace('_', " "));
        let (Some(effect), Some(p)) = (row.effect, row.p) else {
            return format!("{} at anchors and beside: no test: {}.", capital(&column), row.reason);
        };
        let more = if effect < 0.0 { "less" } else { "more" };
        let ends =
            row.interval.map(|[low, high]| if effect < 0.0 { [-high, -low] } else { [low, high] });
        let ends = ends.map_or_else(String::new, |ends| {
            let [low, high] = ends.map(|end| minus(&significant(end, 3)));
            format!("95 % interval {low} to {high}; ")
        });
        let n = row.animals.first().copied().unwrap_or(0);
        let all = row.p_adjusted.filter(|all| *all > p);
        let all = all
            .map_or_else(String::new, |all| format!(", allowing for all columns {}", p_value(all)));
        format!(
            "{} at anchors was {} {more} than at points beside the path ({ends}n = {n}, {}; \
             sign-flip test, {}{all}{}).",
            capital(&column),
            significant(effect.abs(), 3),
            row.reason,
            p_equals(p),
            odds(&test.factor).unwrap_or_default(),
        )
    };
    own().filter(|test| test.row.test == "matched_points").map(said).collect()
}
