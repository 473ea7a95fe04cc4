//! `check`: every fault, every closure; writes nothing.

use super::args::{CheckArgs, SurveyArgs};
use super::terminal::{Terminal, Tone};
use super::{Failure, options, summary};
use crate::adjustment::common::{Instrument, Unknown};
use crate::adjustment::network::{Network, build};
use crate::adjustment::{Method, adjust};
use crate::maths::quantity::{Turn, count_of};
use crate::results::findings::verdict::Verdict;
use crate::results::findings::{advice, suspects};
use crate::results::rules::check;
use crate::results::{Analysis, Wanted, ground, unsettled};
use crate::survey::Survey;
use crate::survey::fault::{Alike, Fault, Faults, Folded, Severity};
use crate::survey::input::source::read_survey;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::sync::OnceLock;

/// A survey read and checked.
pub(super) struct Checked {
    pub(super) survey: Survey,
    pub(super) network: Network,
    pub(super) faults: Faults,
}

/// Reads a survey and applies every rule.
pub(super) fn read(args: &SurveyArgs) -> Result<Checked, Failure> {
    let overrides = options::overrides(&args.set)?;
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
        compared: Vec::new(),
        asked: OnceLock::new(),
        space: OnceLock::new(),
        precisions: OnceLock::new(),
        findings: OnceLock::new(),
    };
    if args.survey.print.json {
        terminal.print(&format!("{:#}\n", result_json(&analysis, &faults)))?;
    } else if !args.survey.print.quiet || faults.stop() {
        terminal.print(&summary::verdict(&analysis, terminal))?;
        terminal.print(&faults_words(&faults, terminal))?;
        terminal.print(&summary::closures_words(&analysis, terminal))?;
        terminal.print(&summary::advice(&analysis, terminal))?;
        // What matters most stands last, next to where the next command is typed.
        terminal.print(&summary::looks(&analysis, terminal))?;
        terminal.print(&summary::suspects(&analysis, terminal))?;
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
        .filter(|fault| fault.severity == Severity::Error)
        .filter(|fault| fault.place.file == grid.file && fault.place.sheet == grid.sheet)
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
    for fault in faults.folded() {
        words += &fault_words(&fault, terminal);
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

/// One fault in words, with all its rows.
pub(super) fn fault_words(folded: &Folded<'_>, terminal: &Terminal) -> String {
    let fault = folded.first;
    let tone = match fault.severity {
        Severity::Error => Tone::Bad,
        Severity::Warning => Tone::Doubtful,
        Severity::Note => Tone::Faint,
    };
    let word = terminal.toned(tone, fault.severity.word());
    let mut words = format!("{word} {} ({})\n", folded.place(), fault.code.name());
    for (label, text) in
        [("found   ", &folded.found()), ("expected", &fault.expected), ("hint    ", &fault.hint)]
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
            "cell": fault.place.cell.as_deref(),
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

/// Every common error that is allowed for, and what readings tell of it; angles in degrees.
fn common_errors(analysis: &Analysis) -> Value {
    let one = |unknown: &Unknown| {
        let size = |value: f64| match unknown.instrument {
            Instrument::Compass => Turn::from_radians(value).to_degrees(),
            Instrument::Tape | Instrument::Height => value,
        };
        json!({
            "name": unknown.instrument.name(),
            "observer": unknown.observer.map(|observer| analysis.survey.text(observer)),
            "stated_sd": size(unknown.stated),
            "value": size(unknown.value),
            "sd": size(unknown.sd),
            "told": unknown.is_told(),
        })
    };
    analysis.adjusted.common.unknowns.iter().map(one).collect()
}

fn result_json(analysis: &Analysis, faults: &Faults) -> Value {
    let mut result = faults_json(faults);
    result["closures"] = summary::table_json(analysis, "closures");
    let name = |trail: &usize| analysis.survey.text(analysis.network.trails[*trail].name);
    let shown = |trails: &[usize]| trails.iter().all(|&trail| analysis.shown[trail]);
    let tests = analysis.adjusted.fits.iter().filter(|fit| shown(&fit.trails)).map(|fit| {
        json!({
            "trails": fit.trails.iter().map(name).collect::<Vec<_>>(),
            "statistic": fit.statistic,
            // Rounding must not make a fraction of a whole number.
            "degrees_of_freedom": (fit.degrees_of_freedom * 1e6).round() / 1e6,
            "p_value": fit.p_value,
        })
    });
    result["global_test"] = tests.collect();
    result["common_errors"] = common_errors(analysis);
    result["precisions"] = summary::table_json(analysis, "precisions");
    result["suspects"] = suspects::json(analysis);
    result["worth_a_look"] = advice::looks_json(analysis);
    result["advice"] = advice::json(analysis);
    result["verdict"] = Verdict::of(analysis).json();
    result
}
