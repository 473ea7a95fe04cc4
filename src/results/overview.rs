//! What a rebuild comes to, in sentences and one line a trail; for the terminal and the report.

use super::tables::closure_name;
use super::usage::halves_words;
use super::{Analysis, TrailResult};
use crate::adjustment::Method;
use crate::adjustment::closure::{Closure, ClosureKind, Verdict};
use crate::adjustment::network::DeclinationSource;
use crate::adjustment::network::undirected::undirected_words;
use crate::adjustment::path::Path;
use crate::maths::quantity::{Turn, count_of, degrees, metres, plain};
use crate::measures::metrics::Metric;
use jiff::civil::Date;
use std::collections::BTreeSet;

/// The heads of [`trail_lines`].
pub const TRAIL_HEADS: [&str; 9] =
    ["trail", "animal", "anchors", "length m", "climb m", "net m", "highest m", "above", "ended"];

fn shown(analysis: &Analysis) -> impl Iterator<Item = (&Path, &TrailResult)> {
    let all = analysis.paths.iter().zip(&analysis.trails);
    all.filter(|(path, _)| analysis.shown[path.trail])
}

/// The survey's name, or that it has none.
pub fn title(analysis: &Analysis) -> &str {
    analysis.survey.settings.name.as_deref().unwrap_or("Survey without a name")
}

/// How many trails there are, how long they are and how high they go.
pub fn overview(analysis: &Analysis) -> String {
    let trails = shown(analysis).count();
    let anchors: usize = shown(analysis).map(|(path, _)| path.points.len()).sum();
    let animals = {
        let listed = shown(analysis).filter_map(|(path, _)| {
            let listed = analysis.network.trails[path.trail].listed?;
            analysis.survey.trails[listed].animal
        });
        listed.collect::<BTreeSet<_>>().len()
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
    let minimum = shown(analysis).any(|(path, _)| path.cut_short || path.has_gap);
    let minimum = if minimum { "at least " } else { "" };
    format!(
        "{}{of_animals}, {}: {minimum}{} along the thread, {} in plan, {} climbed; highest {} above ground.",
        count_of(trails, "trail"),
        count_of(anchors, "anchor"),
        metres(total(Metric::PathLength)),
        metres(total(Metric::HorizontalLength)),
        metres(total(Metric::Ascent)),
        metres(highest),
    )
}

/// The dates of the trails, `6 to 18 September 2025`; `None` where none is known.
pub fn dates(analysis: &Analysis) -> Option<String> {
    let listed = analysis.shown_paths().filter_map(|path| analysis.listed(path));
    let dates: BTreeSet<Date> = listed.filter_map(|row| analysis.survey.trails[row].date).collect();
    let words = |date: &Date| date.strftime("%-d %B %Y").to_string();
    let (first, last) = (dates.first()?, dates.last()?);
    if first == last {
        return Some(words(first));
    }
    // what both have in common is said once
    let from = match (first.year() == last.year(), first.month() == last.month()) {
        (true, true) => first.strftime("%-d").to_string(),
        (true, false) => first.strftime("%-d %B").to_string(),
        _ => words(first),
    };
    Some(format!("{from} to {}", words(last)))
}

/// One line a trail, with 95 % intervals in brackets; `≥` stands for at least.
pub fn trail_lines(analysis: &Analysis) -> Vec<[String; 9]> {
    let line = |(path, result): (&Path, &TrailResult)| {
        let trail = &analysis.network.trails[path.trail];
        let listed = trail.listed.map(|at| &analysis.survey.trails[at]);
        let animal = listed.and_then(|row| row.animal).map_or("", |a| analysis.survey.text(a));
        let ending = listed.and_then(|row| row.ending).map_or("", |ending| ending.words());
        [
            analysis.survey.text(trail.name).to_owned(),
            animal.to_owned(),
            path.points.len().to_string(),
            with_interval(result, Metric::PathLength, 1),
            with_interval(result, Metric::Ascent, 1),
            value(result, Metric::NetDisplacement, 1),
            with_interval(result, Metric::HeightMax, 1),
            share(result),
            ending.to_owned(),
        ]
    };
    shown(analysis).map(line).collect()
}

fn value(result: &TrailResult, metric: Metric, decimals: usize) -> String {
    let Some(row) = result.value(metric, 0) else { return String::from("–") };
    let at_least = if row.at_least { "≥" } else { "" };
    row.measured.map_or(String::new(), |m| format!("{at_least}{}", plain(m.value, decimals)))
}

fn with_interval(result: &TrailResult, metric: Metric, decimals: usize) -> String {
    let value = value(result, metric, decimals);
    let measured = result.value(metric, 0).and_then(|row| row.measured);
    match measured.and_then(|measured| measured.interval) {
        Some(ends) => {
            let [low, high] = ends.map(|end| plain(end, decimals));
            format!("{value} ({low}–{high})")
        }
        None => value,
    }
}

fn share(result: &TrailResult) -> String {
    let row = result.value(Metric::AboveGroundShare, 0).and_then(|row| row.measured);
    row.map_or(String::from("–"), |share| format!("{:.0} %", 100.0 * share.value))
}

/// One closure in words, its verdict apart.
#[derive(Clone, Debug, PartialEq)]
pub struct ClosureWords {
    /// Which it is, how far it is off, and what was to be expected.
    pub found: String,
    /// How it is judged.
    pub verdict: Verdict,
}

/// The closures of trails that are all shown.
pub fn own_closures(analysis: &Analysis) -> impl Iterator<Item = &Closure> {
    let whole = |closure: &&Closure| closure.trails.iter().all(|&trail| analysis.shown[trail]);
    analysis.adjusted.closures.iter().filter(whole)
}

/// As many lines between positions of one trail, and no more, are told one by one where all is well.
const TOLD_ONE_BY_ONE: usize = 2;

/// Every closure in words; those from position to position of one trail together, where none of them
/// speaks of a slip.
pub fn closures_words(analysis: &Analysis) -> Vec<ClosureWords> {
    let mut rows: Vec<Vec<&Closure>> = Vec::new();
    for closure in own_closures(analysis) {
        let quiet = matches!(closure.verdict, Verdict::Closes | Verdict::TooCoarse);
        let alike = |row: &&mut Vec<&Closure>| {
            let first = row[0];
            quiet
                && closure.kind == ClosureKind::BetweenControls
                && (first.kind, &first.trails, first.verdict)
                    == (closure.kind, &closure.trails, closure.verdict)
        };
        match rows.iter_mut().rev().find(alike) {
            Some(row) => row.push(closure),
            None => rows.push(vec![closure]),
        }
    }
    let told = |row: &Vec<&Closure>| match row.len() {
        0..=TOLD_ONE_BY_ONE => row.iter().map(|one| one_closure(analysis, one)).collect(),
        _ => vec![alike_closures(analysis, row)],
    };
    rows.iter().flat_map(told).collect()
}

fn trails_of(analysis: &Analysis, closure: &Closure) -> String {
    let names = closure.trails.iter().map(|&trail| analysis.trail_name(trail));
    names.collect::<Vec<_>>().join(" ")
}

fn one_closure(analysis: &Analysis, closure: &Closure) -> ClosureWords {
    let found = format!(
        "{} {}: {} off after {} of {}, {} expected",
        trails_of(analysis, closure),
        closure_name(analysis, closure),
        metres(closure.total()),
        metres(closure.length),
        count_of(closure.legs, "leg"),
        metres(closure.expected),
    );
    ClosureWords { found, verdict: closure.verdict }
}

/// Closures of one trail between positions, with one verdict.
fn alike_closures(analysis: &Analysis, closures: &[&Closure]) -> ClosureWords {
    let of = |size: fn(&Closure) -> f64| {
        let all = closures.iter().map(|closure| size(closure));
        (all.clone().fold(f64::INFINITY, f64::min), all.fold(0.0, f64::max))
    };
    let (least, most) = of(Closure::total);
    let (_, expected) = of(|closure| closure.expected);
    let found = format!(
        "{} {} from one position to the next: {} to {} off, up to {} expected",
        trails_of(analysis, closures[0]),
        count_of(closures.len(), "line"),
        metres(least),
        metres(most),
        metres(expected),
    );
    ClosureWords { found, verdict: closures[0].verdict }
}

/// The names of the trails without any check measurement, of those that have a leg.
pub fn unchecked_trails(analysis: &Analysis) -> Vec<&str> {
    let checked = |trail: &usize| {
        own_closures(analysis).any(|c| c.trails.contains(trail) && c.verdict != Verdict::TooCoarse)
    };
    let legs = |trail: usize| analysis.network.trails[trail].visits.len() > 1;
    (0..analysis.network.trails.len())
        .filter(|trail| analysis.shown[*trail] && legs(*trail) && !checked(trail))
        .map(|trail| analysis.trail_name(trail))
        .collect()
}

/// The same in a sentence; `None` where every trail has one.
pub fn unchecked(analysis: &Analysis) -> Option<String> {
    let names = unchecked_trails(analysis);
    let have = if names.len() == 1 { "has" } else { "have" };
    let trails = count_of(names.len(), "trail");
    (!names.is_empty())
        .then(|| format!("{trails} {have} no check measurement: {}.", names.join(", ")))
}

/// Which legs of a path have no direction, and what that costs.
fn without_direction(analysis: &Analysis, path: &Path) -> Option<String> {
    let Analysis { survey, network, .. } = analysis;
    let words = undirected_words(survey, network, &network.trails[path.trail])?;
    let so = if path.layout.has_plan() {
        "drawn straight on with the leg before or after, as widely as the trail turns"
    } else {
        "so heights and lengths only"
    };
    Some(format!("{}: {words}; {so}", analysis.trail_name(path.trail)))
}

/// What is not known, and how the rest is known.
#[expect(clippy::too_many_lines, reason = "one sentence a thing that is not known")]
pub fn not_known(analysis: &Analysis) -> Vec<String> {
    let mut lines: Vec<String> =
        shown(analysis).filter_map(|(path, _)| without_direction(analysis, path)).collect();
    let names = |which: &dyn Fn(&Path) -> bool| -> Vec<String> {
        let name = |path: &Path| analysis.trail_name(path.trail);
        shown(analysis).filter(|(p, _)| which(p)).map(|(p, _)| name(p).to_owned()).collect()
    };
    let mut tell = |which: Vec<String>, why: &str| {
        if !which.is_empty() {
            lines.push(format!("{}: {why}", which.join(", ")));
        }
    };
    tell(
        names(&|path| path.layout.has_plan() && !path.layout.is_oriented()),
        "turning angles without a north, drawn from the release upward; what needs a north is blank \
         (one bearing, or two positions, would give it)",
    );
    let coarse = |path: &Path| {
        path.points.iter().any(|point| analysis.network.too_coarse.contains(&point.node))
    };
    tell(
        names(&coarse),
        "the positions lie too near each other, for what they are uncertain by, to say where north is",
    );
    tell(
        names(&|path| path.cut_short),
        "the path goes on beyond the thread; totals are minimum values (≥)",
    );
    tell(names(&|path| path.has_gap), "a gap is not counted; totals are minimum values (≥)");
    tell(
        names(&|path| path.out_of_reach),
        "part was out of reach; the greatest height is a minimum value (≥)",
    );
    tell(names(&|path| !path.whole), "in two pieces; what compares the ends is blank");
    tell(
        names(&|path| !path.settled),
        "the adjustment did not settle; positions and what rests on them are blank",
    );
    lines.extend(halves_words(analysis, 0).map(|words| format!("Supports: {words}.")));
    let sources = analysis.network.trails.first().map(|trail| trail.declination);
    let has_needle = analysis.network.lines.iter().any(|line| line.needle().is_some());
    if let Some((turn, source)) = sources.filter(|_| has_needle) {
        let size = degrees(Turn::from_radians(turn).to_degrees());
        lines.push(match source {
            DeclinationSource::Unknown => "True north: not known; directions are as read.".into(),
            _ => format!("Declination {size}: {}.", source.words()),
        });
    }
    lines.extend(method_words(analysis.wanted.method).map(str::to_owned));
    if analysis.wanted.method.has_covariance() && analysis.wanted.draws > 0 {
        lines.push(
            "In brackets: 95 % intervals by the stated precisions, if no slip is left.".into(),
        );
    }
    lines
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
