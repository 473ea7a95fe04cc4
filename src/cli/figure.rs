//! `figure`: one figure into one file.

use super::args::FigureArgs;
use super::terminal::Terminal;
use super::{Failure, options, output, rebuild};
use crate::products::figure::encode::{Format, encode};
use crate::products::figure::{KINDS, svg};
use serde_json::json;

pub(super) fn run(args: &FigureArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let wanted = options::wanted(&args.wanted, &args.survey)?;
    let door = output::door(&args.survey, &args.out, terminal)?;
    let ending = options::figure_ending(&args.out, args.format.as_deref(), &door)?;
    let format = Format::of_ending(&ending).ok_or_else(|| {
        let out = args.out.display();
        Failure::Usage(format!("{out}: the ending must be .svg, .pdf or .png"))
    })?;
    let known = KINDS.iter().find(|(_, name, _)| *name == args.kind);
    let (kind, name, _) = known.ok_or_else(|| Failure::Usage(format!("no kind {}", args.kind)))?;
    let analysis = rebuild::analysed(&args.survey, wanted, terminal)?.0;
    let drawing = svg(*kind, &analysis, args.width)
        .map_err(|why| Failure::Lacking(format!("{name}: {}", why.reason)))?;
    let bytes = encode(&drawing, format).map_err(Failure::Machine)?;
    door.write(&bytes)?;
    if args.survey.print.json {
        let size = [drawing.width_mm, drawing.height_mm];
        let result = json!({"out": args.out, "caption": drawing.caption, "size_mm": size});
        terminal.print(&format!("{result}\n"))?;
    } else if !args.survey.print.quiet {
        terminal.print(&format!("{}\n\nWritten to {}\n", drawing.caption, args.out.display()))?;
    }
    terminal.flush()
}
