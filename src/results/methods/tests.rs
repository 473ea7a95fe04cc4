//! The tests that were made between animals.

use super::Text;
use crate::maths::statistics::bootstrap::RESAMPLES;
use crate::maths::statistics::means::FEWEST;
use crate::maths::statistics::permutation::{DRAWS, MOST_ARRANGEMENTS};
use crate::measures::compare::summary::FEWEST_OF_A_MEDIAN;
use crate::results::Analysis;
use crate::results::answer::{headlines, list};
use crate::results::comparison::{MetricTest, asked, roster};
use crate::survey::sources::Source;

pub(super) fn paragraph(analysis: &Analysis, text: &mut Text) {
    let animals = roster(analysis).animals.len();
    if animals == 0 {
        return;
    }
    text.paragraph("Statistics");
    let unit = text.cite(Source::Aebischer1993);
    text.say(&format!(
        "The animal was the unit (n = {animals}; {unit}): the trails of each were averaged first, \
         each with the same weight."
    ));
    if animals >= FEWEST {
        let source = text.cite(Source::Hall1992);
        text.say(&format!(
            "Intervals of means (95 %) are by Student's t, freed of its skewness by a cubic transformation \
             ({source})."
        ));
    }
    if animals >= FEWEST_OF_A_MEDIAN && analysis.wanted.draws > 0 {
        let source = text.cite(Source::Efron1987);
        text.say(&format!(
            "Those of medians, of {FEWEST_OF_A_MEDIAN} animals or more, are BCa bootstrap intervals ({source}; \
             {RESAMPLES} resamples, ties counted half)."
        ));
    }
    let tests = &asked(analysis).tests;
    groups(tests, text);
    threads_that_ran_out(tests, text);
    nights(tests, text);
    selection(analysis, tests, text);
    directions(tests, text);
}

/// Factors for which this test gave a p, with their n.
fn factors(tests: &[MetricTest], name: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let made = tests.iter().filter(|test| test.row.test == name && test.row.p.is_some());
    for factor in made.map(|test| &test.factor) {
        if !found.contains(factor) {
            found.push(factor.clone());
        }
    }
    found
}

fn groups(tests: &[MetricTest], text: &mut Text) {
    let two = factors(tests, "permutation");
    if !two.is_empty() {
        let [shuffles, welch, scale, ranks, shift, interval] = [
            Source::Fisher1935,
            Source::Janssen1997,
            Source::Chung2016,
            Source::MannWhitney1947,
            Source::Hodges1963,
            Source::Hollander1973,
        ]
        .map(|source| text.cite(source));
        text.say(&format!(
            "Groups by {} were compared by permutation tests ({shuffles}) of the difference of means \
             and of Welch's t ({welch}) on the scale of the normal ({scale}), and by the exact rank-sum test ({ranks}), with the median shift ({shift}) \
             and its interval ({interval}). The 95 % interval of a difference of means holds every difference \
             that the test of Welch's t does not refuse.",
            list(&two)
        ));
    }
    if tests.iter().any(|test| test.row.p_adjusted.is_some() && !test.factor.is_empty()) {
        let source = text.cite(Source::Westfall1993);
        text.say(&format!(
            "The {} headline metrics of a column were one family: p was adjusted by step-down max T on \
             shared shuffles of animals ({source}), after Holm where labels were shuffled within strata \
             and for slopes, after Bonferroni for log-rank tests, and for the number of columns. Where threads ran out in a \
             metric, the log-rank test stands in the place of that of its means.",
            headlines().count()
        ));
    }
    let several = factors(tests, "kruskal_wallis");
    if !several.is_empty() {
        let [ranks, holm] = [Source::Kruskal1952, Source::Holm1979].map(|source| text.cite(source));
        text.say(&format!(
            "Groups by {} were compared by ranks ({ranks}) with permuted labels, then in pairs by \
             the rank-sum test with adjusted p ({holm}).",
            list(&several)
        ));
    }
    let arranged = || tests.iter().filter(|test| test.row.arrangements.is_some());
    let exact = arranged().any(|test| test.row.p_standard_error.is_none());
    let drawn = arranged().any(|test| test.row.p_standard_error.is_some());
    if exact {
        text.say("Permutation p values are two-sided, by absolute value, over all arrangements.");
    }
    if drawn {
        text.say(&format!(
            "Where there were more than {MOST_ARRANGEMENTS} arrangements, {DRAWS} were drawn."
        ));
    }
}

fn threads_that_ran_out(tests: &[MetricTest], text: &mut Text) {
    if !factors(tests, "log_rank").is_empty() {
        let [curve, test] =
            [Source::KaplanMeier1958, Source::Mantel1966].map(|source| text.cite(source));
        text.say(&format!(
            "Totals of threads that ran out were taken as at least so much: means up to the length that \
             every group reached, from product-limit curves ({curve}), and the log-rank test ({test}) with \
             permuted labels."
        ));
    }
}

fn nights(tests: &[MetricTest], text: &mut Text) {
    let slopes = factors(tests, "slope");
    if !slopes.is_empty() {
        text.say(&format!(
            "Slopes on {} were tested by permutation; their intervals hold the slopes that the test does not \
             refuse.",
            list(&slopes)
        ));
    }
    let within = factors(tests, "slope_within_animals");
    if !within.is_empty() {
        text.say(
            "Slopes within animals over their nights were tested by shuffling inside each animal.",
        );
    }
    if tests.iter().any(|test| test.row.test.starts_with("repeated_")) {
        let [likelihood, scale] =
            [Source::Patterson1971, Source::Knapp2003].map(|source| text.cite(source));
        text.say(&format!(
            "Repeated trails entered a linear mixed model with the animal as a random effect and the known errors of measurement, \
             by restricted maximum likelihood ({likelihood}), with scaled intervals ({scale})."
        ));
    }
}

fn selection(analysis: &Analysis, tests: &[MetricTest], text: &mut Text) {
    let of = |name: &str| {
        tests.iter().find(|test| test.metric == name && test.row.p.is_some()).map(|test| {
            let n = test.row.animals.first().copied().unwrap_or(0);
            (name.replace("_selection", "s"), n)
        })
    };
    let made: Vec<(String, usize)> =
        ["support_selection", "plant_selection"].into_iter().filter_map(of).collect();
    if made.is_empty() {
        return;
    }
    let what: Vec<String> = made.iter().map(|(what, n)| format!("{what} (n = {n})")).collect();
    let [ratio, bonferroni, index, signs] =
        [Source::Manly2002, Source::Neu1974, Source::Jacobs1974, Source::Fattorini2014]
            .map(|source| text.cite(source));
    text.say(&format!(
        "Selection of {} was taken from each animal's shares of metres after the escape run against \
         the shares on offer: selection ratios ({ratio}), standardised ratios, and the index D \
         ({index}). Intervals of ratios take mean shares as beta-distributed with the spread that \
         shares have between animals, and hold together ({bonferroni}); p of a class is by the same.",
        list(&what)
    ));
    text.say(if sampled(analysis) {
        "The error of what was on offer, sampled at points, is in the intervals."
    } else {
        "No error of what was on offer was allowed for."
    });
    text.say(&format!(
        "Over all classes it was tested by changing the signs of whole animals' differences (after \
         {signs}). Crossings and metres without a noted support were left out; classes on offer and \
         never used have a ratio of 0."
    ));
}

/// Whether what was on offer was sampled at points.
fn sampled(analysis: &Analysis) -> bool {
    analysis.survey.available.iter().any(|row| row.points.is_some())
}

fn directions(tests: &[MetricTest], text: &mut Text) {
    if tests.iter().any(|test| test.row.test == "rayleigh" && test.row.p.is_some()) {
        let source = text.cite(Source::Zar2010);
        text.say(&format!(
            "Whether animals headed one way was tested by the Rayleigh test on one mean net \
             bearing for each animal ({source})."
        ));
    }
}
