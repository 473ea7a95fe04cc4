//! `rebuild`: check, adjust, measure, and write the results.

use super::args::RebuildArgs;
use super::terminal::Terminal;
use super::{Failure, check, options, output, summary};
use crate::analysis::analyse;
use crate::fault::Severity;
use serde_json::json;

pub(super) fn run(args: &RebuildArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let wanted = options::wanted(args)?;
    let target = output::target(&args.survey.survey, args.out.as_deref())?;
    let checked = check::read(&args.survey)?;
    if checked.faults.stop() {
        if args.survey.json {
            terminal.print(&format!("{:#}\n", check::faults_json(&checked.faults)))?;
        } else {
            terminal.print(&check::faults_words(&checked.faults, terminal))?;
            terminal.print("Nothing was written. Earlier results, if any, are as they were.\n")?;
        }
        terminal.flush()?;
        return Err(Failure::Survey);
    }
    options::trails_exist(&args.survey, &checked.survey, &checked.network)?;
    let (survey, network, faults) = (checked.survey, checked.network, checked.faults);
    let outcome = terminal
        .with_progress(args.survey.quiet, |progress| analyse(survey, network, wanted, progress));
    let Ok(analysis) = outcome else {
        let leg = outcome.err().map_or(String::new(), |error| error.leg);
        let hint = "perchline check shows what does not fit; a slip there is likely";
        terminal.print(&format!("The adjustment does not settle: {leg} moves most. {hint}.\n"))?;
        terminal.flush()?;
        return Err(Failure::Survey);
    };
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
