//! `view`: the paths in space, in a window that follows the files or in one picture.

use super::args::{ColourArg, LookArg, SurveyArgs, ViewArgs};
use super::terminal::Terminal;
use super::{Failure, check, options, output, rebuild};
use crate::adjustment::path::Path as TrailPath;
use crate::adjustment::suspects::Suspect;
use crate::adjustment::{Method, adjust};
use crate::products::scene::{Space, space};
use crate::results::findings::{findings, suspects};
use crate::results::progress::Progress;
use crate::results::{Analysis, Wanted, analyse, ground};
use crate::survey::fault::{Faults, Folded, Severity};
use crate::survey::input::stamp::{Stamp, stamp};
use crate::viewer::camera::{Look, Place};
use crate::viewer::view::{ColourBy, View};
use crate::viewer::{Outcome, Rebuilt, Refused, Source, Suspicion, framed, snapshot, window};
use serde_json::json;
use std::collections::BTreeMap;
use std::path::Path;

/// A view rests on positions alone: no paths are drawn for intervals.
fn wanted(args: &SurveyArgs) -> Wanted {
    Wanted { draws: 0, trails: args.trails.clone(), ..Wanted::default() }
}

pub(super) fn run(args: &ViewArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let mut view = View::of(look(args.look));
    view.colour = colour(args.colour);
    match &args.snapshot {
        Some(out) => picture(args, &view, out, terminal),
        None => open(args, view, terminal),
    }
}

fn picture(
    args: &ViewArgs,
    view: &View,
    out: &Path,
    terminal: &mut Terminal,
) -> Result<(), Failure> {
    let size = options::pixels(&args.size)?;
    let door = output::door(&args.survey, out, terminal)?;
    if !door.is_stream() {
        options::is_png(out)?;
    }
    let (analysis, faults) = rebuild::analysed(&args.survey, wanted(&args.survey), terminal)?;
    let rebuilt = rebuilt(&analysis, &faults);
    drop(analysis); // of a large survey it takes as much room as the picture
    let view = framed(&rebuilt, view, size.map(f64::from), 0.0);
    let png = snapshot(&rebuilt, &view, size).map_err(refused)?;
    door.write(&png)?;
    if args.survey.print.json {
        let look = look(args.look).name();
        let result = json!({"out": out, "size": size, "look": look});
        terminal.print(&format!("{result}\n"))?;
    } else if !args.survey.print.quiet {
        terminal.print(&format!("Written to {}\n", out.display()))?;
    }
    terminal.flush()
}

fn open(args: &ViewArgs, view: View, terminal: &mut Terminal) -> Result<(), Failure> {
    let survey = &args.survey.survey;
    if stamp(survey).is_none() {
        // Says what is wrong with the name.
        return rebuild::analysed(&args.survey, wanted(&args.survey), terminal).map(|_| ());
    }
    let title = format!("Perchline – {}", survey.display());
    let files = Files { args: args.survey.clone() };
    window(files, &title, view).map_err(refused)
}

fn refused(why: Refused) -> Failure {
    Failure::Machine(why.to_string())
}

/// A survey on disk.
struct Files {
    args: SurveyArgs,
}

impl Source for Files {
    type Stamp = Stamp;

    fn stamp(&self) -> Option<Stamp> {
        stamp(&self.args.survey)
    }

    fn read(&self) -> Outcome {
        let checked = match check::read(&self.args) {
            Ok(checked) => checked,
            Err(failure) => return Outcome::Faults(vec![failure.to_string()]),
        };
        if checked.faults.stop() {
            return Outcome::Faults(each_fault(&checked.faults, true));
        }
        let (survey, network, faults) = (checked.survey, checked.network, checked.faults);
        if let Err(failure) = options::trails_exist(&self.args, &survey, &network) {
            return Outcome::Faults(vec![failure.to_string()]);
        }
        match analyse(survey, network, wanted(&self.args), &Progress::default()) {
            Ok(analysis) => Outcome::Rebuilt(Box::new(rebuilt(&analysis, &faults))),
            Err(nothing) => Outcome::Faults(each_fault(&nothing.faults, true)),
        }
    }

    fn save(&self, png: &[u8]) -> String {
        let out = output::picture(&self.args.survey);
        match output::write_whole(&out, png) {
            Ok(()) => format!("the picture was saved: {}", out.display()),
            Err(failure) => format!(
                "the picture could not be saved beside the survey: {failure}; perchline view \
                 SURVEY --snapshot FILE.png writes one elsewhere"
            ),
        }
    }
}

/// The errors, or the other faults, each in words.
fn each_fault(faults: &Faults, errors: bool) -> Vec<String> {
    let plain = Terminal::plain();
    let folded = faults.folded();
    let is_error = |fault: &&Folded<'_>| fault.first.severity == Severity::Error;
    let wanted = folded.iter().filter(|fault| is_error(fault) == errors);
    wanted.map(|fault| check::fault_words(fault, &plain)).collect()
}

fn rebuilt(analysis: &Analysis, faults: &Faults) -> Rebuilt {
    let space = space(analysis);
    let words = suspects::words(analysis).into_iter().map(|found| found.lines());
    let suspicions = findings(analysis)
        .suspects
        .iter()
        .zip(words)
        .filter_map(|(suspect, words)| suspicion(analysis, &space, suspect, words))
        .collect();
    Rebuilt { space, suspicions, warnings: each_fault(faults, false) }
}

fn suspicion(
    analysis: &Analysis,
    space: &Space,
    suspect: &Suspect,
    words: String,
) -> Option<Suspicion> {
    let line = suspect.line.and_then(|line| analysis.network.lines.get(line));
    let nodes = match (line, suspect.node) {
        (Some(line), _) => [line.from, line.to],
        (None, Some(node)) => [node, node],
        (None, None) => return None,
    };
    let would_be = would_be(analysis, space, suspect);
    Some(Suspicion { line: suspect.line, nodes, words, would_be })
}

/// Where the points of the suspect's trail would be if the first explanation held.
fn would_be(analysis: &Analysis, space: &Space, suspect: &Suspect) -> BTreeMap<usize, Vec<Place>> {
    let Some(first) = suspect.explanations.first() else { return BTreeMap::new() };
    let network = first.change.of(&analysis.network);
    let (ground, _) = ground(&analysis.survey, &network);
    let precision = &analysis.survey.settings.precision;
    let adjusted = adjust(&network, precision, &ground, Method::LeastSquares, false);
    let points = |path: &TrailPath| -> Vec<Place> {
        path.points.iter().map(|point| adjusted.positions[point.node]).collect()
    };
    let trails = space.scene.trails.iter().enumerate();
    let here = trails.filter(|(_, trail)| Some(trail.trail) == suspect.trail && trail.has_plan);
    here.map(|(at, trail)| (at, points(&analysis.paths[trail.trail]))).collect()
}

const fn look(typed: LookArg) -> Look {
    match typed {
        LookArg::Plan => Look::Plan,
        LookArg::North => Look::North,
        LookArg::East => Look::East,
        LookArg::South => Look::South,
        LookArg::West => Look::West,
        LookArg::Oblique => Look::Oblique,
    }
}

const fn colour(typed: ColourArg) -> ColourBy {
    match typed {
        ColourArg::Height => ColourBy::Height,
        ColourArg::Trail => ColourBy::Trail,
        ColourArg::Support => ColourBy::Support,
        ColourArg::Group => ColourBy::Group,
        ColourArg::Uncertainty => ColourBy::Uncertainty,
        ColourArg::Section => ColourBy::Section,
    }
}
