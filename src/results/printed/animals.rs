//! Table 1: the animals.

use super::{Analysis, Printed, number};
use crate::adjustment::path::Path;
use crate::maths::quantity::{percent, significant};
use crate::measures::metrics::Metric;
use crate::results::comparison::roster;
use crate::survey::grid::Grid;
use crate::survey::load::device_share;
use crate::survey::names::Name;
use crate::survey::rows::{Ending, TrailRow};

pub(super) fn table(analysis: &Analysis) -> Printed {
    let heads = [
        "animal",
        "sex",
        "age",
        "body mass (g)",
        "body length (mm)",
        "device (g)",
        "device share",
        "dates",
        "trails",
        "nights",
        "hours",
        "thread followed (m)",
        "points",
        "ended",
    ];
    let roster = roster(analysis);
    let rows = roster.animals.iter().map(|(animal, trails)| row(analysis, *animal, trails));
    Printed {
        stem: "1-animals",
        title: "Animals, devices and threads.".into(),
        heads: heads.map(str::to_owned).to_vec(),
        rows: rows.collect(),
        notes: vec![
            "≥: some thread was cut short, has a gap or could not be rebuilt. Hours only where every trail has both \
             times."
                .into(),
        ],
    }
}

/// The cell of the animals table under `heading`, in its one spelling.
pub(super) fn written(analysis: &Analysis, animal: Name, heading: &str) -> String {
    let grid: Option<&Grid> = analysis.survey.grids.animals.as_ref();
    let row = analysis.survey.animal_row(animal).map(|row| row.row);
    let cell = grid.zip(row).and_then(|(grid, row)| {
        let cell = analysis.survey.spellings.of(heading, grid.cell(row, grid.column(heading)?));
        (!cell.is_empty()).then(|| cell.to_owned())
    });
    cell.unwrap_or_else(|| "–".into())
}

fn row(analysis: &Analysis, animal: Name, trails: &[usize]) -> Vec<String> {
    let written = |heading: &str| written(analysis, animal, heading);
    let own: Vec<&Path> = analysis
        .shown_paths()
        .filter(|path| analysis.listed(path).is_some_and(|row| trails.contains(&row)))
        .collect();
    let of = |path: &&Path, metric| analysis.trails[path.trail].value(metric, 0)?.measured;
    let sum = |metric| -> Option<f64> {
        own.iter().map(|path| of(path, metric).map(|measured| measured.value)).sum()
    };
    let length: f64 =
        own.iter().filter_map(|path| of(path, Metric::PathLength)).map(|m| m.value).sum();
    let at_least = own.iter().any(|path| path.cut_short || path.has_gap || !path.settled);
    let share = analysis.survey.animal_row(animal).and_then(device_share);
    let points: usize = own.iter().map(|path| path.points.len()).sum();
    let listed: Vec<&TrailRow> = trails.iter().map(|&row| &analysis.survey.trails[row]).collect();
    vec![
        analysis.survey.text(animal).to_owned(),
        written("sex"),
        written("age"),
        written("body_mass_g"),
        written("body_length_mm"),
        written("device_mass_g"),
        share.map_or("–".into(), percent),
        dates(&listed),
        trails.len().to_string(),
        number(sum(Metric::Nights), 2),
        number(sum(Metric::TrackedHours), 3),
        format!("{}{}", if at_least { "≥ " } else { "" }, significant(length, 3)),
        points.to_string(),
        endings(&listed),
    ]
}

fn dates(listed: &[&TrailRow]) -> String {
    let dates = || listed.iter().filter_map(|row| row.date);
    match (dates().min(), dates().max()) {
        (Some(first), Some(last)) if first != last => format!("{first} to {last}"),
        (Some(only), _) => only.to_string(),
        _ => "–".into(),
    }
}

/// How its trails ended, each way once, with how often.
fn endings(listed: &[&TrailRow]) -> String {
    const ALL: [(Ending, &str); 5] = [
        (Ending::Found, "found"),
        (Ending::RanOut, "ran out"),
        (Ending::Broke, "broke"),
        (Ending::Shed, "shed"),
        (Ending::Lost, "lost"),
    ];
    let counted = ALL.map(|(ending, word)| {
        let count = listed.iter().filter(|row| row.ending == Some(ending)).count();
        match count {
            0 => String::new(),
            1 => word.to_owned(),
            count => format!("{word} ×{count}"),
        }
    });
    let met: Vec<&str> = counted.iter().map(String::as_str).filter(|w| !w.is_empty()).collect();
    if met.is_empty() { "–".into() } else { met.join(", ") }
}
