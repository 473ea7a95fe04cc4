//! What is left of the intervals where readings are not as precise as stated, and what tells so.

use super::count::counted;
use super::made_up::protocol::Protocol;
use super::made_up::sheet::Errors;
use super::made_up::{Wish, study};
use super::protocols::{analysed, cells_of, heading, joined};
use perchline::results::Analysis;

/// Of the first study; each further one has the next.
const SEED: u64 = 160_001;

const STATED: Errors = Errors::STATED;

/// What a new survey allows for, and an allowance as large as the error.
const NEW: &str = "[common]\ntape_scale = 0.003\nbearing_deg = 1\nheight_scale = 0.02\n";
const LONG: Errors = Errors { tape_long: 0.01, ..STATED };
const HIGH: Errors = Errors { heights_high: 0.03, ..STATED };

/// A study by its name, protocol, errors, and what its settings have beyond the usual.
struct Misstated(&'static str, Protocol, Errors, &'static str);

const STUDIES: [Misstated; 12] = [
    Misstated("as stated", Protocol::Bearings, STATED, ""),
    Misstated("as stated, `[common]` as in a new survey", Protocol::Bearings, STATED, NEW),
    Misstated("tapes 1 % long", Protocol::Bearings, LONG, ""),
    Misstated("tapes 1 % long, `[common]` as in a new survey", Protocol::Bearings, LONG, NEW),
    Misstated(
        "tapes 1 % long, `tape_scale = 0.01`",
        Protocol::Bearings,
        LONG,
        "[common]\ntape_scale = 0.01\n",
    ),
    Misstated(
        "compasses at 4° where 2° is stated",
        Protocol::Bearings,
        Errors { bearing_deg: 4.0, ..STATED },
        "",
    ),
    Misstated("heights 3 % high", Protocol::Bearings, HIGH, ""),
    Misstated("heights 3 % high, `[common]` as in a new survey", Protocol::Bearings, HIGH, NEW),
    Misstated(
        "heights 3 % high, `height_scale = 0.03`",
        Protocol::Bearings,
        HIGH,
        "[common]\nheight_scale = 0.03\n",
    ),
    Misstated(
        "errors of heights go together, 0.69 from anchor to anchor",
        Protocol::Bearings,
        Errors { heights_together: 0.69, ..STATED },
        "",
    ),
    Misstated("turns, positions: as stated", Protocol::TurnsPositions, STATED, ""),
    Misstated(
        "turns, positions: one position in ten off by ten times its accuracy",
        Protocol::TurnsPositions,
        Errors { outliers: 0.1, ..STATED },
        "",
    ),
];

/// Prints one table for each number of anchors.
pub(crate) fn tables(trails: usize) {
    let mut seed = SEED..;
    for anchors in [15, 40] {
        println!("\n{anchors} anchors a trail\n\n{}", heading("study", &TOLD));
        for (Misstated(name, protocol, errors, more), seed) in STUDIES.iter().zip(seed.by_ref()) {
            let wish = Wish::of(*protocol, [trails, anchors], seed);
            let mut study = study(&Wish { errors: *errors, ..wish });
            study.settings += more;
            let Some(analysis) = analysed(&study) else {
                println!("| {name} | the adjustment does not settle |");
                continue;
            };
            let counts = counted(&analysis, &study.truths);
            println!("| {name} |{}{}", joined(&cells_of(&counts, trails)), told(&analysis));
        }
    }
}

/// What tells that something is wrong, in per cent of the trails whose readings check each other.
const TOLD: [&str; 2] = ["global test at 5 % rejects", "some reading beyond 3.29 sd"];

fn told(analysis: &Analysis) -> String {
    let adjusted = &analysis.adjusted;
    let tested: Vec<f64> = adjusted.fits.iter().filter_map(|fit| fit.p_value).collect();
    if tested.len() * 10 < analysis.trails.len() {
        return String::from(" – | – |");
    }
    let rejected = tested.iter().filter(|p| **p < 0.05).count();
    let beyond = adjusted.residuals.iter().filter(|residual| {
        residual.standardised.is_some_and(|w| w.abs() > 3.29) && !residual.assumed
    });
    let trail = |line: Option<usize>, node: Option<usize>| {
        let of_node = node.and_then(|node| analysis.network.nodes[node].trail);
        line.map(|line| analysis.network.lines[line].trail).or(of_node)
    };
    let mut accused: Vec<usize> = beyond.filter_map(|r| trail(r.line, r.node)).collect();
    accused.sort_unstable();
    accused.dedup();
    let percent = |count: usize| 100.0 * count as f64 / tested.len() as f64;
    format!(" {:.1} | {:.1} |", percent(rejected), percent(accused.len()))
}
