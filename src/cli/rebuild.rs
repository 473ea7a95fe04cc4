//! `rebuild`: check, adjust, measure, and write the results.

use super::args::{RebuildArgs, SurveyArgs};
use super::check::Checked;
use super::terminal::Terminal;
use super::{Failure, check, options, output, summary};
use crate::results::{Analysis, Wanted, analyse, unsettled};
use crate::survey::fault::{Faults, Severity};
use serde_json::json;
use std::mem::forget;

pub(super) fn run(args: &RebuildArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let mut wanted = options::wanted(&args.wanted, &args.survey)?;
    wanted.compare_methods = args.compare_methods;
    let target = output::target(&args.survey.survey, args.out.as_deref())?;
    let outcome = analysed(&args.survey, wanted, terminal);
    if matches!(outcome, Err(Failure::Survey)) && !args.survey.print.json {
        terminal.print("Nothing was written. Earlier results, if any, are as they were.\n")?;
        terminal.flush()?;
    }
    let (analysis, faults) = outcome?;
    let reported = (!args.tables_only).then_some(&faults);
    output::write_results(&analysis, &target, reported)?;
    if args.survey.print.json {
        let warnings = faults.count(Severity::Warning);
        let trails = analysis.shown.iter().filter(|shown| **shown).count();
        let result = json!({"out": target, "trails": trails, "warnings": warnings});
        terminal.print(&format!("{result}\n"))?;
    } else if !args.survey.print.quiet {
        terminal.print(&summary::words(&analysis, &faults, terminal))?;
        terminal.print(&format!("\nTables written to {}\n", target.display()))?;
    }
    terminal.flush()?;
    forget(analysis); // the program ends: taken apart piece by piece, large surveys would delay it
    Ok(())
}

/// A survey read, checked and computed; where that cannot be done, what is wrong is printed.
pub(super) fn analysed(
    args: &SurveyArgs,
    wanted: Wanted,
    terminal: &mut Terminal,
) -> Result<(Analysis, Faults), Failure> {
    computed(check::read(args)?, args, wanted, terminal)
}

/// A survey computed that was read and checked before.
pub(super) fn computed(
    checked: Checked,
    args: &SurveyArgs,
    wanted: Wanted,
    terminal: &mut Terminal,
) -> Result<(Analysis, Faults), Failure> {
    if checked.faults.stop() {
        return refuse(args, &checked.faults, terminal);
    }
    options::trails_exist(args, &checked.survey, &checked.network)?;
    let (survey, network, mut faults) = (checked.survey, checked.network, checked.faults);
    let outcome = terminal
        .with_progress(args.print.quiet, |progress| analyse(survey, network, wanted, progress));
    match outcome {
        Ok(analysis) => {
            let Analysis { survey, network, adjusted, shown, .. } = &analysis;
            faults.append(unsettled(survey, network, adjusted, shown));
            Ok((analysis, faults))
        }
        Err(nothing) => {
            faults.append(nothing.faults);
            refuse(args, &faults, terminal)
        }
    }
}

/// Says what is wrong with the survey.
fn refuse<T>(args: &SurveyArgs, faults: &Faults, terminal: &mut Terminal) -> Result<T, Failure> {
    if args.print.json {
        terminal.print(&format!("{:#}\n", check::faults_json(faults)))?;
    } else {
        terminal.print(&check::faults_words(faults, terminal))?;
    }
    terminal.flush()?;
    Err(Failure::Survey)
}
