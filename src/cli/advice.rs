//! What nothing checks, what would check it, and what is worth a look: in words and as JSON.

use super::suspects::Told;
use super::terminal::{Terminal, Tone};
use crate::adjustment::advice::{Advice, BestTie};
use crate::adjustment::network::Written;
use crate::maths::quantity::{count_of, metres};
use crate::results::rules::outlying::WorthALook;
use crate::survey::fault::Place;
use serde_json::{Value, json};

/// How a trail is checked: by nothing, in part, wholly.
fn sentence(told: &Told<'_>, advice: &Advice) -> Option<String> {
    let name = told.survey.text(told.network.trails[advice.trail].name);
    let unchecked = advice.unchecked.len();
    let seen = match unchecked {
        0 => format!("trail {name}: every leg is checked."),
        all if all == advice.legs => format!("trail {name}: nothing checks any of its legs."),
        some => format!("trail {name}: {some} of {} are unchecked.", count_of(advice.legs, "leg")),
    };
    match (&advice.tie, unchecked) {
        (Some(tie), _) => Some(format!("{seen} {}", tie_words(told, tie))),
        (None, 0) => None,
        (None, _) => Some(seen),
    }
}

/// What would give a north to the trails that have none: it comes before any tie.
fn without_north(told: &Told<'_>, advice: &[Advice]) -> Option<String> {
    let trails = advice.iter().map(|advice| &told.network.trails[advice.trail]);
    let free = trails.filter(|trail| !trail.layout.is_oriented());
    let names: Vec<&str> = free.map(|trail| told.survey.text(trail.name)).collect();
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

fn tie_words(told: &Told<'_>, tie: &BestTie) -> String {
    let name = |node: usize| told.survey.text(told.network.nodes[node].name);
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

/// The advice, a sentence a trail.
pub(super) fn each(told: &Told<'_>, advice: &[Advice]) -> Vec<String> {
    let own = advice.iter().filter_map(|advice| sentence(told, advice));
    without_north(told, advice).into_iter().chain(own).collect()
}

/// The advice for a reader.
pub(super) fn words(told: &Told<'_>, advice: &[Advice], terminal: &Terminal) -> String {
    let mut lines = String::new();
    for line in each(told, advice) {
        lines += &format!("  {line}\n");
    }
    if lines.is_empty() {
        return String::new();
    }
    let head = terminal.toned(Tone::Strong, "One more measurement");
    format!(
        "\n{head}\n{lines}  Unchecked: {} would not be noticed. ±: one standard deviation in space, \
         from the release.\n  Lines within reach from the ground, up to 15 m where there is one (common \
         practice).\n",
        unseen(advice),
    )
}

/// The advice as `check --json` has it.
pub(super) fn json(told: &Told<'_>, advice: &[Advice]) -> Value {
    let name = |node: usize| told.survey.text(told.network.nodes[node].name);
    let one = |advice: &Advice| {
        let text = sentence(told, advice)?;
        Some(json!({
            "trail": told.survey.text(told.network.trails[advice.trail].name),
            "text": text,
            "north": told.network.trails[advice.trail].layout.is_oriented(),
            "from": advice.tie.map(|tie| name(tie.from)),
            "to": advice.tie.map(|tie| name(tie.to)),
            "unchecked_legs": advice.unchecked.len(),
            "legs": advice.legs,
        }))
    };
    advice.iter().filter_map(one).collect()
}

fn place(told: &Told<'_>, look: &WorthALook) -> Place {
    match told.network.lines[look.line].written {
        Written::Anchor(row) => told.survey.anchor_place(told.survey.anchors[row].row, look.column),
        Written::Tie(row) => told.survey.tie_place(told.survey.ties[row].row, look.column),
    }
}

/// What is worth a look, for a reader.
pub(super) fn looks_words(told: &Told<'_>, looks: &[WorthALook], terminal: &Terminal) -> String {
    if looks.is_empty() {
        return String::new();
    }
    let head = terminal.toned(Tone::Strong, "Worth a look (nothing checks these legs)");
    let one = |look| look_words(told, look, terminal);
    format!("\n{head}\n{}", looks.iter().map(one).collect::<String>())
}

/// What is worth a look, each by itself.
pub(super) fn each_look(told: &Told<'_>, looks: &[WorthALook]) -> Vec<String> {
    let plain = Terminal::plain();
    looks.iter().map(|look| look_words(told, look, &plain)).collect()
}

fn look_words(told: &Told<'_>, look: &WorthALook, terminal: &Terminal) -> String {
    let line = &told.network.lines[look.line];
    let name = |node: usize| told.survey.text(told.network.nodes[node].name);
    format!(
        "  trail {}, leg {} to {}: {}\n    {}\n",
        told.survey.text(told.network.trails[line.trail].name),
        name(line.from),
        name(line.to),
        look.text,
        terminal.toned(Tone::Faint, &place(told, look).phrase()),
    )
}

/// What is worth a look, as JSON.
pub(super) fn looks_json(told: &Told<'_>, looks: &[WorthALook]) -> Value {
    let one = |look: &WorthALook| {
        let line = &told.network.lines[look.line];
        let name = |node: usize| told.survey.text(told.network.nodes[node].name);
        let place = place(told, look);
        json!({
            "trail": told.survey.text(told.network.trails[line.trail].name),
            "from": name(line.from), "to": name(line.to), "text": look.text,
            "file": place.file.as_ref(), "row": place.row, "column": place.column.as_deref(),
        })
    };
    looks.iter().map(one).collect()
}
