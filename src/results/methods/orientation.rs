//! Where the directions of the paths come from: shape, orientation, and legs that have none.

use super::Text;
use crate::adjustment::network::{Certainty, Network};
use crate::adjustment::path::Path;
use crate::maths::quantity::{Turn, count_of, percent, short};
use crate::results::Analysis;
use crate::results::answer::list;
use crate::survey::sources::Source;

pub(super) fn sentences(analysis: &Analysis, text: &mut Text) {
    orientation(analysis, text);
    undirected(analysis, text);
    profiles(analysis, text);
}

/// Whether turning angles made the plan of a path, or some of it.
fn by_turns(network: &Network, path: &Path) -> bool {
    let mut lines = path.legs.iter().filter_map(|leg| leg.line).map(|line| &network.lines[line]);
    path.layout.has_plan() && lines.any(|line| line.turned_from.and(line.turn).is_some())
}

/// Where north comes from, if any plan came from turning angles.
fn orientation(analysis: &Analysis, text: &mut Text) {
    let network = &analysis.network;
    let turned: Vec<&Path> =
        analysis.shown_paths().filter(|path| by_turns(network, path)).collect();
    if turned.is_empty() {
        return;
    }
    text.say(&format!("The plan of {} came from turning angles.", count_of(turned.len(), "trail")));
    let moved = |path: &&Path| path.layout.has_plan() && path.legs.iter().any(|leg| leg.counted);
    let plans: Vec<&Path> = analysis.shown_paths().filter(moved).collect();
    let count = |certainty| plans.iter().filter(|p| p.layout.orientation == certainty).count();
    let [read, by_positions, unknown] =
        [Certainty::Measured, Certainty::Estimated, Certainty::Unknown].map(count);
    let onto = if by_positions > 0 { text.cite(Source::Schonemann1966) } else { String::new() };
    let ways: Vec<String> = [
        (read, "from bearings".to_owned()),
        (
            by_positions,
            format!("by turning the walk onto its known positions by least squares ({onto})"),
        ),
    ]
    .into_iter()
    .filter(|(count, _)| *count > 0)
    .map(|(count, how)| format!("{how} in {}", count_of(count, "trail")))
    .collect();
    if !ways.is_empty() {
        text.say(&format!("North came {}.", list(&ways)));
    }
    if unknown > 0 {
        text.say(&format!(
            "Of {} the orientation is unknown: what needs a north (net bearing, tests of direction, places on a \
             map) is not given for them.",
            count_of(unknown, "trail")
        ));
    }
}

/// How legs without a direction were handled: how many, and by which spread.
fn undirected(analysis: &Analysis, text: &mut Text) {
    let assumed = |path: &&Path| path.layout.has_plan() && path.legs.iter().any(|leg| leg.assumed);
    let paths: Vec<&Path> = analysis.shown_paths().filter(assumed).collect();
    let legs = || paths.iter().flat_map(|path| &path.legs);
    let (count, all) = (legs().filter(|leg| leg.assumed).count(), legs().count());
    if count == 0 {
        return;
    }
    let spread = |path: &&Path| {
        Turn::from_radians(analysis.network.trails[path.trail].turn_spread).to_degrees()
    };
    let spreads: Vec<f64> = paths.iter().map(spread).collect();
    let least = spreads.iter().copied().fold(f64::INFINITY, f64::min);
    let most = spreads.iter().copied().fold(0.0, f64::max);
    let [least, most] = [least, most].map(|spread| short(spread, 2));
    let spread = if least == most { least } else { format!("{least}–{most}") };
    let was = if count == 1 { "was" } else { "were" };
    text.say(&format!(
        "{} without a direction ({} of the legs of {}) {was} carried on straight from the leg \
         before, with an SD of {spread}°, which intervals carry on.",
        count_of(count, "leg"),
        percent(count as f64 / all as f64),
        count_of(paths.len(), "trail"),
    ));
}

/// What was computed where there is no plan.
fn profiles(analysis: &Analysis, text: &mut Text) {
    let profiles = analysis.without_plan().len();
    if profiles > 0 {
        text.say(&format!(
            "Of {} without enough directions for a plan only lengths and heights were computed.",
            count_of(profiles, "trail")
        ));
    }
}
