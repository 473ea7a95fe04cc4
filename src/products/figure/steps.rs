//! How long the legs are, and each animal's median.

use super::axes::{Axis, Scale, below, foot_room, grid, left, number_room, round_step};
use super::canvas::{Area, Canvas, Side, Stroke, TEXT};
use super::legend::{Key, Mark, legend};
use super::marks::{numbers, unit, unsettled};
use super::{Drawing, NotDrawn, Width};
use crate::maths::quantity::{count_of, metres, short};
use crate::maths::statistics::describe::median;
use crate::products::scene::palette::{CATEGORIES, INK, Symbol};
use crate::products::scene::{Scene, TrailScene};
use std::collections::BTreeMap;

/// Size of a point, millimetres.
const POINT_MM: f64 = 1.5;

pub(super) fn draw(scene: &Scene, width: Width) -> Result<Drawing, NotDrawn> {
    let trails: Vec<&TrailScene> =
        scene.trails.iter().filter(|trail| counted(trail).next().is_some()).collect();
    let lengths: Vec<f64> = trails.iter().flat_map(|trail| counted(trail)).collect();
    let Some(middle) = median(&lengths) else {
        return Err(NotDrawn::because("no leg counts, so there are no steps"));
    };
    let wide = width.mm();
    let longest = lengths.iter().copied().fold(0.0, f64::max);
    let bin = round_step(longest / 40.0);
    let counts = histogram(&lengths, bin);
    let most = counts.iter().copied().max().unwrap_or(1) as f64;
    let medians = medians(&trails);
    let upright = Scale::whole([0.0, most], [0.0, 40.0], 9.0);
    let side = number_room(&upright) + 5.0;
    let [start, end] = [side, wide - 3.0];
    let along = Scale::whole([0.0, counts.len() as f64 * bin], [start, end], 13.0);
    let piles = piles(&medians, &along);
    let most_rows = piles.iter().map(|(_, row)| row + 1).max().unwrap_or(1);
    let crowd = POINT_MM * most_rows as f64 + 2.0;
    let plot = Area::new(side, crowd + 1.5, end - start, 0.42 * wide.min(130.0));
    let up = Scale::whole([0.0, most], [plot.bottom, plot.top], 9.0);
    let mut canvas = Canvas::new();
    grid(&mut canvas, plot, &up);
    bars(&mut canvas, &counts, bin, (&along, &up));
    let x = along.at(middle);
    let stroke = Stroke::new(INK, 0.3).dashed(&[1.2, 0.7]);
    canvas.line(&[[x, plot.top], [x, plot.bottom]], stroke);
    for (x, row) in piles {
        let at = [x, plot.top - 1.6 - POINT_MM * row as f64];
        canvas.symbol(at, Symbol::Circle, POINT_MM, CATEGORIES[0].colour);
    }
    left(&mut canvas, plot, Axis { scale: &up, title: "number of legs", numbers: true });
    below(&mut canvas, plot, Axis { scale: &along, title: "length of leg (m)", numbers: true });
    let n = format!("n = {} legs", lengths.len());
    canvas.text([plot.right, plot.top + TEXT.rise() + 0.5], &n, TEXT.side(Side::End));
    let top = plot.bottom + foot_room(true) + 1.5;
    let keys = [
        Key::new(
            Mark::Symbol(Symbol::Circle, CATEGORIES[0].colour),
            format!("median of one {}", unit(&trails)),
        ),
        Key::new(Mark::Line(stroke), format!("median of all legs, {}", metres(middle))),
    ];
    let high = top + legend(&mut canvas, [plot.left, top], wide - 0.5, &keys) + 0.5;
    let caption = caption(&trails, lengths.len(), medians.len(), bin) + &unsettled(scene);
    let alt = format!("Histogram of {}.", count_of(lengths.len(), "leg length"));
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

/// A bar for each class of lengths, from zero.
fn bars(canvas: &mut Canvas, counts: &[usize], bin: f64, (along, up): (&Scale, &Scale)) {
    for (at, count) in counts.iter().enumerate().filter(|(_, count)| **count > 0) {
        let (from, to) = (at as f64 * bin, (at as f64 + 1.0) * bin);
        let area = Area {
            left: along.at(from) + 0.12,
            right: along.at(to) - 0.12,
            top: up.at(*count as f64),
            bottom: up.at(0.0),
        };
        canvas.block(area, CATEGORIES[0].colour.tint(0.55));
    }
}

fn caption(trails: &[&TrailScene], legs: usize, animals: usize, bin: f64) -> String {
    format!(
        "Lengths of {} of {}, escape runs included, gaps left out; classes of {} m. Points: the \
         median of each of {}, piled where they would meet. The length of legs follows from the marking rule as well as from \
         the animal. Legs of one animal are not independent.",
        count_of(legs, "leg"),
        numbers(trails),
        short(bin, 2),
        count_of(animals, unit(trails)),
    )
}

fn counted(trail: &TrailScene) -> impl Iterator<Item = f64> {
    let walked = |length: &f64| *length > 0.0;
    trail.legs.iter().filter(|leg| leg.counted).map(|leg| leg.length).filter(walked)
}

fn histogram(lengths: &[f64], bin: f64) -> Vec<usize> {
    let mut counts = Vec::new();
    for length in lengths {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "below 60")]
        let at = (length / bin) as usize;
        if counts.len() <= at {
            counts.resize(at + 1, 0);
        }
        counts[at] += 1;
    }
    counts
}

/// One median an animal, ascending; a trail of no animal stands for one.
fn medians(trails: &[&TrailScene]) -> Vec<f64> {
    let mut own: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for trail in trails {
        let name = trail.animal.as_deref().unwrap_or(&trail.name);
        own.entry(name).or_default().extend(counted(trail));
    }
    let mut medians: Vec<f64> = own.values().filter_map(|lengths| median(lengths)).collect();
    medians.sort_by(f64::total_cmp);
    medians
}

/// Points that would lie on each other are piled up over their middle, as in a dot plot; gives the
/// place of each.
fn piles(values: &[f64], along: &Scale) -> Vec<(f64, usize)> {
    let places: Vec<f64> = values.iter().map(|value| along.at(*value)).collect();
    let mut piles: Vec<&[f64]> = Vec::new();
    let mut rest = places.as_slice();
    while let Some(first) = rest.first() {
        let (pile, others) = rest.split_at(rest.partition_point(|place| place - first < POINT_MM));
        piles.push(pile);
        rest = others;
    }
    let middle = |pile: &[f64]| pile.iter().sum::<f64>() / pile.len() as f64;
    piles.iter().flat_map(|pile| (0..pile.len()).map(|row| (middle(pile), row))).collect()
}
