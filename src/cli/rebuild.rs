//! `rebuild`: check, adjust, measure, and write the results.

use super::args::RebuildArgs;
use super::terminal::Terminal;
use super::{Failure, check, options, output, summary};
use crate::analysis::{Analysis, analyse, unsettled};
use crate::fault::{Faults, Severity};
use serde_json::json;

pub(super) fn run(args: &RebuildArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let wanted = options::wanted(args)?;
    let target = output::target(&args.survey.survey, args.out.as_deref())?;
    let checked = check::read(&args.survey)?;
    if checked.faults.stop() {
        return refuse(args, &checked.faults, terminal);
    }
    options::trails_exist(&args.survey, &checked.survey, &checked.network)?;
    let (survey, network, mut faults) = (checked.survey, checked.network, checked.faults);
    let outcome = terminal
        .with_progress(args.survey.quiet, |progress| analyse(survey, network, wanted, progress));
    let analysis = match outcome {
        Ok(analysis) => analysis,
        Err(nothing) => {
            faults.append(nothing.faults);
            return refuse(args, &faults, terminal);
        }
    };
    let Analysis { survey, network, adjusted, shown, .. } = &analysis;
    faults.append(unsettled(survey, network, adjusted, shown));
    output::write_results(&analysis, &target)?;
    if args.survey.json {
        let warnings = faults.count(Severity::Warning);
        let trails = analysis.shown.iter().filter(|shown| **shown).count();
        let result = json!({"out": target, "trails": trails, "warnings": warnings});
        terminal.print(&format!("{result}\n"))?;
    } else if !args.survey.quiet {
        terminal.print(&summary::words(&analysis, &faults, terminal))?;
        terminal.print(&format!("\nTables written to {}\n", target.display()))?;
    }
    terminal.flush()
}

/// Says what is wrong with the survey, and that nothing was written.
fn refuse(args: &RebuildArgs, faults: &Faults, terminal: &mut Terminal) -> Result<(), Failure> {
    if args.survey.json {
        terminal.print(&format!("{:#}\n", check::faults_json(faults)))?;
    } else {
        terminal.print(&check::faults_words(faults, terminal))?;
        terminal.print("Nothing was written. Earlier results, if any, are as they were.\n")?;
    }
    terminal.flush()?;
    Err(Failure::Survey)
}
