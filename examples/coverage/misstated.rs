//! What is left of the intervals where readings are not as precise as stated.

use super::made_up::Wish;
use super::made_up::protocol::Protocol;
use super::made_up::sheet::Errors;
use super::protocols::{GROUND_M, cells_of, coverage, heading, joined};

/// Of the first study; each further one has the next.
const SEED: u64 = 160_001;

const STATED: Errors = Errors::STATED;

const STUDIES: [(&str, Protocol, Errors); 7] = [
    ("as stated", Protocol::Bearings, STATED),
    ("tapes 1 % long", Protocol::Bearings, Errors { tape_long: 0.01, ..STATED }),
    (
        "compasses at 4° where 2° is stated",
        Protocol::Bearings,
        Errors { bearing_deg: 4.0, ..STATED },
    ),
    ("heights 3 % high", Protocol::Bearings, Errors { heights_high: 0.03, ..STATED }),
    (
        "errors of heights go together, 0.69 from anchor to anchor",
        Protocol::Bearings,
        Errors { heights_together: 0.69, ..STATED },
    ),
    ("turns, positions: as stated", Protocol::TurnsPositions, STATED),
    (
        "turns, positions: one position in ten off by ten times its accuracy",
        Protocol::TurnsPositions,
        Errors { outliers: 0.1, ..STATED },
    ),
];

/// Prints one table for each number of anchors.
pub(crate) fn tables(trails: usize) {
    let mut seed = SEED..;
    for anchors in [15, 40] {
        println!("\n{anchors} anchors a trail\n\n{}", heading("study"));
        for ((name, protocol, errors), seed) in STUDIES.into_iter().zip(seed.by_ref()) {
            let wish = Wish { protocol, trails, anchors, ground_m: GROUND_M, errors, seed };
            let counts = coverage(&wish);
            println!("| {name} |{}", joined(&cells_of(&counts, trails)));
        }
    }
}
