//! A rose of the turns in plan: straight on is up, right turns to the right.

use super::canvas::{Canvas, Stroke};
use super::legend::{Key, Mark};
use super::marks::{not_drawn, numbers, unit};
use super::rose::Rose;
use super::{Drawing, NotDrawn, Width};
use crate::maths::quantity::{Bearing, Turn, count_of, degrees, significant};
use crate::maths::statistics::circular::MeanVector;
use crate::products::scene::palette::{ALERT, CATEGORIES, INK, Symbol};
use crate::products::scene::{Scene, TrailScene};
use std::collections::BTreeMap;

/// Petals of the rose: 20° each.
const PETALS: usize = 18;

pub(super) fn draw(scene: &Scene, width: Width) -> Result<Drawing, NotDrawn> {
    let turning = |trail: &&TrailScene| trail.has_plan && turns(trail).next().is_some();
    let trails: Vec<&TrailScene> = scene.trails.iter().filter(turning).collect();
    let turns: Vec<Bearing> = trails.iter().flat_map(|trail| turns(trail)).collect();
    if turns.is_empty() {
        return Err(NotDrawn::because(
            "no two legs that follow each other have directions, so there are no turns",
        ));
    }
    let wide = width.mm();
    let means = means(&trails);
    let all = MeanVector::of(turns.iter().map(|turn| turn.to_radians()));
    let radius = (0.27 * wide).min(32.0);
    let (rose, reaches) = Rose::below_top(wide, radius, &means);
    let mut canvas = Canvas::new();
    rose.rim(&mut canvas);
    let most = rose.petals(&mut canvas, &turns, PETALS);
    rose.points(&mut canvas, &means, INK);
    rose.mean(&mut canvas, &all);
    rose.names(&mut canvas, ["straight on", "right", "back", "left"], reaches);
    let keys = keys(turns.len(), means.len(), unit(&trails));
    let high = rose.legend(&mut canvas, &keys, wide, reaches);
    let r = all.resultant().unwrap_or(0.0);
    let mean = all.direction().map_or_else(String::new, |mean| {
        let mean = if mean.abs() < 1e-9 { 0.0 } else { mean };
        let turn = Turn::from_radians(mean).to_degrees();
        format!(" mean turn {},", degrees(turn).replace('-', "−"))
    });
    let caption = format!(
        "Turns in plan at {} of {}, escape runs included; petals of 20°, their area the number of \
         turns, the rim {most} of them. Points: mean turn of each of {}. Arrow:{mean} mean resultant length r = {}, the \
         rim being 1. Turns need two legs with directions that follow each other, or a turning angle; legs without a direction have none. They depend on \
         the marking rule, and those of one animal are not independent.{}",
        count_of(turns.len(), "anchor"),
        numbers(&trails),
        count_of(means.len(), unit(&trails)),
        significant(r, 2),
        not_drawn(scene)
    );
    let alt = format!("Rose of {}.", count_of(turns.len(), "turn"));
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

fn keys(turns: usize, means: usize, unit: &str) -> [Key; 3] {
    let (turns, means) =
        (format!("turns, n = {turns}"), format!("mean of one {unit}, n = {means}"));
    [
        Key::new(Mark::Block(CATEGORIES[0].colour.tint(0.45)), turns),
        Key::new(Mark::Symbol(Symbol::Circle, INK), means),
        Key::new(Mark::Line(Stroke::new(ALERT, 0.6)), "mean of all turns"),
    ]
}

/// A trail's turns as directions: straight on is north.
fn turns(trail: &TrailScene) -> impl Iterator<Item = Bearing> {
    let turns = trail.legs.iter().filter_map(|leg| leg.turn);
    turns.map(|turn| Bearing::from_radians(turn.to_radians()))
}

fn means(trails: &[&TrailScene]) -> Vec<Bearing> {
    let mut own: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for trail in trails {
        let name = trail.animal.as_deref().unwrap_or(&trail.name);
        own.entry(name).or_default().extend(turns(trail).map(Bearing::to_radians));
    }
    let mean = |turns: &Vec<f64>| MeanVector::of(turns.iter().copied()).direction();
    own.values().filter_map(mean).map(Bearing::from_radians).collect()
}
