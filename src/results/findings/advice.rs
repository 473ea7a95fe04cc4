//! What nothing checks, what would check it, and what is worth a look: in words and as JSON.

use super::{Finding, Named, findings};
use crate::adjustment::advice::{Advice, BestTie};
use crate::adjustment::network::Written;
use crate::maths::quantity::{count_of, metres};
use crate::results::Analysis;
use crate::results::rules::outlying::WorthALook;
use crate::survey::fault::Place;
use serde_json::{Value, json};

/// How a trail is checked: by nothing, in part, wholly.
fn sentence(named: &Named<'_>, advice: &Advice) -> Option<String> {
    let name = named.trail(advice.trail);
    let unchecked = advice.unchecked.len();
    let seen = match unchecked {
        0 => format!("trail {name}: every leg is checked."),
        all if all == advice.legs => format!("trail {name}: no leg has a check measurement."),
        some => format!("trail {name}: {some} of {} are unchecked.", count_of(advice.legs, "leg")),
    };
    match (&advice.tie, unchecked) {
        (Some(tie), _) => Some(format!("{seen} {}", tie_words(named, tie))),
        (None, 0) => None,
        (None, _) => Some(seen),
    }
}

/// What would give a north to the trails that have none: it comes before any tie.
fn without_north(named: &Named<'_>, advice: &[Advice]) -> Option<String> {
    let trails = advice.iter().map(|advice| &named.network.trails[advice.trail]);
    let free = trails.filter(|trail| !trail.layout.is_oriented());
    let names: Vec<&str> = free.map(|trail| named.survey.text(trail.name)).collect();
    let (trails, leg) = match names.len() {
        0 => return None,
        1 => ("trail", "one leg"),
        _ => ("trails", "one leg of each"),
    };
    Some(format!(
        "{trails} {}: no north is known. A bearing on any {leg}, or the positions of two anchors far apart, \
         would give it.",
        names.join(", "),
    ))
}

/// What the unchecked legs of all trails could hide.
fn unseen(advice: &[Advice]) -> &'static str {
    let any = |which: fn(&Advice) -> bool| advice.iter().any(which);
    match (any(|advice| advice.by_needles), any(|advice| advice.by_turns)) {
        (true, true) => "a needle read at the wrong end, or a turn whose sign was lost,",
        (false, true) => "a turn whose sign was lost",
        _ => "a needle read at the wrong end",
    }
}

fn tie_words(named: &Named<'_>, tie: &BestTie) -> String {
    let name = |node: usize| named.name(node);
    let caught = match tie.catches {
        0 => String::new(),
        legs => format!("would check {} and ", count_of(legs, "leg")),
    };
    format!(
        "Tape and bearing from {} to {} (about {}) {caught}bring the end point from ± {} to ± {}.",
        name(tie.from),
        name(tie.to),
        metres(tie.length),
        metres(tie.before),
        metres(tie.after),
    )
    .replace(") bring", ") would bring")
}

/// So many lines worth measuring are told, those that help most; `check --json` has all of them.
const TOLD: usize = 12;

/// The advice, a sentence a trail where a line would help, one for all others.
pub fn words(analysis: &Analysis) -> Vec<String> {
    let (named, advice) = (&Named::of(analysis), &findings(analysis).advice);
    let gain = |advice: &Advice| advice.tie.as_ref().map_or(0.0, |tie| tie.before - tie.after);
    let mut gains: Vec<f64> = advice.iter().map(gain).collect();
    gains.sort_by(|a, b| b.total_cmp(a));
    let least = gains.get(TOLD - 1).copied().unwrap_or(0.0);
    let told = |advice: &&Advice| advice.tie.is_some() && gain(advice) >= least;
    let own = advice.iter().filter(told).take(TOLD).filter_map(|advice| sentence(named, advice));
    let mut words: Vec<String> = without_north(named, advice).into_iter().chain(own).collect();
    let with_tie = advice.iter().filter(|advice| advice.tie.is_some()).count();
    if with_tie > TOLD {
        let more = count_of(with_tie - TOLD, "more trail");
        words.push(format!("{more} would gain less by a line: check --json lists them."));
    }
    let without = |advice: &&Advice| advice.tie.is_none() && !advice.unchecked.is_empty();
    let rest: Vec<&str> = advice.iter().filter(without).map(|a| named.trail(a.trail)).collect();
    if !rest.is_empty() {
        let trails = if rest.len() == 1 { "trail" } else { "trails" };
        let rest = rest.join(", ");
        words.push(format!(
            "{trails} {rest}: unchecked legs, and no line within reach would help much."
        ));
    }
    words
}

/// What must be known with the advice.
pub fn notes(analysis: &Analysis) -> [String; 2] {
    [
        format!(
            "Unchecked: {} would not be noticed. ±: one standard deviation in space, from the release.",
            unseen(&findings(analysis).advice)
        ),
        "Lines within reach from the ground, up to 15 m where there is one (common practice)."
            .into(),
    ]
}

/// The advice as `check --json` has it.
pub fn json(analysis: &Analysis) -> Value {
    let named = &Named::of(analysis);
    let one = |advice: &Advice| {
        let text = sentence(named, advice)?;
        Some(json!({
            "trail": named.survey.text(named.network.trails[advice.trail].name),
            "text": text,
            "north": named.network.trails[advice.trail].layout.is_oriented(),
            "from": advice.tie.map(|tie| named.name(tie.from)),
            "to": advice.tie.map(|tie| named.name(tie.to)),
            "unchecked_legs": advice.unchecked.len(),
            "legs": advice.legs,
        }))
    };
    findings(analysis).advice.iter().filter_map(one).collect()
}

fn place(named: &Named<'_>, look: &WorthALook) -> Place {
    match named.network.lines[look.line].written {
        Written::Anchor(row) => {
            named.survey.anchor_place(named.survey.anchors[row].row, look.column)
        }
        Written::Tie(row) => named.survey.tie_place(named.survey.ties[row].row, look.column),
    }
}

/// What is worth a look, each by itself.
pub fn looks(analysis: &Analysis) -> Vec<Finding> {
    let named = &Named::of(analysis);
    let one = |look: &WorthALook| {
        let line = &named.network.lines[look.line];
        let sentence = format!(
            "trail {}, leg {} to {}: {}",
            named.survey.text(named.network.trails[line.trail].name),
            named.name(line.from),
            named.name(line.to),
            look.text,
        );
        Finding { sentence, place: Some(place(named, look).phrase()), more: Vec::new() }
    };
    findings(analysis).looks.iter().map(one).collect()
}

/// What is worth a look, as JSON.
pub fn looks_json(analysis: &Analysis) -> Value {
    let named = &Named::of(analysis);
    let one = |look: &WorthALook| {
        let line = &named.network.lines[look.line];
        let place = place(named, look);
        json!({
            "trail": named.survey.text(named.network.trails[line.trail].name),
            "from": named.name(line.from), "to": named.name(line.to), "text": look.text,
            "file": place.file.as_ref(), "row": place.row, "column": place.column.as_deref(),
        })
    };
    findings(analysis).looks.iter().map(one).collect()
}
