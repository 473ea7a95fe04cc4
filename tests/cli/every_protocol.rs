//! Every protocol by which crews measure, as a user runs it: a made-up survey through `check`,
//! `rebuild`, `figure plan`, `figure panel` and `export`, with the words that are true of it. The view is
//! tried by `viewer_picture`; what the numbers are worth, by `protocols`.

use std::fs;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

use crate::made_up;

use made_up::protocol::Protocol;
use made_up::{Wish, study};

/// Other trails than those of the tables.
const SEED: u64 = 230_001;
const TRAILS: usize = 4;
const ANCHORS: usize = 14;

/// What a run said, on either stream, and its exit code.
fn said(folder: &Path, arguments: &[&str]) -> (String, i32) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_perchline"));
    let output = command.args(arguments).current_dir(folder).output().unwrap();
    let text = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap());
    (text.concat(), output.status.code().unwrap())
}

/// A folder with a made-up survey of a protocol in its folder `survey`.
fn laid_out(protocol: Protocol) -> TempDir {
    let there = TempDir::new().unwrap();
    let study = study(&Wish::of(protocol, [TRAILS, ANCHORS], SEED));
    let survey = there.path().join("survey");
    fs::create_dir(&survey).unwrap();
    fs::write(survey.join("anchors.csv"), &study.anchors).unwrap();
    fs::write(survey.join("survey.toml"), &study.settings).unwrap();
    there
}

/// What is known of where trails of a protocol lie.
struct Known {
    plan: bool,
    north: bool,
    place: bool,
}

fn known(protocol: Protocol) -> Known {
    use Protocol::{EvenSteps, Turns, TurnsEnds, TurnsPositions, Vertical};
    Known {
        plan: protocol != Vertical,
        north: !matches!(protocol, Turns | EvenSteps | Vertical),
        place: matches!(protocol, TurnsPositions | TurnsEnds),
    }
}

fn one_bearing(protocol: Protocol) -> bool {
    matches!(protocol, Protocol::TurnsFirstBearing | Protocol::TurnsOtherBearing)
}

#[test]
fn check_says_what_could_hide_and_what_is_missing() {
    for protocol in Protocol::ALL {
        let there = laid_out(protocol);
        let (text, code) = said(there.path(), &["check", "survey"]);
        let told = || format!("{}:\n{text}", protocol.name());
        assert_eq!(code, 0, "{}", told());
        assert!(text.contains("0 errors, 0 warnings"), "{}", told());
        assert!(!text.contains("does not close"), "{}", told());
        let Known { plan, north, .. } = known(protocol);
        let turn = text.contains("a turn whose sign was lost");
        assert_eq!(turn, protocol.turns(), "{}", told());
        let needle = text.contains("a needle read at the wrong end");
        let only_turns = protocol.turns() && !one_bearing(protocol);
        assert_eq!(needle, plan && !only_turns, "{}", told());
        if protocol != Protocol::TurnsEnds {
            let without = text.contains("no north is known. A bearing on any one leg");
            assert_eq!(without, plan && !north, "{}", told());
        }
        assert_eq!(text.contains("what needs a plan is left blank"), !plan, "{}", told());
        let carried = text.contains("drawn straight on with the leg before or after");
        assert_eq!(carried, protocol == Protocol::OneBlank, "{}", told());
        let positions = text.matches(" from one position to the next: ").count();
        assert!(positions <= 2 * TRAILS, "{}", told());
        assert_eq!(positions > 0, protocol == Protocol::TurnsPositions, "{}", told());
        let halves = text.contains("support_in_halves");
        assert_eq!(halves, protocol != Protocol::SupportByLeg, "{}", told());
    }
}

#[test]
fn rebuild_says_how_each_is_known() {
    for protocol in Protocol::ALL {
        let there = laid_out(protocol);
        let run = ["rebuild", "survey", "--out", "results", "--draws", "40"];
        let (text, code) = said(there.path(), &run);
        let told = || format!("{}:\n{text}", protocol.name());
        assert_eq!(code, 0, "{}", told());
        let Known { plan, north, .. } = known(protocol);
        if protocol != Protocol::TurnsEnds {
            let free = text.contains("turning angles without a north");
            assert_eq!(free, plan && !north, "{}", told());
        }
        assert_eq!(text.contains("so heights and lengths only"), !plan, "{}", told());
        assert!(!text.contains("True north: not known"), "{}", told());
        let needles = plan && (!protocol.turns() || one_bearing(protocol));
        let declination = text.contains("Declination 0.0°: bearings were written as true.");
        assert_eq!(declination, needles, "{}", told());
        let methods = fs::read_to_string(there.path().join("results/methods.md")).unwrap();
        if protocol != Protocol::TurnsEnds {
            let blank = methods.contains("what needs a north");
            assert_eq!(blank, plan && !north, "{}\n{methods}", protocol.name());
        }
        let report = fs::read_to_string(there.path().join("results/report.html")).unwrap();
        assert!(report.contains("T3"), "{}", protocol.name());
    }
}

/// A plan has an arrow where it has a north; without a plan `figure` says what is missing, and a panel
/// draws the heights.
#[test]
fn figures_have_a_north_where_there_is_one() {
    for protocol in Protocol::ALL {
        let there = laid_out(protocol);
        let Known { plan, north, .. } = known(protocol);
        for kind in ["plan", "panel"] {
            let file = format!("{kind}.svg");
            let run = ["figure", "survey", kind, "--out", &file, "--draws", "40"];
            let (text, code) = said(there.path(), &run);
            let told = || format!("{} {kind}:\n{text}", protocol.name());
            if kind == "plan" && !plan {
                assert_eq!(code, 1, "{}", told());
                assert!(text.contains("needs bearings or turning angles"), "{}", told());
                continue;
            }
            assert_eq!(code, 0, "{}", told());
            let svg = fs::read_to_string(there.path().join(file)).unwrap();
            if protocol != Protocol::TurnsEnds {
                assert_eq!(svg.contains(">N</text>"), north, "{}", told());
                let without = text.contains("no north is known");
                assert_eq!(without, plan && !north, "{}", told());
            }
            let carried = text.contains("drawn straight on with the leg before or after");
            assert_eq!(carried, protocol == Protocol::OneBlank, "{}", told());
        }
    }
}

/// A map needs a place and a north; local metres need neither.
#[test]
fn exports_say_what_a_map_lacks() {
    for protocol in Protocol::ALL {
        let there = laid_out(protocol);
        let Known { plan, north, place } = known(protocol);
        let (text, code) = said(there.path(), &["export", "survey", "--out", "paths.geojson"]);
        let told = || format!("{}:\n{text}", protocol.name());
        if protocol == Protocol::TurnsEnds && code != 0 {
            assert!(text.contains("no north is known"), "{}", told()); // all too near each other
        } else {
            assert_eq!(code == 0, plan && north && place, "{}", told());
        }
        if code != 0 {
            let lacks = match (plan, north) {
                (false, _) => "no plan is known: bearings or turning angles would give it",
                (true, false) => "no north is known: one bearing, or two positions, would give it",
                _ => "no place is known: one position (latitude and longitude) would give it",
            };
            assert!(text.contains(lacks) || protocol == Protocol::TurnsEnds, "{}", told());
        }
        let (text, code) = said(there.path(), &["export", "survey", "--out", "paths.csv"]);
        assert_eq!(code, 0, "{}:\n{text}", protocol.name());
    }
}
