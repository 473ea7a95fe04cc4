//! Studies as text, trail by trail, for other programs to solve.

use super::made_up::{Study, Wish, study};
use super::protocols::measured;
use serde_json::{Value, json};

/// Of the first protocol; each further one has the next.
const SEED: u64 = 170_001;
const ANCHORS: usize = 8;

/// Prints so many trails of every protocol as JSON, each a survey by itself.
pub(crate) fn print(trails: usize) {
    let cases = measured().zip(SEED..).flat_map(|(protocol, seed)| {
        let study = study(&Wish::of(protocol, [trails, ANCHORS], seed));
        (0..trails).map(move |trail| {
            json!({
                "protocol": protocol.name(),
                "trail": trail,
                "settings": study.settings,
                "anchors": rows_of(&study, trail),
            })
        })
    });
    println!("{}", cases.collect::<Value>());
}

/// The field table of one trail.
fn rows_of(study: &Study, trail: usize) -> String {
    let own = format!("T{trail},");
    let mut lines = study.anchors.lines();
    let heading = lines.next();
    let rows = heading.into_iter().chain(lines.filter(|line| line.starts_with(&own)));
    rows.collect::<Vec<_>>().join("\n") + "\n"
}
