//! `compare`: differences between animals, the answer in words first.

use super::args::CompareArgs;
use super::terminal::{Terminal, Tone};
use super::{Failure, options, rebuild, summary};
use crate::maths::quantity::{count_of, significant};
use crate::measures::metrics::Metric;
use crate::results::answer::{TESTS, answer, headlines, p_value, people, value};
use crate::results::cell::object;
use crate::results::comparison::{Comparison, GroupRow, MetricTest};
use crate::results::findings::verdict::Verdict;
use crate::results::question::Question;
use crate::results::tables::{Cell, Emit, Table, groups, tests};
use crate::results::{Analysis, PART_NAMES};
use crate::survey::fault::Severity;
use serde_json::{Value, json};

pub(super) fn run(args: &CompareArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let wanted = options::wanted(&args.wanted, &args.survey)?;
    let (analysis, faults) = rebuild::analysed(&args.survey, wanted, terminal)?;
    let question = options::question(args, &analysis)?;
    let Comparison { question, groups, tests, .. } = Comparison::of(&analysis, question);
    let sentences = answer(&analysis, &question, &groups, &tests);
    if args.survey.print.json {
        let result = json!({
            "groups": rows(&groups::table(), &|emit| groups::emit_rows(&groups, emit)),
            "tests": rows(&tests::table(), &|emit| tests::emit_rows(&tests, emit)),
            "answer": sentences,
            "verdict": Verdict::of(&analysis).json(),
        });
        terminal.print(&format!("{result:#}\n"))?;
    } else if !args.survey.print.quiet {
        terminal.print(&words(&analysis, &question, &sentences, terminal))?;
        terminal.print(&figures(&question, &groups, &tests, terminal))?;
        let warnings = faults.count(Severity::Warning);
        if warnings > 0 {
            let warnings = count_of(warnings, "warning");
            terminal.print(&format!("{warnings} of the survey: perchline check shows them.\n"))?;
        }
    }
    terminal.flush()
}

/// Rows in the columns of a table, as JSON.
fn rows(table: &Table, give: &dyn Fn(&mut Emit<'_>)) -> Value {
    let mut list = Vec::new();
    give(&mut |row: &[Cell<'_>]| list.push(object(table, row)));
    Value::Array(list)
}

fn words(
    analysis: &Analysis,
    question: &Question,
    sentences: &[String],
    terminal: &Terminal,
) -> String {
    let name = analysis.survey.settings.name.as_deref().unwrap_or("Survey without a name");
    let mut by: Vec<String> = question.by.iter().map(|f| format!("by {}", f.name)).collect();
    by.extend(question.with.iter().map(|f| format!("with {}", f.name)));
    by.extend(question.pairs.iter().map(|(f, [a, b])| format!("{} {a} and {b}", f.name)));
    by.extend(question.within.iter().map(|f| format!("within {}", f.name)));
    let head = format!("{name}: {}", by.join(", "));
    let head = terminal.toned(Tone::Strong, head.trim_end_matches([':', ' ']));
    let verdict = summary::verdict(analysis, terminal);
    format!("{head}\n{verdict}\n- {}\n", sentences.join("\n- "))
}

/// Mean ± SD and n of each group, the size of the difference, and p.
fn figures(
    question: &Question,
    groups: &[GroupRow],
    tests: &[MetricTest],
    terminal: &Terminal,
) -> String {
    let mut text = String::new();
    for factor in &question.by {
        let levels = levels(groups, &factor.name);
        let mut head = format!("{:<20} {:<13}", "mean ± SD (n animals)", "part");
        for level in &levels {
            head += &format!(" {:>22}", people(&factor.name, level));
        }
        head += &format!(" {:>28} {:>8} {:>8}", "difference (95 % interval)", "p", "p ranks");
        text += &format!("\n{}\n", terminal.toned(Tone::Strong, &head));
        for (metric, part) in headlines() {
            text += &line(metric, part, &factor.name, (groups, &levels), tests);
        }
    }
    if !question.with.is_empty() || question.pairs.is_some() {
        text += &effects(question, tests, terminal);
    }
    if !question.by.is_empty() {
        let shuffled = match question.within {
            Some(_) => "the difference of means, within strata",
            None => {
                "Welch's t, by the log-rank where threads ran out (≥), by ranks of more than two groups"
            }
        };
        text +=
            &format!("\np: labels of animals shuffled, by {shuffled}; p ranks: Mann-Whitney.\n");
    }
    text + "In brackets n, the number of animals; each animal's trails are averaged first. All \
            metrics and tests: --json.\n"
}

fn levels(groups: &[GroupRow], factor: &str) -> Vec<String> {
    let mut levels: Vec<String> = Vec::new();
    for row in groups.iter().filter(|row| row.factor == factor) {
        if !levels.contains(&row.group) {
            levels.push(row.group.clone());
        }
    }
    levels
}

fn line(
    metric: Metric,
    part: usize,
    factor: &str,
    (groups, levels): (&[GroupRow], &[String]),
    tests: &[MetricTest],
) -> String {
    let name = metric.entry().name;
    let mut text = format!("{name:<20} {:<13}", PART_NAMES[part]);
    for level in levels {
        let row = groups.iter().find(|row| {
            row.metric == metric && row.part == part && row.factor == factor && row.group == *level
        });
        let cell = row.map_or(String::new(), |row| {
            let number = |value: Option<f64>| {
                value.map_or_else(|| "–".to_owned(), |value| significant(value, 3))
            };
            let s = &row.summary;
            let bound = if s.at_least > 0 { "≥ " } else { "" };
            format!("{bound}{} ± {} ({})", number(s.mean), number(s.sd), s.animals)
        });
        text += &format!(" {cell:>22}");
    }
    let own =
        |test: &&MetricTest| test.metric == name && test.part == part && test.factor == factor;
    let named = |name: &str| tests.iter().filter(own).find(|test| test.row.test == name);
    let first = |names: &[&str]| names.iter().find_map(|name| named(name));
    let chance = first(&TESTS).or_else(|| named("permutation"));
    text += &format!(" {:>28}", chance.map_or(String::new(), effect));
    let p = |test: Option<&MetricTest>| test.and_then(|t| t.row.p).map_or("–".into(), p_value);
    text += &format!(" {:>8} {:>8}\n", p(chance), p(named("mann_whitney")));
    text
}

fn effect(test: &MetricTest) -> String {
    let Some(effect) = test.row.effect else { return "–".into() };
    let ends = test.row.interval.map_or(String::new(), |[low, high]| {
        format!(" ({} to {})", significant(low, 2), significant(high, 2))
    });
    significant(effect, 3) + &ends
}

/// One line a test of a covariate or of pairs.
fn effects(question: &Question, tests: &[MetricTest], terminal: &Terminal) -> String {
    let head = format!(
        "{:<20} {:<13} {:<18} {:>7} {:>34} {:>8}",
        "metric", "part", "test", "animals", "size (95 % interval)", "p"
    );
    let mut text = format!("\n{}\n", terminal.toned(Tone::Strong, &head));
    let mut factors: Vec<&str> = question.with.iter().map(|f| f.name.as_str()).collect();
    factors.extend(question.pairs.iter().map(|(factor, _)| factor.name.as_str()));
    for (metric, part) in headlines() {
        let own = tests.iter().filter(|test| {
            let paired = matches!(test.row.test, "spearman" | "slope" | "sign_permutation");
            test.metric == metric.entry().name
                && test.part == part
                && paired
                && factors.contains(&test.factor.as_str())
        });
        for test in own {
            text += &format!(
                "{:<20} {:<13} {:<18} {:>7} {:>34} {:>8}\n",
                test.metric,
                PART_NAMES[part],
                test.row.test,
                test.row.animals.first().copied().unwrap_or(0),
                size(metric, test),
                test.row.p.map_or("–".into(), p_value),
            );
        }
    }
    text
}

fn size(metric: Metric, test: &MetricTest) -> String {
    match test.row.effect {
        Some(difference) if test.row.test == "sign_permutation" && test.row.interval.is_none() => {
            value(metric, difference)
        }
        _ => effect(test),
    }
}
