//! The answer in words: what an ecologist wants to know first.

use super::check::faults_words;
use super::terminal::{Terminal, Tone};
use crate::adjust::Method;
use crate::adjust::closure::{Closure, Verdict};
use crate::analysis::tables::{Cell, Table, closure_name, tables};
use crate::analysis::{Analysis, TrailResult};
use crate::fault::{Faults, Severity};
use crate::metrics::Metric;
use crate::network::DeclinationSource;
use crate::path::Path;
use crate::quantity::{Turn, count_of, degrees, metres};
use serde_json::{Map, Value, json};

/// The summary of a rebuild.
pub(super) fn words(analysis: &Analysis, faults: &Faults, terminal: &Terminal) -> String {
    let mut text = String::new();
    if faults.count(Severity::Warning) > 0 {
        text += &faults_words(faults, terminal);
        text.push('\n');
    }
    text += &heading(analysis, terminal);
    text += &trails(analysis, terminal);
    text += &closures_words(analysis, terminal);
    text += &unknown(analysis, terminal);
    text
}

fn shown(analysis: &Analysis) -> impl Iterator<Item = (&Path, &TrailResult)> {
    let all = analysis.paths.iter().zip(&analysis.trails);
    all.filter(|(path, _)| analysis.shown[path.trail])
}

fn heading(analysis: &Analysis, terminal: &Terminal) -> String {
    let s = &analysis.survey.settings;
    let name = s.name.as_deref().unwrap_or("Survey without a name");
    let trails = shown(analysis).count();
    let anchors: usize = shown(analysis).map(|(path, _)| path.points.len()).sum();
    let animals = {
        let listed = shown(analysis).filter_map(|(path, _)| {
            let listed = analysis.network.trails[path.trail].listed?;
            analysis.survey.trails[listed].animal
        });
        listed.collect::<std::collections::BTreeSet<_>>().len()
    };
    let of_animals =
        if animals > 0 { format!(" of {}", count_of(animals, "animal")) } else { String::new() };
    let total = |metric| -> f64 {
        let value = |(_, result): (&Path, &TrailResult)| result.value(metric, 0)?.measured;
        shown(analysis).filter_map(value).map(|measured| measured.value).sum()
    };
    let highest = shown(analysis)
        .filter_map(|(_, result)| result.value(Metric::HeightMax, 0)?.measured)
        .map(|measured| measured.value)
        .fold(f64::NEG_INFINITY, f64::max);
    format!(
        "{}\n{}{of_animals}, {}: {} along the thread, {} in plan, {} climbed; \
         highest {} above ground.\n",
        terminal.toned(Tone::Strong, name),
        count_of(trails, "trail"),
        count_of(anchors, "anchor"),
        metres(total(Metric::PathLength)),
        metres(total(Metric::HorizontalLength)),
        metres(total(Metric::Ascent)),
        metres(highest),
    )
}

/// One line a trail; `≥` stands for at least.
fn trails(analysis: &Analysis, terminal: &Terminal) -> String {
    let head = format!(
        "\n{:<10} {:<10} {:>7} {:>17} {:>17} {:>8} {:>14} {:>7}  {}\n",
        "trail", "animal", "anchors", "length m", "climb m", "net m", "highest m", "above", "ended"
    );
    let mut text = terminal.toned(Tone::Strong, head.trim_end_matches('\n'));
    text.push('\n');
    for (path, result) in shown(analysis) {
        let trail = &analysis.network.trails[path.trail];
        let listed = trail.listed.map(|at| &analysis.survey.trails[at]);
        let animal = listed.and_then(|row| row.animal).map_or("", |a| analysis.survey.text(a));
        let ending = listed.and_then(|row| row.ending).map_or("", |ending| ending.words());
        text += &format!(
            "{:<10} {:<10} {:>7} {:>17} {:>17} {:>8} {:>14} {:>7}  {}\n",
            cut(analysis.survey.text(trail.name), 10),
            cut(animal, 10),
            path.points.len(),
            with_interval(result, Metric::PathLength, 1),
            with_interval(result, Metric::Ascent, 1),
            value(result, Metric::NetDisplacement, 1),
            with_interval(result, Metric::HeightMax, 1),
            share(result),
            ending,
        );
    }
    text
}

fn cut(text: &str, most: usize) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    if clean.chars().count() <= most {
        return clean;
    }
    clean.chars().take(most - 1).chain(['…']).collect()
}

fn value(result: &TrailResult, metric: Metric, decimals: usize) -> String {
    let Some(row) = result.value(metric, 0) else { return String::from("–") };
    let at_least = if row.at_least { "≥" } else { "" };
    row.measured.map_or(String::new(), |m| format!("{at_least}{:.decimals$}", m.value))
}

fn with_interval(result: &TrailResult, metric: Metric, decimals: usize) -> String {
    let value = value(result, metric, decimals);
    let measured = result.value(metric, 0).and_then(|row| row.measured);
    match measured.and_then(|measured| measured.interval) {
        Some([low, high]) => format!("{value} ({low:.decimals$}–{high:.decimals$})"),
        None => value,
    }
}

fn share(result: &TrailResult) -> String {
    let row = result.value(Metric::AboveGroundShare, 0).and_then(|row| row.measured);
    row.map_or(String::from("–"), |share| format!("{:.0} %", 100.0 * share.value))
}

/// Every closure in words.
pub(super) fn closures_words(analysis: &Analysis, terminal: &Terminal) -> String {
    let all: Vec<&Closure> = analysis.adjusted.closures.iter().collect();
    let on_sound = |closure: &&Closure| closure.trails.iter().all(|&t| analysis.shown[t]);
    let sound: Vec<&Closure> = all.iter().copied().filter(on_sound).collect();
    let mut text = format!("\n{}\n", terminal.toned(Tone::Strong, "Closure"));
    for closure in &sound {
        text += &closure_line(analysis, closure, terminal);
    }
    let checked = |trail: &usize| {
        sound.iter().any(|c| c.trails.contains(trail) && c.verdict != Verdict::TooCoarse)
    };
    let legs = |trail: usize| analysis.network.trails[trail].visits.len() > 1;
    let unchecked: Vec<&str> = (0..analysis.network.trails.len())
        .filter(|trail| analysis.shown[*trail] && legs(*trail) && !checked(trail))
        .map(|trail| analysis.survey.text(analysis.network.trails[trail].name))
        .collect();
    if !unchecked.is_empty() {
        text += &format!(
            "  Nothing checks {}: {}.\n",
            count_of(unchecked.len(), "trail"),
            unchecked.join(", "),
        );
    }
    text
}

fn closure_line(analysis: &Analysis, closure: &Closure, terminal: &Terminal) -> String {
    let tone = match closure.verdict {
        Verdict::Closes => Tone::Good,
        Verdict::Doubtful => Tone::Doubtful,
        Verdict::Fails => Tone::Bad,
        Verdict::TooCoarse => Tone::Faint,
    };
    let trails: Vec<&str> = closure
        .trails
        .iter()
        .map(|&trail| analysis.survey.text(analysis.network.trails[trail].name))
        .collect();
    format!(
        "  {} {}: {} off after {} of {}, {} expected; {}\n",
        trails.join(" "),
        closure_name(analysis, closure),
        metres(closure.total()),
        metres(closure.length),
        count_of(closure.legs, "leg"),
        metres(closure.expected),
        terminal.toned(tone, closure.verdict.words()),
    )
}

/// The rows of `closures.csv` as JSON.
pub(super) fn closures_json(analysis: &Analysis) -> Value {
    let all = tables(analysis);
    let Some(table) = all.iter().find(|table| table.name == "closures") else { return json!([]) };
    let mut rows = Vec::new();
    table.for_each_row(analysis, &mut |row| rows.push(row_json(table, row)));
    Value::Array(rows)
}

/// One row of a table as a JSON object.
pub(super) fn row_json(table: &Table, row: &[Cell<'_>]) -> Value {
    let mut object = Map::new();
    for (cell, column) in row.iter().zip(&table.columns) {
        let value = match cell {
            Cell::Blank => Value::Null,
            Cell::Text(text) => Value::from(*text),
            Cell::Number(number) => Value::from(*number),
            Cell::Count(count) => Value::from(*count),
        };
        object.insert(column.name.to_string(), value);
    }
    Value::Object(object)
}

/// What is not known, and why.
fn unknown(analysis: &Analysis, terminal: &Terminal) -> String {
    let mut lines = Vec::new();
    let names = |which: &dyn Fn(&Path) -> bool| -> Vec<String> {
        let name = |path: &Path| analysis.survey.text(analysis.network.trails[path.trail].name);
        shown(analysis).filter(|(p, _)| which(p)).map(|(p, _)| name(p).to_owned()).collect()
    };
    let mut tell = |which: Vec<String>, why: &str| {
        if !which.is_empty() {
            lines.push(format!("  {}: {why}\n", which.join(", ")));
        }
    };
    tell(names(&|path| !path.has_plan), "no bearings, so heights and lengths only");
    tell(
        names(&|path| path.cut_short),
        "the path goes on beyond the thread; totals are at least (≥)",
    );
    tell(names(&|path| path.has_gap), "a gap is not counted; totals are at least (≥)");
    tell(
        names(&|path| path.out_of_reach),
        "part was out of reach; the greatest height is at least (≥)",
    );
    tell(names(&|path| !path.whole), "in two pieces; what compares the ends is blank");
    tell(
        names(&|path| !path.settled),
        "the adjustment did not settle; positions and what rests on them are blank",
    );
    let sources = analysis.network.trails.first().map(|trail| trail.declination);
    if let Some((turn, source)) = sources {
        let size = degrees(Turn::from_radians(turn).to_degrees());
        lines.push(match source {
            DeclinationSource::Unknown => {
                "  True north: not known; directions are as read.\n".into()
            }
            _ => format!("  Declination {size}: {}.\n", source.words()),
        });
    }
    let by_hand = method_words(analysis.wanted.method);
    lines.extend(by_hand.map(|words| format!("  {words}\n")));
    if analysis.wanted.method.has_covariance() && analysis.wanted.draws > 0 {
        lines.push(
            "  In brackets: 95 % intervals by the stated precisions, if no slip is left.\n".into(),
        );
    }
    format!(
        "\n{}\n{}",
        terminal.toned(Tone::Strong, "Not known, and how it is known"),
        lines.concat()
    )
}

/// What must be said of a method that is not the usual one.
const fn method_words(method: Method) -> Option<&'static str> {
    match method {
        Method::None => Some("Raw traverse: nothing was adjusted, so there are no intervals."),
        Method::CompassRule => {
            Some("Compass rule: misclosures were spread by taped length; there are no intervals.")
        }
        Method::Robust => Some(
            "Robust: readings more than 1.345 standard deviations off count less \
             (Huber 1964; Holland & Welsch 1977).",
        ),
        Method::LeastSquares => None,
    }
}
