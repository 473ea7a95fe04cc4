//! Table 5: welfare.

use super::animals::written;
use super::{Analysis, Printed};
use crate::maths::quantity::{percent, significant};
use crate::results::comparison::roster;
use crate::survey::load::{days_carried, device_share};
use crate::survey::names::Name;
use crate::survey::rows::Ending;

pub(super) fn table(analysis: &Analysis) -> Printed {
    let heads = [
        "animal",
        "attached",
        "removed",
        "days",
        "handling (min)",
        "device share",
        "mass before (g)",
        "mass after (g)",
        "mass change",
        "device recovered",
        "device shed",
        "harm",
    ];
    let roster = roster(analysis);
    let rows = roster.animals.iter().map(|(animal, trails)| row(analysis, *animal, trails));
    Printed {
        stem: "5-welfare",
        title: "Welfare.".into(),
        heads: heads.map(str::to_owned).to_vec(),
        rows: rows.collect(),
        notes: vec!["–: not written down.".into()],
    }
}

fn row(analysis: &Analysis, animal: Name, trails: &[usize]) -> Vec<String> {
    let survey = &analysis.survey;
    let written = |heading: &str| written(analysis, animal, heading);
    let listed = survey.animal_row(animal);
    let days = listed.and_then(days_carried);
    let shed = trails.iter().any(|&row| survey.trails[row].ending == Some(Ending::Shed));
    vec![
        survey.text(animal).to_owned(),
        written("attached"),
        written("removed"),
        days.map_or("–".into(), |days| format!("{days:.0}")),
        written("handling_min"),
        listed.and_then(device_share).map_or("–".into(), percent),
        written("body_mass_g"),
        written("mass_after_g"),
        change(listed.and_then(|row| row.body_mass_g), listed.and_then(|row| row.mass_after_g)),
        written("recovered"),
        if shed { "yes".into() } else { "no".into() },
        written("harm"),
    ]
}

/// Grams gained or lost, and their share.
fn change(before: Option<f64>, after: Option<f64>) -> String {
    let Some((before, after)) = before.zip(after).filter(|(before, _)| *before > 0.0) else {
        return "–".into();
    };
    let grams = after - before;
    let sign = if grams > 0.0 { "+" } else { "" };
    let share = percent(grams / before);
    format!("{sign}{} g ({sign}{share})", significant(grams, 2))
}
