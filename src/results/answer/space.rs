//! How much room the animals take over several trails, in a sentence.

use crate::maths::quantity::{short, significant};
use crate::maths::statistics::describe::median;
use crate::results::Analysis;
use crate::results::space::{AnimalSpace, spaces};

/// Home areas of the animals of which more than one trail has a place: that of a single trail stands
/// among its metrics already. `None` where fewer than two animals have one.
pub(super) fn sentence(analysis: &Analysis) -> Option<String> {
    let several = |animal: &&AnimalSpace| animal.placed.len() > 1;
    let animals: Vec<&AnimalSpace> = spaces(analysis).iter().filter(several).collect();
    let areas: Vec<f64> =
        animals.iter().filter_map(|animal| Some(animal.extent.area?.value)).collect();
    if areas.len() < 2 {
        return None;
    }
    let with_area = animals.iter().filter(|animal| animal.extent.area.is_some());
    let nights: Option<Vec<f64>> = with_area.map(|animal| animal.extent.nights).collect();
    let [least, most] = ends(&areas)?;
    let (scale, unit) = if most < HECTARE { (1.0, "m²") } else { (HECTARE, "ha") };
    let shown = |area: f64| significant(area / scale, 2);
    Some(format!(
        "Home areas of {} animals with more than one trail{}: median {} {unit} (range {} to {}), convex polygons \
         that grow with the nights followed.",
        areas.len(),
        nights.and_then(|nights| over(&nights)).unwrap_or_default(),
        shown(median(&areas)?),
        shown(least),
        shown(most),
    ))
}

/// Square metres.
const HECTARE: f64 = 10_000.0;

fn over(nights: &[f64]) -> Option<String> {
    let [least, most] = ends(nights)?.map(|nights| short(nights, 3));
    Some(match (least == most, most.as_str()) {
        (true, "1") => ", over 1 night".to_owned(),
        (true, _) => format!(", over {most} nights"),
        (false, _) => format!(", over {least} to {most} nights"),
    })
}

fn ends(values: &[f64]) -> Option<[f64; 2]> {
    Some([values.iter().copied().reduce(f64::min)?, values.iter().copied().reduce(f64::max)?])
}
