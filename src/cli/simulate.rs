//! `simulate`: a made-up survey with known truth.

use super::args::SimulateArgs;
use super::terminal::Terminal;
use super::{Failure, options, output};
use crate::maths::quantity::count_of;
use crate::planning::simulate::simulate;

pub(super) fn run(args: &SimulateArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let wish = options::wish(args)?;
    let made = simulate(&wish);
    let mut tables = made.tables();
    tables.push(made.truth());
    output::write_made(&tables, &made.settings, &args.dir)?;
    if !args.quiet {
        let anchors: usize = made.sheets.iter().map(|sheet| sheet.len()).sum();
        let ties: usize = made.sheets.iter().map(|sheet| sheet.ties.len()).sum();
        let slips: usize = made.sheets.iter().map(|sheet| sheet.planted.len()).sum();
        terminal.print(&format!(
            "{} with {}, {} and {}, all made up, in {}\nThe truth is in truth.csv. Try: perchline \
             check {}\n",
            count_of(made.sheets.len(), "trail"),
            count_of(anchors, "anchor"),
            count_of(ties, "tie"),
            count_of(slips, "slip"),
            args.dir.display(),
            args.dir.display(),
        ))?;
        let wanted = wish.slips.len() * wish.trails;
        if slips < wanted {
            terminal.print(&format!(
                "{} found no leg to go into.\n",
                count_of(wanted - slips, "slip")
            ))?;
        }
    }
    terminal.flush()
}
