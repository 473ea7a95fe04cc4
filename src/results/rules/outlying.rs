//! Softer signs, where nothing closes: legs that stand out among their neighbours. Worth a look,
//! never a finding.

use super::trunks::open_trunks;
use crate::adjustment::network::{Course, Line, Network, Trail};
use crate::maths::quantity::{Turn, metres, wrap_half_turn};
use crate::survey::Survey;

/// A leg that is worth a look.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WorthALook {
    /// The line, by index.
    pub line: usize,
    /// The column to look at.
    pub column: &'static str,
    /// Why.
    pub text: String,
}

/// A tape whose logarithm lies further than this from the median of its trail, in robust standard
/// deviations, stands out: the usual cut-off for modified z-scores; common practice, no source.
const OUTLYING: f64 = 3.5;
/// ... and, ten times shorter or longer, would lie within this of it. Two standard deviations.
const USUAL: f64 = 2.0;
/// The median absolute deviation of normal errors times this is their standard deviation.
const MAD_TO_SD: f64 = 1.4826;
/// Fewer legs than this tell nothing of a trail.
const LEAST_LEGS: usize = 8;
/// Up to this height, metres, an animal walks; on branches it often comes back as it went. Common
/// practice, no source.
const LOW_M: f64 = 1.0;
/// A turn sharper than this, degrees, at both ends of a leg doubles back. Common practice, no source.
const SHARP_DEG: f64 = 150.0;

/// The legs of `network` that stand out, among those that `checked` does not know.
pub fn worth_a_look(
    survey: &Survey,
    network: &Network,
    checked: impl Fn(usize) -> bool,
) -> Vec<WorthALook> {
    let mut found = open_trunks(survey, network);
    for trail in &network.trails {
        outlying_tapes(network, trail, &mut found);
        doubling_back(network, trail, &mut found);
        tenfold_tapes(network, trail, &mut found);
    }
    found.retain(|look| !checked(look.line));
    found
}

fn lines<'a>(network: &'a Network, trail: &Trail) -> impl Iterator<Item = (usize, &'a Line)> {
    network.visits_of(trail).iter().filter_map(|v| v.line).map(|at| (at, &network.lines[at]))
}

/// Tapes ten times longer or shorter than their like.
fn outlying_tapes(network: &Network, trail: &Trail, found: &mut Vec<WorthALook>) {
    let tapes: Vec<(usize, f64)> = lines(network, trail)
        .filter_map(|(at, line)| line.tape.filter(|tape| *tape > 0.0).map(|tape| (at, tape)))
        .collect();
    if tapes.len() < LEAST_LEGS {
        return;
    }
    let mut logs: Vec<f64> = tapes.iter().map(|(_, tape)| tape.ln()).collect();
    let median = middle(&mut logs);
    let mut off: Vec<f64> = logs.iter().map(|log| (log - median).abs()).collect();
    let sd = MAD_TO_SD * middle(&mut off);
    if sd <= 0.0 {
        return;
    }
    for (line, tape) in tapes {
        let z = (tape.ln() - median) / sd;
        let tenth = (z.abs() - std::f64::consts::LN_10 / sd).abs() < USUAL;
        if z.abs() > OUTLYING && tenth {
            let how = if z > 0.0 { "longer" } else { "shorter" };
            let text = format!(
                "tape {} is far {how} than its trail's usual {}: a decimal mark?",
                metres(tape),
                metres(median.exp())
            );
            found.push(WorthALook { line, column: "tape_m", text });
        }
    }
}

fn middle(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    let (low, high) = (values.len().saturating_sub(1) / 2, values.len() / 2);
    f64::midpoint(values[low], values[high])
}

/// Legs between two sharp turns, where the trail has none but these.
fn doubling_back(network: &Network, trail: &Trail, found: &mut Vec<WorthALook>) {
    let low = |node: usize| network.height_at(node).is_none_or(|height| height <= LOW_M);
    let walked: Vec<(usize, f64)> = lines(network, trail)
        .filter(|(_, line)| line.course == Course::Needle && low(line.from) && low(line.to))
        .filter_map(|(at, line)| line.needle().map(|needle| (at, needle)))
        .collect();
    let turn = |pair: &[(usize, f64)]| {
        let joined = network.lines[pair[0].0].to == network.lines[pair[1].0].from;
        if joined { wrap_half_turn(pair[1].1 - pair[0].1).abs() } else { 0.0 }
    };
    let turns: Vec<f64> = walked.windows(2).map(turn).collect();
    let sharp_turn = Turn::from_degrees(SHARP_DEG).to_radians();
    let sharp = turns.iter().filter(|turn| **turn > sharp_turn).count();
    if walked.len() < LEAST_LEGS || sharp > 2 {
        return; // this animal does turn back
    }
    for (k, pair) in turns.windows(2).enumerate() {
        if pair.iter().all(|turn| *turn > sharp_turn) {
            let line = walked[k + 1].0;
            let text = "it doubles back on both its neighbours, as no other leg of its trail does: \
                        the needle's wrong end?";
            found.push(WorthALook { line, column: "bearing_deg", text: text.to_owned() });
        }
    }
}

/// Legs without a bearing that would stand plumb, were their tape a tenth; in a trail whose other
/// legs have bearings.
fn tenfold_tapes(network: &Network, trail: &Trail, found: &mut Vec<WorthALook>) {
    if lines(network, trail).all(|(_, line)| line.needle().is_none()) {
        return;
    }
    for (at, line) in lines(network, trail).filter(|(_, line)| line.course == Course::Profile) {
        let heights = [line.from, line.to].map(|node| network.height_at(node));
        let ([Some(a), Some(b)], Some(tape), None) = (heights, line.tape, line.needle()) else {
            continue;
        };
        let climb = (b - a).abs();
        if climb > 0.3 && (tape / 10.0 - climb).abs() < 0.1 + 0.1 * climb {
            let text = format!(
                "tape {} has no bearing, and a tenth of it would just reach the {} it climbs: a \
                 decimal mark?",
                metres(tape),
                metres(climb)
            );
            found.push(WorthALook { line: at, column: "tape_m", text });
        }
    }
}
