//! How often intervals hold by each protocol of measuring.

use super::count::{Count, counted};
use super::made_up::protocol::Protocol;
use super::made_up::walk::Habit;
use super::made_up::{Study, Wish, study};
use perchline::adjustment::network::build;
use perchline::measures::metrics::{METRICS, Metric};
use perchline::results::progress::Progress;
use perchline::results::{Analysis, Wanted, analyse};
use perchline::survey::dictionary::ANCHORS;
use perchline::survey::fault::Faults;
use perchline::survey::input::csv::read_grid;
use perchline::survey::settings;
use perchline::survey::{Grids, read_tables};
use std::collections::BTreeMap;

/// Of the first study; each further one has the next.
const SEED: u64 = 150_001;

/// Anchors a trail.
pub(crate) const SIZES: [usize; 3] = [8, 15, 40];

pub(crate) const SHOWN: [Metric; 14] = [
    Metric::PathLength,
    Metric::HorizontalLength,
    Metric::NetDisplacement,
    Metric::MaxDistance,
    Metric::Straightness,
    Metric::Sinuosity,
    Metric::DailyHomeRange,
    Metric::IntensityOfUse,
    Metric::TurnResultant,
    Metric::Ascent,
    Metric::ElevationRange,
    Metric::HeightMean,
    Metric::HeightMax,
    Metric::NetBearing,
];

/// Supports change no geometry: their trails are those of the bearings.
pub(crate) fn measured() -> impl Iterator<Item = Protocol> {
    let by_support = [Protocol::SupportByLeg, Protocol::SupportByAnchor];
    Protocol::ALL.into_iter().filter(move |protocol| !by_support.contains(protocol))
}

/// A study as read, adjusted and measured; `None` where no trail of it settles.
pub(crate) fn analysed(study: &Study) -> Option<Analysis> {
    let mut faults = Faults::default();
    let anchors =
        read_grid("anchors.csv", study.anchors.as_bytes(), &ANCHORS, usize::MAX, &mut faults);
    let (settings, _) = settings::read("survey.toml", &study.settings, &[]);
    let (survey, _) = read_tables(settings, Grids { anchors, ..Grids::default() });
    let network = build(&survey);
    let wanted = Wanted { draws: 400, ..Wanted::default() };
    analyse(survey, network, wanted, &Progress::default()).ok()
}

/// One count a metric.
pub(crate) fn coverage(wish: &Wish) -> Vec<Count> {
    let study = study(wish);
    match analysed(&study) {
        Some(analysis) => counted(&analysis, &study.truths),
        None => vec![Count { blank: wish.trails, ..Count::default() }; METRICS.len()],
    }
}

/// Prints one table for each number of anchors, and what is blank without need.
pub(crate) fn tables(trails: usize, habit: Option<Habit>) {
    let mut seed = SEED..;
    let (mut within, mut cells) = (0, 0);
    let mut blanks = Vec::new();
    for anchors in SIZES {
        println!("\n{anchors} anchors a trail\n\n{}", heading("protocol", &[]));
        for (protocol, seed) in measured().zip(seed.by_ref()) {
            let wish = Wish { habit, ..Wish::of(protocol, [trails, anchors], seed) };
            let counts = coverage(&wish);
            let row = cells_of(&counts, trails);
            within += row.iter().filter(|(good, _)| *good == Some(true)).count();
            cells += row.iter().filter(|(good, _)| good.is_some()).count();
            println!("| {} |{}", protocol.name(), joined(&row));
            blanks.extend(blank_without_need(protocol, anchors, &counts, trails));
        }
    }
    println!("\n{within} of {cells} cells lie in 92-98 %.");
    println!("\n| protocol | anchors | blank although the protocol carries it, % of trails |");
    println!("|---|---|---|\n{}", blanks.join("\n"));
}

/// The heading of a table with one column a metric, and some more.
pub(crate) fn heading(first: &str, more: &[&str]) -> String {
    let mut names: Vec<String> =
        SHOWN.iter().map(|metric| format!("`{}`", metric.entry().name)).collect();
    names.extend(more.iter().map(|&name| name.to_owned()));
    format!("| {first} | {} |\n|---|{}", names.join(" | "), "---|".repeat(names.len()))
}

/// The cells of one row, and whether each lies within bounds where it is not a dash.
pub(crate) fn cells_of(counts: &[Count], trails: usize) -> Vec<(Option<bool>, String)> {
    let cell = |metric: &Metric| match counts[metric.at()].percent(trails) {
        None => (None, String::from("–")),
        Some(percent) if (91.95..98.05).contains(&percent) => (Some(true), format!("{percent:.1}")),
        Some(percent) => (Some(false), format!("**{percent:.1}**")),
    };
    SHOWN.iter().map(cell).collect()
}

pub(crate) fn joined(row: &[(Option<bool>, String)]) -> String {
    let mut text = String::new();
    for (_, cell) in row {
        text += &format!(" {cell} |");
    }
    text
}

/// A row that says in which share of the trails which metrics have no value, though they might.
fn blank_without_need(
    protocol: Protocol,
    anchors: usize,
    counts: &[Count],
    trails: usize,
) -> Option<String> {
    let mut of_count: BTreeMap<usize, Vec<&str>> = BTreeMap::new();
    for metric in SHOWN.iter().filter(|&&metric| protocol.carries(metric)) {
        of_count.entry(counts[metric.at()].blank).or_default().push(metric.entry().name);
    }
    let share = |(&blank, names): (&usize, &Vec<&str>)| {
        let percent = 100.0 * blank as f64 / trails as f64;
        format!("{percent:.1}: `{}`", names.join("`, `"))
    };
    let blanks: Vec<String> = of_count.iter().filter(|(blank, _)| **blank > 0).map(share).collect();
    let row = || format!("| {} | {anchors} | {} |", protocol.name(), blanks.join("; "));
    (!blanks.is_empty()).then(row)
}
