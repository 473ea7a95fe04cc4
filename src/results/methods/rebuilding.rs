//! How paths were rebuilt, how well they closed, and what was left out.

use super::{Text, orientation};
use crate::adjustment::closure::Verdict;
use crate::adjustment::network::DeclinationSource;
use crate::adjustment::path::{EscapeFound, Path};
use crate::maths::quantity::{Turn, count_of, metres, percent, significant};
use crate::maths::statistics::describe::{mean, median};
use crate::results::answer::list;
use crate::results::{Analysis, instruments, precisions};
use crate::survey::settings::{GroundModel, North};
use crate::survey::sources::Source;

pub(super) fn paths(analysis: &Analysis, text: &mut Text, version: &str) {
    text.paragraph("Paths");
    north(analysis, text);
    instruments_corrected(analysis, text);
    let s = &analysis.survey.settings;
    let ground = match s.ground {
        GroundModel::Flat => "level",
        GroundModel::Slope => "a plane slope",
        GroundModel::Points => "interpolated between the elevations of known points",
        GroundModel::Raster => "that of an elevation grid",
    };
    let method = match analysis.wanted.method.name() {
        "least-squares" => "by weighted least squares, all readings together".to_owned(),
        "none" => "as the raw traverse, without adjustment".to_owned(),
        other => format!("by the method {other}"),
    };
    text.say(&format!("Positions and heights were computed {method} (Perchline {version})."));
    orientation::sentences(analysis, text);
    text.say(&format!(
        "The ground was taken as {ground}, with a roughness of {} m (SD).",
        s.precision.ground_m
    ));
    let shared = instruments::allowed_for(analysis).into_iter().chain(instruments::told(analysis));
    for sentence in shared {
        text.say(&sentence);
    }
    precisions_estimated(analysis, text);
    closures(analysis, text);
    let unsettled = analysis.shown_paths().filter(|path| !path.settled).count();
    if unsettled > 0 {
        let trails = count_of(unsettled, "trail");
        text.say(&format!("{trails} could not be rebuilt and are left out of what follows."));
    }
}

/// How precise the readings were by their own residuals, where these tell it.
fn precisions_estimated(analysis: &Analysis, text: &mut Text) {
    let Some(found) = precisions::in_methods(analysis) else { return };
    let sources = [Source::Forstner1979, Source::Patterson1971].map(|source| text.cite(source));
    text.say(&format!(
        "By variance components of the residuals ({}), {found}; the results rest on the stated \
         values.",
        sources.join("; ")
    ));
}

/// Where north comes from, if any bearing was read.
fn north(analysis: &Analysis, text: &mut Text) {
    let trails = || analysis.shown_paths().map(|path| &analysis.network.trails[path.trail]);
    let rows = || {
        let points = analysis.shown_paths().flat_map(|path| path.points.iter());
        points.map(|point| &analysis.survey.anchors[point.row])
    };
    if !rows().any(|row| row.readings.bearing.is_some()) {
        return;
    }
    match analysis.survey.settings.north {
        North::True => text.say("Bearings were from true north."),
        North::Grid => text.say("Bearings were from grid north and were made true."),
        North::Magnetic => {
            let known: Vec<f64> = trails()
                .filter(|trail| trail.declination.1 != DeclinationSource::Unknown)
                .map(|trail| Turn::from_radians(trail.declination.0).to_degrees())
                .collect();
            let Some(declination) = mean(&known) else {
                return text.say("Bearings were magnetic and left as read.");
            };
            let modelled =
                trails().any(|trail| trail.declination.1.words().contains("reference field"));
            let source =
                if modelled { format!(" ({})", text.cite(Source::Igrf14)) } else { String::new() };
            text.say(&format!(
                "Magnetic bearings were made true with a declination of {}°{source}.",
                significant(declination, 3)
            ));
        }
    }
}

/// With a true minus sign.
fn minus(number: f64) -> String {
    number.to_string().replace('-', "−")
}

/// What the survey states of instruments that read high or low.
fn instruments_corrected(analysis: &Analysis, text: &mut Text) {
    let s = &analysis.survey.settings;
    if s.correction_deg != 0.0 {
        text.say(&format!("All bearings were corrected by {}°.", minus(s.correction_deg)));
    }
    let observers = s.observers.values();
    let compasses: Vec<String> = observers
        .clone()
        .filter(|own| own.bearing_deg != 0.0)
        .map(|own| format!("{}°", minus(own.bearing_deg)))
        .collect();
    let inclines: Vec<String> = observers
        .clone()
        .filter(|own| own.incline_deg != 0.0)
        .map(|own| format!("{}°", minus(own.incline_deg)))
        .collect();
    let tapes: Vec<String> = observers
        .filter(|own| (own.tape_scale - 1.0).abs() > 0.0)
        .map(|own| own.tape_scale.to_string())
        .collect();
    for (what, by, how) in [
        ("Bearings", compasses, "corrected by"),
        ("Inclines", inclines, "corrected by"),
        ("Tape readings", tapes, "multiplied by"),
    ] {
        if !by.is_empty() {
            let observers = count_of(by.len(), "observer");
            text.say(&format!("{what} of {observers} were {how} {}.", list(&by)));
        }
    }
}

fn closures(analysis: &Analysis, text: &mut Text) {
    let own = analysis.adjusted.closures.iter().filter(|closure| {
        closure.total().is_finite()
            && closure.verdict != Verdict::TooCoarse
            && closure.trails.iter().all(|&t| analysis.shown[t])
    });
    let own: Vec<_> = own.collect();
    let Some(size) = median(&own.iter().map(|closure| closure.total()).collect::<Vec<_>>()) else {
        return;
    };
    let shares: Vec<f64> = own
        .iter()
        .filter(|closure| closure.length > 0.0)
        .map(|closure| closure.total() / closure.length)
        .collect();
    let share = median(&shares)
        .map_or(String::new(), |share| format!(", {} of the length", percent(share)));
    let failed = own.iter().filter(|closure| closure.verdict == Verdict::Fails).count();
    let failed = match failed {
        0 => "all were within instrument error".to_owned(),
        n => format!("{n} did not close"),
    };
    text.say(&format!(
        "The median misclosure of {} was {}{share}; {failed}.",
        count_of(own.len(), "closed loop"),
        metres(size)
    ));
}

pub(super) fn left_out(analysis: &Analysis, text: &mut Text) {
    text.paragraph("Left out, and bounds");
    escape(analysis, text);
    let gaps: usize = analysis
        .shown_paths()
        .map(|path| path.legs.iter().filter(|leg| !leg.counted).count())
        .sum();
    if gaps > 0 {
        text.say(&format!(
            "Positions were carried across {} that could not be followed; these were not counted.",
            count_of(gaps, "leg")
        ));
    }
    let bounded = analysis.shown_paths().filter(|path| path.cut_short || path.has_gap).count();
    if bounded > 0 {
        text.say(&format!(
            "Totals of {} that ended before the animal was found, or had a gap, are lower bounds.",
            count_of(bounded, "trail")
        ));
    }
    let high = analysis.shown_paths().filter(|path| path.out_of_reach).count();
    if high > 0 {
        text.say(&format!(
            "On {} part of the thread was out of reach, so that greatest heights are lower bounds.",
            count_of(high, "trail")
        ));
    }
    text.say("Length along a taut thread is a lower bound of the way walked.");
}

/// How long the escape run was, and how its end was found.
fn escape(analysis: &Analysis, text: &mut Text) {
    let mut lengths = Vec::new();
    let mut ways: Vec<(EscapeFound, usize)> = Vec::new();
    let escaped = |path: &&Path| path.settled && path.escape != EscapeFound::None;
    for path in analysis.shown_paths().filter(escaped) {
        let geometry = &analysis.trails[path.trail].geometry;
        let legs = path.legs.iter().filter(|leg| leg.escape && leg.counted);
        lengths.push(legs.map(|leg| geometry.length(leg)).sum::<f64>());
        match ways.iter_mut().find(|(way, _)| *way == path.escape) {
            Some((_, count)) => *count += 1,
            None => ways.push((path.escape, 1)),
        }
    }
    let Some(length) = mean(&lengths) else {
        return text.say("No escape run was left out.");
    };
    let ways: Vec<String> = ways
        .iter()
        .map(|(way, n)| format!("{} on {}", way.words(), count_of(*n, "trail")))
        .collect();
    let source = text.cite(Source::Prevedello2009);
    text.say(&format!(
        "Values are given for the whole path and without the escape run after release ({source}); it \
         was {} m long on average, and its end was found {}.",
        significant(length, 2),
        list(&ways)
    ));
}
