//! Studies as text, trail by trail, for other programs to solve.

use super::made_up::protocol::Protocol;
use super::made_up::{Study, Wish, study};
use super::protocols::measured;
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

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

/// Writes a survey of every protocol, of so many trails, each into a folder of its own.
#[expect(
    clippy::disallowed_methods,
    reason = "nothing is lost if a made-up survey is half written"
)]
pub(crate) fn write(folder: &Path, trails: usize) {
    for (protocol, seed) in Protocol::ALL.into_iter().zip(SEED..) {
        let study = study(&Wish::of(protocol, [trails, 2 * ANCHORS], seed));
        let name = protocol.name().replace([',', '(', ')'], "").replace(' ', "-");
        let own = folder.join(name);
        let written = fs::create_dir_all(&own)
            .and_then(|()| fs::write(own.join("anchors.csv"), &study.anchors))
            .and_then(|()| fs::write(own.join("survey.toml"), &study.settings));
        match written {
            Ok(()) => println!("{}", own.display()),
            Err(why) => println!("{}: {why}", own.display()),
        }
    }
}

/// The field table of one trail.
fn rows_of(study: &Study, trail: usize) -> String {
    let own = format!("T{trail},");
    let mut lines = study.anchors.lines();
    let heading = lines.next();
    let rows = heading.into_iter().chain(lines.filter(|line| line.starts_with(&own)));
    rows.collect::<Vec<_>>().join("\n") + "\n"
}
