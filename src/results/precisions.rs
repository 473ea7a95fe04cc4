//! How precise readings really were, in sentences: beside what is stated, and what to state instead.
//!
//! In: an [`Analysis`]. Out: the estimates, computed once and only where somebody asks, and words for
//! screen, report and methods. Nothing of it changes a result.

use super::answer::list;
use super::{Analysis, ground};
use crate::adjustment::precisions::{
    Estimate, Factor, Graded, LEAST_FREEDOM, Precisions, precisions,
};
use crate::adjustment::repeated::repeated;
use crate::maths::quantity::{count_of, plain, short, significant};

/// What a study shows of its precisions.
#[derive(Clone, Debug, Default)]
pub struct Shown {
    /// By the residuals of the adjustment.
    pub by_residuals: Precisions,
    /// By readings that were taken twice.
    pub by_repeats: Vec<Estimate>,
}

/// The estimates of a study; empty where its method knows no uncertainty.
pub fn shown_by(analysis: &Analysis) -> &Shown {
    analysis.precisions.get_or_init(|| {
        let Analysis { survey, network, adjusted, shown, wanted, .. } = analysis;
        if !wanted.method.has_covariance() {
            return Shown::default();
        }
        let precision = &survey.settings.precision;
        let (ground, _) = ground(survey, network);
        Shown {
            by_residuals: precisions(network, precision, &ground, adjusted, shown),
            by_repeats: repeated(network, precision, adjusted, shown),
        }
    })
}

/// The settings that state a precision, each with its value.
pub fn settings(analysis: &Analysis, graded: Graded) -> Vec<(&'static str, f64)> {
    let p = &analysis.survey.settings.precision;
    match graded {
        Graded::Tape => vec![("tape_m", p.tape_m), ("tape_per_m", p.tape_per_m)],
        Graded::Bearing => vec![("bearing_deg", p.bearing_deg)],
        Graded::BearingPoint => vec![("bearing_point_deg", p.bearing_point_deg)],
        Graded::Turn => vec![("turn_deg", p.turn_deg)],
        Graded::Incline => vec![("incline_deg", p.incline_deg)],
        Graded::Height => vec![("height_m", p.height_m), ("height_per_m", p.height_per_m)],
        Graded::Ground => vec![("ground_m", p.ground_m)],
        Graded::HeightOnGround => vec![
            ("height_m", p.height_m),
            ("height_per_m", p.height_per_m),
            ("ground_m", p.ground_m),
        ],
        Graded::Rise => vec![("rise_m", p.rise_m)],
        Graded::Plumb => vec![("plumb_m", p.plumb_m)],
        Graded::Control => vec![("control_m", p.control_m)],
    }
}

/// The first of these settings: what stands for the kind in one number.
pub fn stated(analysis: &Analysis, graded: Graded) -> f64 {
    settings(analysis, graded).first().map_or(f64::NAN, |(_, value)| *value)
}

/// What to write under `[precision]` to state an estimate.
pub fn to_write(analysis: &Analysis, graded: Graded, factor: f64) -> String {
    let own = settings(analysis, graded).into_iter().filter(|(_, value)| *value > 0.0);
    let each: Vec<String> =
        own.map(|(name, value)| format!("{name} = {}", round(value * factor))).collect();
    let by_method = &analysis.survey.settings.precision.height_by;
    let is_height = matches!(graded, Graded::Height | Graded::HeightOnGround);
    let more = if is_height && !by_method.is_empty() {
        format!("; those by method times {}", short(factor, 2))
    } else {
        String::new()
    };
    each.join(", ") + &more
}

/// As many digits as an estimate of a precision is worth: two under 3, else one.
fn round(value: f64) -> String {
    let leads = significant(value, 2).chars().find(|c| ('1'..='9').contains(c));
    short(value, if leads.is_some_and(|digit| digit < '3') { 2 } else { 1 })
}

/// Why a precision is not estimated, and how many readings were left out.
pub fn reason(estimate: &Estimate, settled: bool) -> Option<String> {
    let freedom = plain((10.0 * estimate.freedom).floor() / 10.0, 1);
    let little = estimate.factor.is_none().then(|| {
        if estimate.redundancy < LEAST_FREEDOM {
            format!(
                "too little redundancy ({} of {LEAST_FREEDOM} wanted): add ties or back bearings",
                short(estimate.redundancy, 2)
            )
        } else {
            format!(
                "cannot be told from the precision of other readings ({freedom} of \
                 {LEAST_FREEDOM} degrees of freedom wanted): add ties or back bearings"
            )
        }
    });
    let slips = match estimate.left_out {
        0 => None,
        1 => Some(String::from("1 reading left out as a slip")),
        more => Some(format!("{more} readings left out as slips")),
    };
    let first = estimate.factor.filter(|_| !settled);
    let first = first.map(|_| String::from("the rounds ended before it settled"));
    let all: Vec<String> = little.into_iter().chain(slips).chain(first).collect();
    (!all.is_empty()).then(|| all.join("; "))
}

/// The chance at which a precision is said to be off, shared among all kinds that are estimated.
const OFF: f64 = 0.05;

/// Each kind whose readings are clearly not as precise, or clearly more precise, than stated; none where
/// the rounds had not settled, as in a survey full of slips.
fn off(analysis: &Analysis) -> impl Iterator<Item = (&Estimate, Factor)> {
    let Precisions { estimates, settled } = &shown_by(analysis).by_residuals;
    let known: Vec<(&Estimate, Factor)> = estimates
        .iter()
        .filter(|estimate| *settled && estimate.observer.is_none())
        .filter_map(|estimate| Some((estimate, estimate.factor?)))
        .collect();
    let chance = OFF / known.len().max(1) as f64;
    known.into_iter().filter(move |(_, factor)| factor.p_value < chance)
}

/// What is clearly off, and what to state instead, one sentence a kind.
pub fn told(analysis: &Analysis) -> Vec<String> {
    let sentence = |(estimate, factor): (&Estimate, Factor)| {
        let graded = estimate.graded;
        format!(
            "{} scatter by {}. To state it, write under [precision]: {}.",
            plural(graded),
            size(analysis, estimate, &factor, ", "),
            to_write(analysis, graded, factor.value),
        )
    };
    off(analysis).map(sentence).collect()
}

/// The same as part of a sentence of the methods; `None` where no precision could be estimated.
pub fn in_methods(analysis: &Analysis) -> Option<String> {
    let Precisions { estimates, settled } = &shown_by(analysis).by_residuals;
    let known = estimates.iter().filter(|e| e.observer.is_none() && e.factor.is_some()).count();
    let each: Vec<String> = off(analysis)
        .map(|(estimate, factor)| {
            let kind = plural(estimate.graded).to_lowercase();
            format!("{kind} scattered by {}", size(analysis, estimate, &factor, "; "))
        })
        .collect();
    match (known, each.is_empty()) {
        (0, _) => None,
        _ if !settled => None,
        (_, true) => {
            let kinds = count_of(known, "kind");
            Some(format!("the precision of {kinds} of reading did not differ from that stated"))
        }
        (_, false) => Some(list(&each)),
    }
}

/// An estimate with its interval beside what is stated.
fn size(analysis: &Analysis, estimate: &Estimate, factor: &Factor, before: &str) -> String {
    let redundancy = plain(estimate.redundancy, 0);
    let [low, high] = factor.interval;
    let settings = settings(analysis, estimate.graded);
    let [(_, stated)] = settings[..] else {
        let [value, low, high] = [factor.value, low, high].map(|factor| short(factor, 2));
        return format!("{value} times what is stated ({low} to {high}; redundancy {redundancy})");
    };
    let unit = if estimate.graded.is_angle() { "°" } else { " m" };
    let in_unit = |factor: f64| short(factor * stated, 2);
    format!(
        "{}{unit} ({} to {}; redundancy {redundancy}){before}stated {}{unit}",
        in_unit(factor.value),
        in_unit(low),
        in_unit(high),
        short(stated, 2)
    )
}

/// The readings of a kind, at the start of a sentence.
fn plural(graded: Graded) -> &'static str {
    match graded {
        Graded::Tape => "Tape readings",
        Graded::Bearing => "Bearings",
        Graded::BearingPoint => "Points of the compass",
        Graded::Turn => "Turns",
        Graded::Incline => "Inclines",
        Graded::Height => "Heights",
        Graded::Ground => "Elevations of the ground about its model",
        Graded::HeightOnGround => "Heights, with the ground they stand on,",
        Graded::Rise => "Rises of ties",
        Graded::Plumb => "Plumb legs",
        Graded::Control => "Positions without a stated accuracy",
    }
}
