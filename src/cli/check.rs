//! `check`: every fault, every closure; writes nothing.

use super::args::{CheckArgs, SurveyArgs};
use super::terminal::{Terminal, Tone};
use super::{Failure, options, summary};
use crate::adjust::{Adjusted, Method, Residual, adjust};
use crate::analysis::{Analysis, Wanted, ground, unsettled};
use crate::check::check;
use crate::fault::{Alike, Fault, Faults, Severity};
use crate::input::source::read_survey;
use crate::network::{Network, build};
use crate::quantity::count_of;
use crate::survey::Survey;
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// A survey read and checked.
pub(super) struct Checked {
    pub(super) survey: Survey,
    pub(super) network: Network,
    pub(super) faults: Faults,
}

/// Reads a survey and applies every rule.
pub(super) fn read(args: &SurveyArgs) -> Result<Checked, Failure> {
    let overrides = options::overrides(args)?;
    let (survey, mut faults) = read_survey(&args.survey, &overrides)
        .map_err(|error| Failure::Machine(error.to_string()))?;
    let network = build(&survey);
    faults.append(check(&survey, &network));
    faults.append(ground(&survey, &network).1);
    Ok(Checked { survey, network, faults })
}

pub(super) fn run(args: &CheckArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let Checked { survey, network, mut faults } = read(&args.survey)?;
    options::trails_exist(&args.survey, &survey, &network)?;
    let sound = sound_trails(&survey, &network, &faults, &args.survey.trails);
    let (ground, _) = ground(&survey, &network);
    let precision = &survey.settings.precision;
    let adjusted = adjust(&network, precision, &ground, Method::LeastSquares, false);
    faults.append(unsettled(&survey, &network, &adjusted, &sound));
    let analysis = Analysis {
        survey,
        network,
        adjusted,
        wanted: Wanted::default(),
        paths: Vec::new(),
        trails: Vec::new(),
        shown: sound,
    };
    if args.survey.json {
        terminal.print(&format!("{:#}\n", result_json(&analysis, &faults)))?;
    } else if !args.survey.quiet || faults.stop() {
        terminal.print(&faults_words(&faults, terminal))?;
        terminal.print(&summary::closures_words(&analysis, terminal))?;
        terminal.print(&suspects_words(&analysis))?;
    }
    terminal.flush()?;
    if faults.stop() { Err(Failure::Survey) } else { Ok(()) }
}

/// The trails without an error in their rows: what does not close there is no wrong cell.
fn sound_trails(
    survey: &Survey,
    network: &Network,
    faults: &Faults,
    wanted: &[String],
) -> Vec<bool> {
    let grid = &survey.grids.anchors;
    let bad: BTreeSet<usize> = faults
        .sorted()
        .iter()
        .filter(|fault| fault.severity == Severity::Error && fault.place.file == grid.file)
        .filter_map(|fault| fault.place.row)
        .collect();
    let in_anchors = |alike: &Alike| alike.severity == Severity::Error && alike.file == grid.file;
    if faults.unlisted().iter().any(|(alike, _)| in_anchors(alike)) {
        return vec![false; network.trails.len()]; // which rows are bad is not known
    }
    let asked = |name: &str| wanted.is_empty() || wanted.iter().any(|trail| trail == name);
    network
        .trails
        .iter()
        .map(|trail| {
            let rows = network.visits_of(trail).iter().map(|visit| survey.anchors[visit.row].row);
            asked(survey.text(trail.name))
                && !rows.into_iter().any(|row| bad.contains(&grid.row(row)))
        })
        .collect()
}

/// Faults for a reader, errors first within the order of places.
pub(super) fn faults_words(faults: &Faults, terminal: &Terminal) -> String {
    let mut words = String::new();
    for fault in faults.sorted() {
        words += &fault_words(fault, terminal);
    }
    for (alike, count) in faults.unlisted() {
        let Alike { code, severity, file, column } = alike;
        let column = column.as_ref().map_or(String::new(), |column| format!(", column {column}"));
        let more = count_of(count, &format!("more {}", severity.word()));
        words += &format!("{more} like these in {file}{column} ({}), not listed\n", code.name());
    }
    let counts = [Severity::Error, Severity::Warning, Severity::Note]
        .map(|severity| count_of(faults.count(severity), severity.word()));
    words + &format!("{}\n", counts.join(", "))
}

fn fault_words(fault: &Fault, terminal: &Terminal) -> String {
    let tone = match fault.severity {
        Severity::Error => Tone::Bad,
        Severity::Warning => Tone::Doubtful,
        Severity::Note => Tone::Faint,
    };
    let word = terminal.toned(tone, fault.severity.word());
    let mut words = format!("{word} {} ({})\n", fault.place.phrase(), fault.code.name());
    for (label, text) in
        [("found   ", &fault.found), ("expected", &fault.expected), ("hint    ", &fault.hint)]
    {
        if !text.is_empty() {
            words += &format!("    {} {}\n", terminal.toned(Tone::Faint, label), visible(text));
        }
    }
    words
}

/// Control characters of a survey never reach a terminal.
fn visible(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect()
}

/// The faults as JSON.
pub(super) fn faults_json(faults: &Faults) -> Value {
    let one = |fault: &Fault| {
        json!({
            "code": fault.code.name(),
            "severity": fault.severity,
            "file": fault.place.file.as_ref(),
            "sheet": fault.place.sheet.as_deref(),
            "row": fault.place.row,
            "column": fault.place.column.as_deref(),
            "found": fault.found,
            "expected": fault.expected,
            "hint": fault.hint,
        })
    };
    let more = |(alike, count): (&Alike, usize)| {
        json!({
            "code": alike.code.name(),
            "severity": alike.severity,
            "file": alike.file.as_ref(),
            "column": alike.column.as_deref(),
            "count": count,
        })
    };
    json!({
        "faults": faults.sorted().into_iter().map(one).collect::<Vec<_>>(),
        "unlisted": faults.unlisted().into_iter().map(more).collect::<Vec<_>>(),
    })
}

fn result_json(analysis: &Analysis, faults: &Faults) -> Value {
    let mut result = faults_json(faults);
    result["closures"] = summary::closures_json(analysis);
    let name = |trail: &usize| analysis.survey.text(analysis.network.trails[*trail].name);
    let shown = |trails: &[usize]| trails.iter().all(|&trail| analysis.shown[trail]);
    let tests = analysis.adjusted.fits.iter().filter(|fit| shown(&fit.trails)).map(|fit| {
        json!({
            "trails": fit.trails.iter().map(name).collect::<Vec<_>>(),
            "statistic": fit.statistic,
            "degrees_of_freedom": fit.degrees_of_freedom,
            "p_value": fit.p_value,
        })
    });
    result["global_test"] = tests.collect();
    let of = |residual: &Residual| {
        let (trail, from, to) = ends(analysis, residual);
        json!({
            "trail": trail, "from": from, "to": to, "kind": residual.kind.name(),
            "standardised": residual.standardised, "explanations": [],
        })
    };
    result["suspects"] = suspects(&analysis.adjusted, analysis).iter().map(|r| of(r)).collect();
    result["advice"] = json!([]);
    result
}

/// |standardised residual| beyond this is a suspect: α = 0.001, two-sided.
const SUSPECT: f64 = 3.29;

/// The reading of each trail that fits worst, where it is a suspect; largest first.
fn suspects<'a>(adjusted: &'a Adjusted, analysis: &Analysis) -> Vec<&'a Residual> {
    let size = |residual: &Residual| residual.standardised.map_or(0.0, f64::abs);
    let trail = |residual: &Residual| {
        let line = residual.line.map(|line| analysis.network.lines[line].trail);
        line.or_else(|| residual.node.and_then(|node| analysis.network.nodes[node].trail))
    };
    let mut found: Vec<&Residual> = adjusted
        .residuals
        .iter()
        .filter(|residual| size(residual) > SUSPECT && !residual.assumed)
        .filter(|residual| trail(residual).is_some_and(|trail| analysis.shown[trail]))
        .collect();
    found.sort_by(|a, b| size(b).total_cmp(&size(a)));
    let mut met = BTreeSet::new();
    found.retain(|residual| met.insert(trail(residual)));
    found
}

/// Trail, start and end of a reading, by name.
fn ends<'a>(analysis: &'a Analysis, residual: &Residual) -> (&'a str, &'a str, &'a str) {
    let name = |node: usize| analysis.survey.text(analysis.network.nodes[node].name);
    let trail = |trail: usize| analysis.survey.text(analysis.network.trails[trail].name);
    match (residual.line.map(|line| &analysis.network.lines[line]), residual.node) {
        (Some(line), _) => (trail(line.trail), name(line.from), name(line.to)),
        (None, Some(node)) => {
            let of = analysis.network.nodes[node].trail.map_or("", trail);
            (of, "", name(node))
        }
        (None, None) => ("", "", ""),
    }
}

fn suspects_words(analysis: &Analysis) -> String {
    let one = |residual: &&Residual| {
        let (trail, from, to) = ends(analysis, residual);
        let kind = residual.kind.name().replace('_', " ");
        let size = residual.standardised.map_or(0.0, f64::abs);
        format!(
            "  trail {trail}, leg {from} to {to}: the {kind} fits worst of its trail \
             ({size:.1} of its standard deviations). Look here first, and at its neighbours.\n"
        )
    };
    let found = suspects(&analysis.adjusted, analysis);
    if found.is_empty() {
        return String::new();
    }
    let list: String = found.iter().map(one).collect();
    format!("\nReadings to look at\n{list}")
}
