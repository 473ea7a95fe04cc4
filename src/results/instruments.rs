//! Errors that all readings of an instrument share, in sentences: what was allowed for, and what the
//! readings tell of it.

use super::Analysis;
use super::answer::list;
use crate::adjustment::common::{Instrument, Unknown};
use crate::maths::quantity::{Turn, count_of, short};
use std::collections::BTreeSet;

/// What was allowed for; nothing where the method knows no uncertainty.
pub fn allowed_for(analysis: &Analysis) -> Option<String> {
    if !analysis.wanted.method.has_covariance() {
        return None;
    }
    let unknowns = &analysis.adjusted.common.unknowns;
    let mut stated: Vec<String> = Vec::new();
    for unknown in unknowns {
        let what = match unknown.instrument {
            Instrument::Tape => "a scale error of the tape",
            Instrument::Compass => "an error of the compass",
            Instrument::Height => "a scale error of heights",
        };
        let words = format!("{what} of {}", size(unknown.instrument, unknown.stated));
        if !stated.contains(&words) {
            stated.push(words);
        }
    }
    if stated.is_empty() {
        let by_needle = analysis.network.lines.iter().any(|line| line.needle().is_some());
        let compass = if by_needle { "a compass that reads too high, " } else { "" };
        return Some(format!(
            "No error shared by all readings of an instrument was allowed for: a tape that is too \
             long, {compass}or heights that are all too large are in none of the intervals.",
        ));
    }
    let observers: BTreeSet<_> = unknowns.iter().map(|unknown| unknown.observer).collect();
    let whose = match observers.len() {
        1 => String::from("in the whole study"),
        n => format!("by each of {}", count_of(n, "observer")),
    };
    Some(format!(
        "Intervals allow for {} (1 SD each), shared by all readings {whose}.",
        list(&stated)
    ))
}

/// What the readings together tell of each instrument of which they tell anything: by loops, ties and
/// positions, and by tapes that hang where heights were read.
pub fn told(analysis: &Analysis) -> Vec<String> {
    let unknowns = analysis.adjusted.common.unknowns.iter();
    unknowns
        .filter(|unknown| unknown.is_told())
        .map(|unknown| sentence(analysis, unknown))
        .collect()
}

fn sentence(analysis: &Analysis, unknown: &Unknown) -> String {
    let of = unknown
        .observer
        .map_or_else(String::new, |observer| format!(" of {}", analysis.survey.text(observer)));
    let (what, over, under) = match unknown.instrument {
        Instrument::Tape => ("the tape", "too long", "too short"),
        Instrument::Compass => ("the compass", "too high", "too low"),
        Instrument::Height => ("the heights", "too high", "too low"),
    };
    let verb = if unknown.instrument == Instrument::Height { "were" } else { "read" };
    let way = if unknown.value < 0.0 { under } else { over };
    let size = |value: f64| size(unknown.instrument, value.abs());
    format!(
        "By all readings together {what}{of} {verb} {} {way} (SD {}); this was taken off.",
        size(unknown.value),
        size(unknown.sd)
    )
}

/// A share in per cent, or an angle in degrees.
fn size(instrument: Instrument, value: f64) -> String {
    match instrument {
        Instrument::Compass => {
            format!("{}°", short(Turn::from_radians(value).to_degrees(), 2))
        }
        _ => format!("{} %", short(100.0 * value, 2)),
    }
}
