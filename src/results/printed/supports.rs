//! Table 4: supports, perches and refuges.

use super::{Analysis, Printed, spread, stays};
use crate::adjustment::path::{Path, Point};
use crate::maths::quantity::{percent, significant};
use crate::maths::statistics::describe::mean;
use crate::measures::support::classes::{Class, Division, words};
use crate::measures::support::selection::{Choice, Selected, selected};
use crate::results::comparison::roster;
use crate::results::usage::{AnimalUse, CHOICE_PART, choices, halves_words, of_animals, of_group};
use crate::survey::names::Name;
use crate::survey::rows::AnchorRow;
use std::collections::BTreeSet;

pub(super) fn table(analysis: &Analysis) -> Printed {
    let heads = [
        "support",
        "metres",
        "visits",
        "share of path",
        "diameter (cm)",
        "incline (°)",
        "height (m)",
        "plants",
        "share on offer",
        "selection ratio (95 %)",
    ];
    let animals = of_animals(analysis, CHOICE_PART);
    let all: Vec<&AnimalUse> = animals.iter().collect();
    let (chosen, anchors) = (selection(analysis), anchors(analysis));
    let mut rows = Vec::new();
    for (class, used) in of_group(&all, Division::Support) {
        let mut row = vec![
            words(class, Division::Support, &analysis.survey),
            significant(used.length, 3),
            used.visits.to_string(),
            share(used.share, used.share_sd, used.animals),
        ];
        row.extend(of_anchors(analysis, &anchors, class));
        let own = chosen.iter().find(|(name, _)| Class::Named(*name) == class);
        row.extend(on_offer(own.map(|(_, selected)| selected)));
        rows.push(row);
    }
    rows.extend(stays::rows(analysis));
    Printed {
        stem: "4-supports",
        title: "Supports after the escape run, perches and refuges.".into(),
        heads: heads.map(str::to_owned).to_vec(),
        rows,
        notes: vec![
            "Share of path: mean over animals ± SD. Diameter, incline (its size, up or down) and height: means over \
             animals of their means at the anchors on that support, ± SD (range), also where no leg counts for it. Of perches and refuges all stays count, those \
             of the escape run included, and visits are stays; those without a time of day stand \
             apart from those by day and by night."
                .into(),
            between_supports(analysis),
            "Selection ratio: share used over share on offer, the animal as the unit; the intervals \
             of all supports hold together with 95 %."
                .into(),
        ],
    }
}

/// What becomes of legs between two supports.
fn between_supports(analysis: &Analysis) -> String {
    let rule = analysis.survey.settings.support_of_leg.counts_for();
    let halves = halves_words(analysis, CHOICE_PART);
    format!(
        "A leg with no support of its own counts {rule}{}. Crossing: from one tree or plant straight \
         to another, above ground, with no support noted for the leg.",
        halves.map_or(String::new(), |words| format!("; {words}"))
    )
}

fn share(share: Option<f64>, sd: Option<f64>, animals: usize) -> String {
    match (share, sd) {
        (Some(share), Some(sd)) => format!("{} ± {}, n = {animals}", percent(share), percent(sd)),
        (Some(share), None) => format!("{}, n = {animals}", percent(share)),
        _ => "–".into(),
    }
}

/// Supports that were on offer, as all animals chose them.
fn selection(analysis: &Analysis) -> Vec<(Name, Selected)> {
    let all = choices(analysis);
    let own = all.iter().find(|choices| choices.offer.division == Division::Support);
    own.map_or(Vec::new(), |own| {
        let animals: Vec<&Choice> = own.animals.iter().collect();
        own.offer.classes.iter().copied().zip(selected(&animals)).collect()
    })
}

fn on_offer(selected: Option<&Selected>) -> [String; 2] {
    let Some(selected) = selected else { return ["–".into(), "–".into()] };
    let ends = selected.interval.map_or(String::new(), |[low, high]| {
        format!(" ({} to {})", significant(low, 2), significant(high, 2))
    });
    let ratio = selected.ratio.map_or("–".into(), |ratio| significant(ratio, 2) + &ends);
    [percent(selected.available), ratio]
}

/// Diameter, incline, height and plants at the anchors on one support.
fn of_anchors(analysis: &Analysis, anchors: &[Anchors<'_>], class: Class) -> [String; 4] {
    let Class::Named(support) = class else { return ["–"; 4].map(str::to_owned) };
    let on = |row: &AnchorRow| row.support == Some(support);
    let rows = anchors.iter().flatten().map(|(row, _)| row).filter(|row| on(row));
    let plants: BTreeSet<&str> =
        rows.filter_map(|row| row.plant).map(|plant| analysis.survey.text(plant)).collect();
    let plants: Vec<&str> = plants.into_iter().collect();
    let of = |value: &dyn Fn(&AnchorRow, f64) -> Option<f64>| {
        let mean_of = |own: &Anchors<'_>| {
            let own = own.iter().filter(|(row, _)| on(row));
            mean(&own.filter_map(|(row, height)| value(row, *height)).collect::<Vec<_>>())
        };
        spread(&anchors.iter().filter_map(mean_of).collect::<Vec<_>>())
    };
    [
        of(&|row, _| row.diameter_cm),
        of(&|row, _| steepness(row)),
        of(&|_, height| Some(height)),
        if plants.is_empty() { "–".into() } else { plants.join(", ") },
    ]
}

/// Steepness of a support whichever way, degrees.
pub(super) fn steepness(row: &AnchorRow) -> Option<f64> {
    row.support_incline.map(|incline| incline.to_degrees().abs())
}

/// The anchors of one animal after its escape runs, with their heights.
type Anchors<'a> = Vec<(&'a AnchorRow, f64)>;

/// The anchors of each animal.
fn anchors(analysis: &Analysis) -> Vec<Anchors<'_>> {
    let of = |trails: &[usize]| {
        let is_own = |path: &&Path| {
            path.settled && analysis.listed(path).is_some_and(|row| trails.contains(&row))
        };
        let after = |path: &Path| {
            let after = path.points.iter().filter(|point| !point.escape);
            let of = |point: &Point| {
                let height = analysis.adjusted.heights[point.node].height;
                (&analysis.survey.anchors[point.row], height)
            };
            after.map(of).collect::<Vec<_>>()
        };
        analysis.shown_paths().filter(is_own).flat_map(after).collect()
    };
    roster(analysis).animals.iter().map(|(_, trails)| of(trails)).collect()
}
