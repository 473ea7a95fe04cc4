//! What animals moved on: the share of each support, a point an animal, and the supports' diameters
//! against their inclines.

use super::axes::{Axis, Scale, below, foot_room, grid, left, number_room};
use super::canvas::{Area, Canvas, Side, Stroke, TEXT};
use super::font::fitted;
use super::legend::{Key, Mark, legend};
use super::swarm::swarm;
use super::{Drawing, NotDrawn, Width};
use crate::maths::quantity::count_of;
use crate::measures::support::classes::{Class, Division, words};
use crate::products::scene::Scene;
use crate::products::scene::palette::{ALERT, CATEGORIES, FAINT, Symbol};
use crate::results::Analysis;
use crate::results::usage::{AnimalUse, halves_words, of_animals, of_group};

/// As many classes find room.
const MOST: usize = 24;
const PITCH: f64 = 4.6;

pub(super) fn draw(analysis: &Analysis, scene: &Scene, width: Width) -> Result<Drawing, NotDrawn> {
    let animals = of_animals(analysis, 0);
    let uses: Vec<&AnimalUse> = animals.iter().collect();
    let mut classes: Vec<(Class, f64)> = of_group(&uses, Division::Support)
        .into_iter()
        .filter_map(|(class, used)| Some((class, used.share?)))
        .collect();
    classes.sort_by(|a, b| b.1.total_cmp(&a.1));
    if classes.is_empty() {
        return Err(NotDrawn::because("no support of any animal that moved was written down"));
    }
    let all = classes.len();
    classes.truncate(MOST);
    let wide = width.mm();
    let anchors = anchors(analysis, scene);
    let beside = wide > 150.0 && !anchors.is_empty();
    let first = if beside { 0.52 * wide } else { wide };
    let mut canvas = Canvas::new();
    let bottom = shares(&mut canvas, analysis, &uses, &classes, first);
    let mut high = bottom;
    if !anchors.is_empty() {
        let area = if beside {
            Area::new(first + 4.0, 0.0, wide - first - 4.0, bottom)
        } else {
            Area::new(0.0, bottom + 2.0, wide, (0.6 * wide).min(60.0))
        };
        scatter(&mut canvas, &anchors, area);
        high = high.max(area.bottom);
    }
    let keys = [
        Key::new(Mark::Symbol(Symbol::Circle, CATEGORIES[0].colour.tint(0.75)), "an animal"),
        Key::new(Mark::Line(Stroke::new(ALERT, 0.6)), "mean of the animals’ shares"),
    ];
    high += 1.5;
    high += legend(&mut canvas, [0.5, high], wide - 0.5, &keys) + 0.5;
    let moved = uses.iter().filter(|animal| animal.used.total.length > 0.0).count();
    let caption = caption(analysis, [moved, anchors.len(), all - classes.len()]);
    let alt = format!("Use of {} by {}.", count_of(all, "support"), count_of(moved, "animal"));
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

fn caption(analysis: &Analysis, [animals, anchors, left_out]: [usize; 3]) -> String {
    let mut caption = format!(
        "(a) Share of its path that each of {} spent on each support, escape run included. A leg with \
         no support of its own counts {}; a leg from one tree or plant straight to another, above \
         ground, is a crossing.",
        count_of(animals, "animal"),
        analysis.survey.settings.support_of_leg.counts_for()
    );
    caption += &halves_words(analysis, 0).map_or(String::new(), |words| format!(" {words}."));
    if anchors > 0 {
        caption += &format!(
            " (b) Diameter and incline of the support at {} where both were measured; those of \
             one animal are not independent.",
            count_of(anchors, "anchor")
        );
    }
    if left_out > 0 {
        caption += &format!(" The {left_out} least used supports are left out.");
    }
    caption
}

/// The strip plot, from the upper left corner; gives its lower end.
fn shares(
    canvas: &mut Canvas,
    analysis: &Analysis,
    uses: &[&AnimalUse],
    classes: &[(Class, f64)],
    wide: f64,
) -> f64 {
    let name = |class: Class| words(class, Division::Support, &analysis.survey);
    let names: Vec<String> = classes.iter().map(|(class, _)| name(*class)).collect();
    let room = names.iter().map(|name| TEXT.width(name)).fold(8.0, f64::max).min(0.4 * wide);
    let plot = Area::new(room + 2.0, 5.0, wide - room - 4.5, classes.len() as f64 * PITCH + 0.6);
    let own = |animal: &AnimalUse, class: Class| {
        let total: f64 = animal.used.of(Division::Support).map(|(_, used)| used.length).sum();
        let used = animal.used.classes.get(&(Division::Support, class));
        (total > 0.0).then(|| 100.0 * used.map_or(0.0, |used| used.length) / total)
    };
    let most = classes.iter().flat_map(|(class, _)| uses.iter().filter_map(|a| own(a, *class)));
    let scale = Scale::whole([0.0, most.fold(1.0, f64::max)], [plot.left, plot.right], 10.0);
    canvas.text([0.5, 0.5 + TEXT.rise()], "a", TEXT.bold());
    for (at, ((class, mean), name)) in classes.iter().zip(&names).enumerate() {
        let y = plot.top + (at as f64 + 0.5) * PITCH;
        canvas.line(&[[plot.left, y], [plot.right, y]], Stroke::new(FAINT, 0.15));
        let name = fitted(name, TEXT.points, false, room);
        canvas.text_level([plot.left - 1.0, y], &name, TEXT.side(Side::End));
        let shares = uses.iter().filter_map(|animal| own(animal, *class));
        let places: Vec<(f64, f64)> = shares.map(|share| (scale.at(share), 0.0)).collect();
        for ((x, _), aside) in places.iter().zip(swarm(&places, 1.4, 1.6)) {
            canvas.symbol([*x, y + aside], Symbol::Circle, 1.4, CATEGORIES[0].colour.tint(0.75));
        }
        let x = scale.at(100.0 * mean);
        canvas.line(&[[x, y - 1.7], [x, y + 1.7]], Stroke::new(ALERT, 0.6));
    }
    below(canvas, plot, Axis { scale: &scale, title: "share of the path (%)", numbers: true });
    plot.bottom + foot_room(true)
}

/// Diameter in centimetres and incline in degrees, where an anchor has both.
fn anchors(analysis: &Analysis, scene: &Scene) -> Vec<[f64; 2]> {
    let rows = scene.trails.iter().flat_map(|trail| &analysis.paths[trail.trail].points);
    let both = rows.filter_map(|point| {
        let row = &analysis.survey.anchors[point.row];
        Some([row.diameter_cm?, row.support_incline?.to_degrees()])
    });
    both.collect()
}

fn scatter(canvas: &mut Canvas, anchors: &[[f64; 2]], area: Area) {
    let (least, most) = anchors.iter().fold((0.0_f64, 1.0_f64), |(least, most), [d, i]| {
        (least.min((i / 30.0).floor() * 30.0), most.max(*d))
    });
    let upright = Scale::whole([least, 90.0], [0.0, 30.0], 8.0);
    let side = number_room(&upright) + 5.0;
    let high = area.height() - foot_room(true) - 5.0;
    let plot = Area::new(area.left + side, area.top + 5.0, area.width() - side - 2.5, high);
    let up = Scale::degrees([least, 90.0], [plot.bottom, plot.top]);
    let across = Scale::whole([0.0, most], [plot.left, plot.right], 10.0);
    canvas.text([area.left + 0.5, area.top + 0.5 + TEXT.rise()], "b", TEXT.bold());
    grid(canvas, plot, &up);
    for [diameter, incline] in anchors {
        let at = [across.at(*diameter), up.at(*incline)];
        canvas.disc(at, 0.55, None, Stroke::new(CATEGORIES[0].colour, 0.2));
    }
    left(canvas, plot, Axis { scale: &up, title: "incline (°)", numbers: true });
    below(canvas, plot, Axis { scale: &across, title: "diameter (cm)", numbers: true });
}
