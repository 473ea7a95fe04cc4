//! What animals chose of what was on offer: selection ratios with their intervals.

use super::axes::{Axis, Scale, below, foot_room};
use super::canvas::{Area, Canvas, Side, Stroke, TEXT};
use super::font::fitted;
use super::legend::{Key, Mark, legend};
use super::swarm::swarm;
use super::{Drawing, NotDrawn, Width};
use crate::maths::quantity::count_of;
use crate::measures::support::classes::Division;
use crate::measures::support::selection::{Choice, Selected, selected};
use crate::products::scene::palette::{CATEGORIES, FAINT, INK, Symbol};
use crate::results::Analysis;
use crate::results::usage::{Choices, choices};

const PITCH: f64 = 5.0;
/// As many classes find room.
const MOST: usize = 36;

pub(super) fn draw(analysis: &Analysis, width: Width) -> Result<Drawing, NotDrawn> {
    let choices = choices(analysis).into_iter().next().ok_or_else(|| {
        NotDrawn::because("the survey has no table available, so nothing is known to be on offer")
    })?;
    let moved: Vec<&Choice> =
        choices.animals.iter().filter(|choice| choice.used().is_some()).collect();
    if moved.is_empty() {
        return Err(NotDrawn::because("no animal used anything that was on offer"));
    }
    let pooled = selected(&moved);
    let wide = width.mm();
    let names: Vec<&str> =
        choices.offer.classes.iter().map(|class| analysis.survey.text(*class)).collect();
    let kept = names.len().min(MOST);
    let room = names.iter().map(|name| TEXT.width(name)).fold(8.0, f64::max).min(0.35 * wide);
    let side = TEXT.width("used / on offer (%)").min(0.3 * wide);
    let plot = Area::new(room + 2.0, 5.0, wide - room - side - 6.0, kept as f64 * PITCH + 0.6);
    let scale = Scale::whole([0.0, most(&pooled)], [plot.left, plot.right], 14.0);
    let mut canvas = Canvas::new();
    let one = scale.at(1.0);
    canvas.line(&[[one, plot.top], [one, plot.bottom]], Stroke::new(INK, 0.25).dashed(&[1.2, 0.7]));
    let head = fitted("used / on offer (%)", TEXT.points, false, side);
    canvas.text([wide - 0.5, plot.top - 1.2], &head, TEXT.side(Side::End));
    let mut beyond = 0;
    for (at, (name, found)) in names.iter().zip(&pooled).take(kept).enumerate() {
        let y = plot.top + (at as f64 + 0.5) * PITCH;
        canvas.line(&[[plot.left, y], [plot.right, y]], Stroke::new(FAINT, 0.15));
        let name = fitted(name, TEXT.points, false, room);
        canvas.text_level([plot.left - 1.0, y], &name, TEXT.side(Side::End));
        let shares = format!("{:.0} / {:.0}", 100.0 * found.used, 100.0 * found.available);
        canvas.text_level([wide - 0.5, y], &shares, TEXT.side(Side::End));
        interval(&mut canvas, found, (&scale, y));
        beyond += animals(&mut canvas, &moved, at, (&scale, y), plot.right);
        if let Some(ratio) = found.ratio {
            canvas.symbol([scale.at(ratio), y], Symbol::Diamond, 2.2, CATEGORIES[1].colour);
        }
    }
    let title = "share used / share on offer";
    below(&mut canvas, plot, Axis { scale: &scale, title, numbers: true });
    let keys = [
        Key::new(Mark::Symbol(Symbol::Circle, CATEGORIES[0].colour.tint(0.6)), "an animal"),
        Key::new(Mark::Symbol(Symbol::Diamond, CATEGORIES[1].colour), "all animals, 95 % interval"),
    ];
    let top = plot.bottom + foot_room(true) + 1.5;
    let high = top + legend(&mut canvas, [0.5, top], wide - 0.5, &keys) + 0.5;
    let caption = caption(&choices, moved.len(), beyond, names.len() - kept);
    let alt = format!("Selection ratios of {} supports or plants.", names.len());
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

/// What the scale must reach: the ends of the intervals, and the ratios.
fn most(pooled: &[Selected]) -> f64 {
    let ends = pooled.iter().filter_map(|found| found.interval.map(|ends| ends[1]).or(found.ratio));
    1.05 * ends.fold(1.5, f64::max)
}

/// The ratio of each animal; gives how many lie beyond the scale, where an arrow tells so.
fn animals(
    canvas: &mut Canvas,
    moved: &[&Choice],
    class: usize,
    (scale, y): (&Scale, f64),
    right: f64,
) -> usize {
    let colour = CATEGORIES[0].colour.tint(0.6);
    let mut beyond = 0;
    let ratios = moved.iter().filter_map(|choice| {
        let (used, available) = (choice.used()?[class], choice.available[class]);
        (available > 0.0).then(|| used / available)
    });
    let places: Vec<(f64, f64)> =
        ratios.map(|ratio| (scale.at(ratio).min(right + 0.8), 0.0)).collect();
    for ((x, _), aside) in places.iter().zip(swarm(&places, 1.4, 1.7)) {
        let (x, y) = (*x, y + aside);
        if x > right {
            beyond += 1;
            canvas
                .fill(&[[right + 1.4, y], [right + 0.2, y - 0.6], [right + 0.2, y + 0.6]], colour);
        } else {
            canvas.symbol([x, y], Symbol::Circle, 1.4, colour);
        }
    }
    beyond
}

fn interval(canvas: &mut Canvas, found: &Selected, (scale, y): (&Scale, f64)) {
    if let Some(ends) = found.interval {
        let [low, high] = ends.map(|end| scale.at(end.max(0.0)));
        canvas.line(&[[low, y], [high, y]], Stroke::new(CATEGORIES[1].colour, 0.5));
    }
}

fn caption(choices: &Choices, animals: usize, beyond: usize, left_out: usize) -> String {
    let what = if choices.offer.division == Division::Plant { "plants" } else { "supports" };
    let mut text = format!(
        "Selection of {what} after the escape run by {}: share of metres used over share on offer; \
         1 (dashed) is use as offered. Intervals of all classes hold together with 95 % \
         (Bonferroni), the animal as the unit; none with fewer than four animals.",
        count_of(animals, "animal")
    );
    if beyond > 0 {
        let lie = if beyond == 1 { "lies" } else { "lie" };
        let ratios = count_of(beyond, "ratio");
        text += &format!(" {ratios} of single animals {lie} beyond the scale (arrowheads).");
    }
    if left_out > 0 {
        text += &format!(" {left_out} classes found no room.");
    }
    text
}
