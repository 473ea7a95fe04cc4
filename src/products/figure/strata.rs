//! How much of its path each animal spent at which height: a bar an animal, and the mean of each
//! group below its animals.

use super::axes::{Axis, Scale, below, foot_room};
use super::canvas::{Area, Canvas, Side, Stroke, TEXT};
use super::font::fitted;
use super::legend::{Key, Mark, legend};
use super::marks::{unit, unsettled};
use super::{Drawing, NotDrawn, Width};
use crate::maths::quantity::{count_of, metres};
use crate::products::scene::Scene;
use crate::products::scene::palette::{INK, PAPER, stratum};
use crate::results::Analysis;
use crate::results::answer::people;
use crate::results::comparison::roster;
use crate::results::question::groupings;
use crate::survey::names::Name;

/// As many bars find room on a page.
const MOST: usize = 56;

/// Metres of one animal in each stratum.
struct Bar {
    name: String,
    level: Option<String>,
    metres: Vec<f64>,
    at_least: bool,
}

impl Bar {
    fn total(&self) -> f64 {
        self.metres.iter().sum()
    }
}

/// What stands in a row.
enum Row<'a> {
    Animal(&'a Bar),
    /// Mean of the shares of so many animals that moved.
    Mean(String, Vec<f64>, usize),
}

pub(super) fn draw(analysis: &Analysis, scene: &Scene, width: Width) -> Result<Drawing, NotDrawn> {
    let (bars, factor) = bars(analysis, scene);
    if bars.iter().all(|bar| bar.total() <= 0.0) {
        return Err(NotDrawn::because("no animal moved, so there is no length to divide"));
    }
    let all = rows(&bars, factor.as_deref());
    let left_out = all.len().saturating_sub(MOST);
    let rows = without(all, left_out);
    let kept = rows.len();
    let wide = width.mm();
    let names = rows.iter().map(|row| match row {
        Row::Animal(bar) => TEXT.width(&bar.name),
        Row::Mean(name, ..) => TEXT.bold().width(name),
    });
    let name_room = names.fold(10.0, f64::max).min(0.34 * wide);
    let end_room = TEXT.width("≥ 188.8 m") + 1.0;
    let pitch = (190.0 / kept as f64).clamp(3.1, 4.8);
    let plot = Area::new(
        name_room + 1.5,
        1.0,
        wide - name_room - end_room - 3.0,
        kept as f64 * pitch + 0.8,
    );
    let scale = Scale::new([0.0, 100.0], [plot.left, plot.right], 11.0);
    let mut canvas = Canvas::new();
    for (at, row) in rows.iter().enumerate() {
        let middle = plot.top + (at as f64 + 0.5) * pitch;
        draw_row(&mut canvas, row, (&scale, scene.strata()), (middle, pitch), wide);
    }
    below(&mut canvas, plot, Axis { scale: &scale, title: "share of the path (%)", numbers: true });
    let last = scene.strata().saturating_sub(1);
    let keys: Vec<Key> = (0..=last)
        .map(|at| {
            let words = scene.stratum_words(at);
            let words = if at == last { format!("{words} above ground") } else { words };
            Key::new(Mark::Block(stratum(at, scene.strata())), words)
        })
        .collect();
    let top = plot.bottom + foot_room(true) + 1.5;
    let high = top + legend(&mut canvas, [plot.left.min(0.2 * wide), top], wide - 0.5, &keys) + 0.5;
    let caption = caption(scene, &bars, left_out);
    let each = count_of(bars.len(), unit(&scene.trails.iter().collect::<Vec<_>>()));
    let alt = format!("Share of the path in each height band, of {each}.");
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

fn draw_row(
    canvas: &mut Canvas,
    row: &Row<'_>,
    (scale, strata): (&Scale, usize),
    (middle, pitch): (f64, f64),
    wide: f64,
) {
    let left = scale.at(0.0);
    let (name, set, shares, words) = match row {
        Row::Animal(bar) => {
            let total = bar.total();
            let shares: Vec<f64> = bar.metres.iter().map(|m| m / total).collect();
            let sign = if bar.at_least { "≥ " } else { "" };
            let words = if total > 0.0 { format!("{sign}{}", metres(total)) } else { "0 m".into() };
            (&bar.name, TEXT, shares, words)
        }
        Row::Mean(name, shares, n) => (name, TEXT.bold(), shares.clone(), format!("n = {n}")),
    };
    let name = fitted(name, set.points, set.bold, left - 1.5);
    canvas.text_level([left - 1.0, middle], &name, set.side(Side::End));
    canvas.text_level([scale.at(100.0) + 1.0, middle], &words, set);
    let thick = 0.5 * pitch - if matches!(row, Row::Mean(..)) { 0.35 } else { 0.6 };
    let mut from = 0.0;
    for (at, share) in shares.iter().enumerate().filter(|(_, share)| share.is_finite()) {
        let to = from + 100.0 * share;
        let area = Area {
            left: scale.at(from),
            right: scale.at(to),
            top: middle - thick,
            bottom: middle + thick,
        };
        canvas.block(area, stratum(at, strata));
        if from > 0.0 && to > from {
            let x = scale.at(from);
            let line = [[x, middle - thick], [x, middle + thick]];
            canvas.line(&line, Stroke::new(PAPER, 0.15));
        }
        from = to;
    }
    if matches!(row, Row::Mean(..)) {
        let (l, r, t, b) = (left, scale.at(100.0), middle - thick, middle + thick);
        canvas.line(&[[l, t], [r, t], [r, b], [l, b], [l, t]], Stroke::new(INK, 0.25));
        let y = middle + 0.5 * pitch;
        canvas.line(&[[0.5, y], [wide - 0.5, y]], Stroke::new(PAPER, 0.1));
    }
}

/// One bar an animal; trails of no animal have one each.
fn bars(analysis: &Analysis, scene: &Scene) -> (Vec<Bar>, Option<String>) {
    let factor = groupings(analysis).into_iter().next();
    let of = |trails: &[usize], name: String, level: Option<String>| {
        let mut metres = vec![0.0; scene.strata()];
        for &trail in trails {
            let own = &analysis.trails[trail].strata[0];
            metres.iter_mut().zip(own).for_each(|(sum, share)| *sum += share.length);
        }
        let at_least = trails.iter().any(|&trail| {
            let path = &analysis.paths[trail];
            path.cut_short || path.has_gap
        });
        Bar { name, level, metres, at_least }
    };
    let settled: Vec<usize> = scene.trails.iter().map(|trail| trail.trail).collect();
    let roster = roster(analysis);
    let listed = |trail: &usize| analysis.network.trails[*trail].listed;
    let mut bars: Vec<Bar> = Vec::new();
    for (animal, rows) in &roster.animals {
        let own = settled.iter().copied();
        let own: Vec<usize> =
            own.filter(|t| listed(t).is_some_and(|row| rows.contains(&row))).collect();
        let level = factor.as_ref().and_then(|f| f.level(*rows.first()?)).map(str::to_owned);
        if !own.is_empty() {
            bars.push(of(&own, analysis.survey.text(*animal).to_owned(), level));
        }
    }
    let animal = |trail: usize| -> Option<Name> { analysis.survey.trails[listed(&trail)?].animal };
    for trail in scene.trails.iter().filter(|trail| animal(trail.trail).is_none()) {
        bars.push(of(&[trail.trail], trail.name.clone(), None));
    }
    (bars, factor.map(|factor| factor.name))
}

/// Animals group by group, each group followed by its mean; those of no group come last.
fn rows<'a>(bars: &'a [Bar], factor: Option<&str>) -> Vec<Row<'a>> {
    let mut levels: Vec<&Option<String>> = bars.iter().map(|bar| &bar.level).collect();
    levels.sort_by_key(|level| (level.is_none(), level.as_deref()));
    levels.dedup();
    let mut rows = Vec::new();
    for level in levels {
        let own: Vec<&Bar> = bars.iter().filter(|bar| bar.level == *level).collect();
        rows.extend(own.iter().map(|bar| Row::Animal(bar)));
        let moved: Vec<&&Bar> = own.iter().filter(|bar| bar.total() > 0.0).collect();
        if moved.len() < 2 {
            continue;
        }
        let name = match (factor, level) {
            (Some(factor), Some(level)) => format!("mean of {}", people(factor, level)),
            _ => "mean".to_owned(),
        };
        let strata = moved[0].metres.len();
        let mean = |at: usize| {
            moved.iter().map(|bar| bar.metres[at] / bar.total()).sum::<f64>() / moved.len() as f64
        };
        rows.push(Row::Mean(name, (0..strata).map(mean).collect(), moved.len()));
    }
    rows
}

/// Rows without so many animals, the last ones; means stay.
fn without(rows: Vec<Row<'_>>, mut left_out: usize) -> Vec<Row<'_>> {
    let stays = |row: &Row<'_>| {
        let leaves = left_out > 0 && matches!(row, Row::Animal(_));
        left_out -= usize::from(leaves);
        !leaves
    };
    let mut kept: Vec<Row<'_>> = rows.into_iter().rev().filter(stays).collect();
    kept.reverse();
    kept
}

fn caption(scene: &Scene, bars: &[Bar], left_out: usize) -> String {
    let each = unit(&scene.trails.iter().collect::<Vec<_>>());
    let mut text = format!(
        "Share of the path in each band of height above ground, escape run included; one bar for \
         each of {}, with the metres that count. Legs are cut at the edges. Framed bars: mean of \
         the {each}s’ shares, n {each}s that moved.",
        count_of(bars.len(), each)
    );
    if bars.iter().any(|bar| bar.at_least) {
        text += " ≥: a thread was cut short or has a gap, so that the metres are at least so many.";
    }
    if left_out > 0 {
        text += &format!(
            " {} found no room but count in the means; draw groups by themselves with --trail.",
            count_of(left_out, each)
        );
    }
    text + &unsettled(scene)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_room_is_short_the_means_stay() {
        let bar = Bar { name: "Bramble".into(), level: None, metres: vec![1.0], at_least: false };
        let mean = || Row::Mean("mean".into(), vec![1.0], 3);
        let rows: Vec<Row<'_>> =
            (0..8).map(|at| if at == 3 || at == 7 { mean() } else { Row::Animal(&bar) }).collect();
        let kept: Vec<bool> =
            without(rows, 4).iter().map(|row| matches!(row, Row::Mean(..))).collect();
        assert_eq!(kept, [false, false, true, true]);
    }
}
