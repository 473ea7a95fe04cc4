//! Animals, devices, marks and instruments.

use super::Text;
use crate::adjustment::path::Path;
use crate::maths::quantity::{count_of, short};
use crate::measures::metrics::Metric;
use crate::results::Analysis;
use crate::results::answer::{list, people};
use crate::results::comparison::roster;
use crate::results::overview::dates;
use crate::survey::load::{days_carried, device_share};
use crate::survey::rows::{AnchorRow, HeightMethod};
use crate::survey::settings::Precision;
use std::collections::{BTreeMap, BTreeSet};

/// The cells of the animals table under `heading`, of the animals that have trails, each once with
/// how often.
fn cells(analysis: &Analysis, heading: &str) -> BTreeMap<String, usize> {
    let mut found = BTreeMap::new();
    let Some(grid) = analysis.survey.grids.animals.as_ref() else { return found };
    let Some(at) = grid.column(heading) else { return found };
    for (animal, _) in roster(analysis).animals {
        let row = analysis.survey.animal_row(animal);
        let cell = row.map_or("", |row| grid.cell(row.row, at));
        let cell = analysis.survey.spellings.of(heading, cell);
        if !cell.is_empty() {
            *found.entry(cell.to_owned()).or_default() += 1;
        }
    }
    found
}

pub(super) fn animals(analysis: &Analysis, text: &mut Text) {
    let roster = roster(analysis);
    let s = &analysis.survey.settings;
    text.paragraph("Animals");
    let trails = analysis.shown_paths().count();
    let species: Vec<String> =
        cells(analysis, "species").keys().map(|name| format!("*{name}*")).collect();
    let species = if species.is_empty() { "animals".to_owned() } else { list(&species) };
    let sexes: Vec<String> = cells(analysis, "sex")
        .iter()
        .map(|(sex, &n)| format!("{n} {}", so_many(n, people("sex", sex))))
        .collect();
    let sexes = if sexes.is_empty() { String::new() } else { format!(" ({})", list(&sexes)) };
    let who = match roster.animals.len() {
        0 => String::new(),
        n => format!(" {n} {species}{sexes} along"),
    };
    let place = s.site.as_ref().map_or(String::new(), |site| format!(" at {site}"));
    text.say(&format!(
        "We followed{who} {} of thread{}{}{place}.",
        count_of(trails, "trail"),
        nights(analysis).map_or(String::new(), |nights| format!(" over {nights}")),
        when(analysis)
    ));
    devices(analysis, text);
    if let Some(permit) = &s.permit {
        text.say(&format!("Work was done under permit {permit}."));
    }
}

/// Words for many animals, or for the one there is.
fn so_many(n: usize, words: String) -> String {
    match words.strip_prefix("animals") {
        _ if n != 1 => words,
        Some(rest) => format!("animal{rest}"),
        None => words.trim_end_matches('s').to_owned(),
    }
}

/// How many nights all trails cover together, where they are stated, or told by a date or by where the
/// animal was seen on the way.
fn nights(analysis: &Analysis) -> Option<String> {
    let of = |path: &Path| {
        let row = analysis.listed(path).map(|row| &analysis.survey.trails[row]);
        let stated = row.is_some_and(|row| row.nights.is_some() || row.date.is_some());
        let told = stated || path.points.last().is_some_and(|point| point.section > 0);
        let nights = analysis.trails[path.trail].value(Metric::Nights, 0)?.measured?.value;
        told.then_some(nights)
    };
    let nights: Option<f64> = analysis.shown_paths().map(of).sum();
    let nights = short(nights?, 4);
    Some(if nights == "1" { "1 trail-night".into() } else { format!("{nights} trail-nights") })
}

fn when(analysis: &Analysis) -> String {
    match dates(analysis) {
        Some(dates) if dates.contains(" to ") => format!(" from {dates}"),
        Some(date) => format!(" on {date}"),
        None => String::new(),
    }
}

/// Least and greatest of some numbers, with their unit.
fn range(numbers: &[f64], unit: &str) -> Option<String> {
    let least = numbers.iter().copied().reduce(f64::min)?;
    let most = numbers.iter().copied().reduce(f64::max)?;
    let [least, most] = [least, most].map(|number| short(number, 2));
    Some(if least == most { format!("{least} {unit}") } else { format!("{least}–{most} {unit}") })
}

fn devices(analysis: &Analysis, text: &mut Text) {
    let survey = &analysis.survey;
    let rows: Vec<_> = roster(analysis)
        .animals
        .iter()
        .filter_map(|(animal, _)| survey.animal_row(*animal))
        .collect();
    let ways: Vec<String> = cells(analysis, "attachment").into_keys().collect();
    if !ways.is_empty() {
        text.say(&format!("Attachment of the bobbin: {}.", list(&ways)));
    }
    let masses: Vec<f64> = rows.iter().filter_map(|row| row.device_mass_g).collect();
    if let Some(masses) = range(&masses, "g") {
        let shares: Vec<f64> =
            rows.iter().filter_map(|row| device_share(row)).map(|share| 100.0 * share).collect();
        let shares = range(&shares, "% of body mass").map_or(String::new(), |s| format!(", {s}"));
        text.say(&format!("Devices weighed {masses}{shares}."));
    }
    let days: Vec<f64> = rows.iter().filter_map(|row| days_carried(row)).collect();
    if let Some(days) = range(&days, "days") {
        let days = if days == "1 days" { "1 day" } else { &days };
        text.say(&format!("They were carried for {days}."));
    }
}

pub(super) fn trails(analysis: &Analysis, text: &mut Text) {
    text.paragraph("Trails");
    let points: usize = analysis.shown_paths().map(|path| path.points.len()).sum();
    let rule = analysis.survey.settings.marked_when.as_ref();
    let rule = rule.map_or(String::new(), |rule| format!(", {rule}"));
    text.say(&format!("We marked {} along the thread{rule}.", count_of(points, "anchor")));
    instruments(analysis, text);
    let shown =
        |name| analysis.shown_paths().any(|path| analysis.network.trails[path.trail].name == name);
    let ties = analysis.survey.ties.iter().filter(|tie| shown(tie.trail)).count();
    if ties > 0 {
        text.say(&format!(
            "As a check we measured {} between anchors that did not follow each other.",
            count_of(ties, "further line")
        ));
    }
    let controls = analysis.survey.controls.iter().filter(|row| row.position.is_some());
    let accuracies: Vec<f64> = controls
        .map(|row| {
            let default = analysis.survey.settings.precision.control_m;
            row.accuracy.map_or(default, |accuracy| accuracy.to_metres())
        })
        .collect();
    if let Some(sds) = range(&accuracies, "m") {
        let n = count_of(accuracies.len(), "point");
        text.say(&format!("Positions were known of {n} (SD {sds} on each horizontal axis)."));
    }
}

/// Each kind of reading that some row has, with its precision.
fn instruments(analysis: &Analysis, text: &mut Text) {
    let p = &analysis.survey.settings.precision;
    let rows = || {
        analysis
            .shown_paths()
            .flat_map(|path| path.points.iter())
            .map(|point| &analysis.survey.anchors[point.row])
    };
    let any = |has: fn(&AnchorRow) -> bool| rows().any(has);
    let mut kinds: Vec<String> = Vec::new();
    if any(|row| row.readings.tape.is_some()) {
        let each = 100.0 * p.tape_per_m;
        kinds.push(format!("tape distance (SD {} m and {each} %)", p.tape_m));
    }
    if any(|row| row.readings.bearing.is_some_and(|bearing| !bearing.named_point)) {
        kinds.push(format!("bearing by compass (SD {}°)", p.bearing_deg));
    }
    if any(|row| row.readings.bearing.is_some_and(|bearing| bearing.named_point)) {
        kinds.push(format!("bearing as one of 16 points (SD {}°)", p.bearing_point_deg));
    }
    if any(|row| row.readings.back_bearing.is_some()) {
        kinds.push("back bearing".into());
    }
    if any(|row| row.readings.turn.is_some()) {
        kinds.push(format!("turning angle (SD {}°)", p.turn_deg));
    }
    if any(|row| row.readings.incline.is_some()) {
        kinds.push(format!("incline by clinometer (SD {}°)", p.incline_deg));
    }
    if !kinds.is_empty() {
        text.say(&format!("From anchor to anchor we measured {}.", list(&kinds)));
    }
    let methods: BTreeSet<Option<HeightMethod>> =
        rows().filter(|row| row.height.is_some()).map(|row| row.height_by).collect();
    if !methods.is_empty() {
        let methods: Vec<String> = methods.into_iter().map(|method| height(p, method)).collect();
        text.say(&format!("Height above ground was measured {}.", list(&methods)));
    }
    let noted: Vec<String> = [
        ("support", any(|row| row.support.is_some() || row.leg_support.is_some())),
        ("plant species", any(|row| row.plant.is_some())),
        ("diameter", any(|row| row.diameter_cm.is_some())),
        ("steepness of the support", any(|row| row.support_incline.is_some())),
    ]
    .into_iter()
    .filter(|(_, noted)| *noted)
    .map(|(word, _)| word.to_owned())
    .collect();
    if !noted.is_empty() {
        text.say(&format!("We noted {}.", list(&noted)));
    }
}

fn height(p: &Precision, method: Option<HeightMethod>) -> String {
    let word = HeightMethod::ALL.iter().find(|(own, _)| Some(*own) == method);
    let by = match word.map(|(_, word)| *word) {
        None => "by means not written down".to_owned(),
        Some("eye") => "by eye".into(),
        Some(word) => format!("by {word}"),
    };
    let [ground, high] = [0.0, 10.0].map(|metres| short(p.height(metres, method), 2));
    format!("{by} (SD {ground} m at the ground, {high} m at 10 m)")
}
