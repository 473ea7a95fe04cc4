//! How often the 95 % intervals hold the truth: made-up trails with known paths, measured, adjusted.
//!
//! `cargo run --release --example coverage -- [TRAILS]` prints the first table of
//! `docs/accuracy.md`, `… -- protocols [TRAILS] [walkers|climbers]` that of the protocols by which crews
//! measure,
//! `… -- misstated [TRAILS]` what is left where readings are not as precise as stated;
//! `… -- precisions [STUDIES] [SIZE]` how well a study tells its own precisions;
//! `… -- folders FOLDER [TRAILS]` writes a survey of each protocol into a folder, to be tried by hand;
//! `… -- studies [TRAILS]` prints studies for `tests/reference/protocol_minima.py`. Trails are
//! invented; but for the last table with the noise that the adjustment assumes: what is tested is
//! the interval method, not the world.

#![expect(clippy::print_stdout, reason = "a measuring program")]

pub(crate) mod count;
pub(crate) mod made_up;
pub(crate) mod misstated;
pub(crate) mod precisions;
pub(crate) mod protocols;
pub(crate) mod settings;
pub(crate) mod studies;

use made_up::walk::Habit;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let trails = arguments.iter().find_map(|text| text.parse().ok()).unwrap_or(1000);
    let habit = match arguments.last().map(String::as_str) {
        Some("walkers") => Some(Habit::Walker),
        Some("climbers") => Some(Habit::Climber),
        _ => None,
    };
    match arguments.first().map(String::as_str) {
        Some("protocols") => protocols::tables(trails, habit),
        Some("studies") => studies::print(trails),
        Some("folders") => {
            let folder = arguments.get(1).map_or("protocols", String::as_str);
            let few = arguments.get(2).and_then(|text| text.parse().ok()).unwrap_or(4);
            studies::write(std::path::Path::new(folder), few);
        }
        Some("precisions") => {
            precisions::tables(trails, arguments.get(2).and_then(|text| text.parse().ok()));
        }
        Some("misstated") => misstated::tables(trails),
        _ => settings::table(trails),
    }
}
