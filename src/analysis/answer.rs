//! What a comparison comes to, in plain words: the answer first, figures after.

use super::comparison::{GroupRow, MetricTest, Question, headings, roster};
use super::{Analysis, PART_NAMES};
use crate::compare::directions::mean_vector;
use crate::compare::groups::Summary;
use crate::compare::{TestRow, factors::Factor};
use crate::metrics::Metric;
use crate::quantity::{Bearing, count_of, degrees, percent, significant};

/// A metric that the answer speaks of, in which part, and how.
struct Headline {
    metric: Metric,
    part: usize,
    saying: Saying,
}

/// How a difference is put.
#[derive(Clone, Copy)]
enum Saying {
    /// One group does it so many times as the other: what is done, and as what.
    Times(&'static str, &'static str),
    /// Both values side by side: what is done, and what follows the value.
    Values(&'static str, &'static str),
}

/// The questions of a study: how far, how high, how much up there.
const HEADLINES: [Headline; 8] = [
    Headline {
        metric: Metric::PathLength,
        part: 0,
        saying: Saying::Times("moved", "far along the thread"),
    },
    Headline {
        metric: Metric::RatePerNight,
        part: 0,
        saying: Saying::Times("moved", "far along the thread a night"),
    },
    Headline {
        metric: Metric::NetDisplacement,
        part: 0,
        saying: Saying::Times("ended", "far from the release"),
    },
    Headline {
        metric: Metric::Straightness,
        part: 1,
        saying: Saying::Times("went", "straight after the escape run"),
    },
    Headline {
        metric: Metric::HeightMax,
        part: 1,
        saying: Saying::Values("reached", "above ground after the escape run"),
    },
    Headline {
        metric: Metric::HeightMean,
        part: 1,
        saying: Saying::Values("kept at", "above ground on average after the escape run"),
    },
    Headline {
        metric: Metric::AboveGroundShare,
        part: 1,
        saying: Saying::Values("spent", "of their path above ground after the escape run"),
    },
    Headline {
        metric: Metric::ClimbsPer100m,
        part: 1,
        saying: Saying::Times("climbed", "often per 100 m after the escape run"),
    },
];

/// The metrics and parts that the answer speaks of.
pub fn headlines() -> impl Iterator<Item = (Metric, usize)> {
    HEADLINES.iter().map(|headline| (headline.metric, headline.part))
}

/// The animals of a level, as a sentence begins or goes on with them.
pub fn people(factor: &str, level: &str) -> String {
    let male = matches!(level, "m" | "M" | "male" | "Male");
    let female = matches!(level, "f" | "F" | "female" | "Female");
    match factor {
        "sex" if male => "males".into(),
        "sex" if female => "females".into(),
        "age" if level.chars().all(char::is_alphabetic) => format!("{level}s"),
        _ if level.parse::<f64>().is_ok() => format!("animals with {factor} {level}"),
        _ => format!("animals of {level}"),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// A value with its unit.
pub fn value(metric: Metric, value: f64) -> String {
    match metric.entry().unit {
        "1" if metric.entry().name.ends_with("share") => percent(value),
        "1" | "" => significant(value, 3),
        unit => format!("{} {unit}", significant(value, 3)),
    }
}

/// What a p value says of shuffles.
pub fn by_chance(row: &TestRow) -> String {
    let Some(p) = row.p else { return format!("No test: {}.", row.reason) };
    let hundred = (100.0 * p).round();
    let often = if p < 0.005 {
        "fewer than 1 of 100 shuffles".to_owned()
    } else {
        format!("{hundred:.0} of 100 shuffles")
    };
    format!("A difference this large would arise by chance in {often}.")
}

/// The sentences.
pub fn answer(
    analysis: &Analysis,
    question: &Question,
    groups: &[GroupRow],
    tests: &[MetricTest],
) -> Vec<String> {
    let mut sentences = Vec::new();
    for factor in &question.by {
        for headline in &HEADLINES {
            sentences.extend(between(headline, factor, groups, tests));
        }
    }
    if let Some((factor, levels)) = &question.pairs {
        for headline in &HEADLINES {
            sentences.extend(within_animals(headline, factor, levels, tests));
        }
    }
    for factor in &question.with {
        for headline in &HEADLINES {
            sentences.extend(against(headline, factor, tests));
        }
    }
    if question.direction.is_some() || question.by.is_empty() {
        sentences.push(direction(analysis, question, tests));
    }
    sentences.extend(caution(question, tests));
    sentences.extend(left_out(analysis, groups));
    sentences
}

fn test_of<'a>(
    tests: &'a [MetricTest],
    headline: &Headline,
    factor: &Factor,
    names: &[&str],
) -> Option<&'a TestRow> {
    let name = headline.metric.entry().name;
    let found = tests.iter().find(|test| {
        test.metric == name
            && test.part == headline.part
            && test.factor == factor.name
            && names.contains(&test.row.test)
    });
    found.map(|test| &test.row)
}

/// Groups of one factor in one metric.
fn between(
    headline: &Headline,
    factor: &Factor,
    groups: &[GroupRow],
    tests: &[MetricTest],
) -> Option<String> {
    let own: Vec<&GroupRow> = groups
        .iter()
        .filter(|row| {
            row.metric == headline.metric && row.part == headline.part && row.factor == factor.name
        })
        .collect();
    let within = test_of(tests, headline, factor, &["permutation_within"]);
    let test = within.or(test_of(tests, headline, factor, &["permutation", "kruskal_wallis"]))?;
    let [first, second] = own[..] else {
        let list = own.iter().filter_map(|row| {
            let mean = value(headline.metric, row.summary.mean?);
            let n = row.summary.animals;
            Some(format!("{} {mean} (n = {n})", people(&factor.name, &row.group)))
        });
        let list: Vec<String> = list.collect();
        let (Saying::Times(verb, _) | Saying::Values(verb, _)) = headline.saying;
        let what = headline.metric.entry().meaning;
        return (!list.is_empty())
            .then(|| format!("They {verb} ({what}): {}. {}", list.join(", "), by_chance(test)));
    };
    let (a, b) = (first.summary.mean?, second.summary.mean?);
    let (more, less) = if a >= b { (first, second) } else { (second, first) };
    let clause = clause(headline, &factor.name, (more, &more.summary), (less, &less.summary))?;
    let note =
        if within.is_some() { format!(" {}.", capital(&test.reason)) } else { String::new() };
    Some(format!("{clause} {}{note}", by_chance(test)))
}

fn clause(
    headline: &Headline,
    factor: &str,
    (more, high): (&GroupRow, &Summary),
    (less, low): (&GroupRow, &Summary),
) -> Option<String> {
    let (x, y) = (high.mean?, low.mean?);
    let [hi, lo] = [more, less].map(|row| people(factor, &row.group));
    let sizes = format!("{} and {} animals", high.animals, low.animals);
    let [vx, vy] = [x, y].map(|mean| value(headline.metric, mean));
    Some(match headline.saying {
        Saying::Times(verb, how) if y > 0.0 && x / y >= 1.05 => format!(
            "{} {verb} {} times as {how} as {lo} ({vx} against {vy}; {sizes}).",
            capital(&hi),
            significant(x / y, 2)
        ),
        Saying::Times(verb, how) => {
            format!("{} and {lo} {verb} about as {how} ({vx} and {vy}; {sizes}).", capital(&hi))
        }
        Saying::Values(verb, what) => {
            format!("{} {verb} {vx} {what}, {lo} {vy} ({sizes}).", capital(&hi))
        }
    })
}

/// The same animals twice.
fn within_animals(
    headline: &Headline,
    factor: &Factor,
    levels: &[String; 2],
    tests: &[MetricTest],
) -> Option<String> {
    let test = test_of(tests, headline, factor, &["sign_permutation"])?;
    let name = headline.metric.entry().name;
    let Some(effect) = test.effect else {
        return Some(format!("{}: no test: {}.", capital(name), test.reason));
    };
    let way = if effect >= 0.0 { "more" } else { "less" };
    let n = test.animals.first().copied().unwrap_or(0);
    let words = name.replace('_', " ");
    Some(format!(
        "{} ({}): the same {} had {} {way} at {} {} than at {}. {}",
        capital(&words),
        PART_NAMES[headline.part].replace('_', " the "),
        count_of(n, "animal"),
        value(headline.metric, effect.abs()),
        factor.name,
        levels[1],
        levels[0],
        by_chance(test)
    ))
}

/// A metric against a number.
fn against(headline: &Headline, factor: &Factor, tests: &[MetricTest]) -> Option<String> {
    let test = test_of(tests, headline, factor, &["spearman"])?;
    let words = capital(&headline.metric.entry().name.replace('_', " "));
    let Some(rho) = test.effect else {
        return Some(format!("{words} against {}: no test: {}.", factor.name, test.reason));
    };
    let way = if rho >= 0.0 { "rose" } else { "fell" };
    let n = test.animals.first().copied().unwrap_or(0);
    let slope = test_of(tests, headline, factor, &["slope"]).and_then(|row| row.effect);
    let each = slope.map_or(String::new(), |slope| {
        format!(", {} for each unit", value(headline.metric, slope))
    });
    let often = by_chance(test).replace("A difference this large", "A relation this close");
    Some(format!(
        "{words} {way} with {} (rank correlation {}{each}; {n} animals). {often}",
        factor.name,
        significant(rho, 2)
    ))
}

fn direction(analysis: &Analysis, question: &Question, tests: &[MetricTest]) -> String {
    let headings = headings(analysis, 0);
    let found = |name: &str| {
        tests.iter().find(|test| {
            test.metric == Metric::NetBearing.entry().name
                && test.part == 0
                && test.row.test == name
        })
    };
    let Some(rayleigh) = found("rayleigh").and_then(|test| Some((&test.row, test.row.p?))) else {
        return "Too few animals have a net bearing to say whether they head one way.".into();
    };
    let mean = mean_vector(&headings).direction().map(Bearing::from_radians);
    let mean =
        mean.map_or(String::new(), |mean| format!(", {} on average", degrees(mean.to_degrees())));
    let length = significant(rayleigh.0.effect.unwrap_or(0.0), 2);
    let mut text = format!(
        "Net directions of {} have a mean resultant of {length} (0 every way, 1 all one way){mean}; \
         Rayleigh p = {}.",
        count_of(headings.len(), "animal"),
        p_value(rayleigh.1)
    );
    let v_test = found("v_test").and_then(|test| Some((question.direction?, test.row.p?)));
    if let Some((stated, p)) = v_test {
        text += &format!(
            " Towards the stated {}: V-test p = {}, one-sided.",
            degrees(stated.to_degrees()),
            p_value(p)
        );
    }
    text
}

/// A p value as it is printed.
pub fn p_value(p: f64) -> String {
    if p < 0.0001 { "< 0.0001".into() } else { significant(p, 2) }
}

/// How many tests there were, and what so many bring about by chance.
fn caution(question: &Question, tests: &[MetricTest]) -> Option<String> {
    let first = ["permutation", "kruskal_wallis", "spearman", "sign_permutation"];
    let of_metrics = |test: &&MetricTest| first.contains(&test.row.test) && !test.factor.is_empty();
    let p: Vec<f64> = tests.iter().filter(of_metrics).filter_map(|test| test.row.p).collect();
    let low = p.iter().filter(|p| **p < 0.05).count();
    let asked = !question.by.is_empty() || !question.with.is_empty() || question.pairs.is_some();
    (asked && !p.is_empty()).then(|| {
        let expected = (0.05 * p.len() as f64).round();
        format!(
            "Of {} tests in all, {low} have p below 0.05; chance alone would bring about \
             {expected:.0}. Settle beforehand which question is yours.",
            p.len()
        )
    })
}

/// What is missing, and what is a lower bound.
fn left_out(analysis: &Analysis, groups: &[GroupRow]) -> Vec<String> {
    let roster = roster(analysis);
    let names = |list: &[_]| {
        let names: Vec<&str> = list.iter().map(|name| analysis.survey.text(*name)).collect();
        names.join(", ")
    };
    let mut notes = Vec::new();
    if roster.animals.is_empty() {
        notes.push("No trail has an animal: fill the column animal of the trails table.".into());
    }
    if !roster.nameless.is_empty() {
        notes.push(format!("Left out, since they have no animal: {}.", names(&roster.nameless)));
    }
    let unlisted: Vec<_> = analysis
        .shown_paths()
        .filter(|path| analysis.listed(path).is_none())
        .map(|path| analysis.network.trails[path.trail].name)
        .collect();
    if !unlisted.is_empty() {
        let list = names(&unlisted);
        notes.push(format!("Left out, since the trails table does not name them: {list}."));
    }
    if !roster.idle.is_empty() {
        notes.push(format!("Animals without any trail: {}.", names(&roster.idle)));
    }
    let bounds = groups.iter().filter(|row| row.factor.is_empty());
    let bounds = bounds.filter(|row| row.metric == Metric::PathLength && row.part == 0);
    let at_least = bounds.map(|row| row.summary.at_least).max().unwrap_or(0);
    if at_least > 0 {
        notes.push(format!(
            "{} had a thread that was cut short or a gap: their totals are at least what they say.",
            count_of(at_least, "animal")
        ));
    }
    notes
}
