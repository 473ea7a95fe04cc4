//! How far from its release each animal had come, by the metres it had walked.

use super::axes::{Axis, Scale, below, foot_room, grid, left, number_room};
use super::canvas::{Area, Canvas, Spot, Stroke, TEXT};
use super::font::fitted;
use super::labels::label;
use super::legend::{Key, Mark, legend};
use super::marks::{not_drawn, numbers};
use super::{Drawing, NotDrawn, Width, sentence_list};
use crate::products::scene::palette::{INK, QUIET, category};
use crate::products::scene::{Scene, TrailScene};
use crate::results::Analysis;
use crate::results::answer::people;
use crate::results::question::groupings;

/// Names of more trails would cover the lines.
const MOST_NAMES: usize = 25;
/// A name takes no more than this, millimetres.
const NAME_MM: f64 = 16.0;

pub(super) fn draw(analysis: &Analysis, scene: &Scene, width: Width) -> Result<Drawing, NotDrawn> {
    let whole = |trail: &&TrailScene| {
        let walked = trail.points.last().is_some_and(|last| last.along > 0.0);
        trail.has_plan && walked && analysis.paths[trail.trail].whole
    };
    let trails: Vec<&TrailScene> = scene.trails.iter().filter(whole).collect();
    let walked = trails.iter().filter_map(|trail| trail.points.last()).map(|last| last.along);
    let walked = walked.fold(0.0, f64::max);
    if walked <= 0.0 {
        return Err(NotDrawn::because(
            "no trail with a plan leads away from its release: bearings or turning angles are needed",
        ));
    }
    let reached = trails.iter().flat_map(|trail| line(trail)).map(|at| at[1]).fold(0.0, f64::max);
    let wide = width.mm();
    let high = (0.58 * wide.min(140.0)).max(66.0);
    let upright = Scale::whole([0.0, reached], [high, 0.0], 8.0);
    let side = number_room(&upright) + 5.0;
    let plot = Area::new(side, 2.0, wide - side - 3.5, high);
    let up = Scale::whole([0.0, reached], [plot.bottom, plot.top], 8.0);
    let along = Scale::whole([0.0, walked], [plot.left, plot.right], 13.0);
    let mut canvas = Canvas::new();
    grid(&mut canvas, plot, &up);
    let straight = up.ends()[1].min(along.ends()[1]);
    let bound = Stroke::new(QUIET, 0.25).dashed(&[1.2, 0.8]);
    canvas.line(&[[along.at(0.0), up.at(0.0)], [along.at(straight), up.at(straight)]], bound);
    let groups = Groups::of(analysis, &trails);
    lines(&mut canvas, &trails, &groups, (&along, &up));
    let many = trails.len() > MOST_NAMES;
    let nameless = if many { Vec::new() } else { names(&mut canvas, &trails, (&along, &up), plot) };
    left(&mut canvas, plot, Axis { scale: &up, title: "distance from release (m)", numbers: true });
    below(&mut canvas, plot, Axis { scale: &along, title: "along the thread (m)", numbers: true });
    let top = plot.bottom + foot_room(true) + 1.5;
    let mut keys = groups.keys();
    keys.push(Key::new(Mark::Line(bound), "straight away"));
    let high = top + legend(&mut canvas, [plot.left, top], wide - 0.5, &keys) + 0.5;
    let caption = caption(scene, &trails, many, &nameless);
    let alt = format!("Distance from release along the thread, of {}.", numbers(&trails));
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

fn caption(scene: &Scene, trails: &[&TrailScene], many: bool, nameless: &[&str]) -> String {
    let mut caption = format!(
        "Distance in space from the release against the metres along the thread, escape runs and \
         gaps included, of {}; it needs no north. Dashed: a path straight away. Symbols: ends.{}",
        numbers(trails),
        not_drawn(scene)
    );
    let unmoved = |trail: &&TrailScene| {
        trail.has_plan && trail.points.last().is_none_or(|last| last.along <= 0.0)
    };
    let unmoved: Vec<&str> =
        scene.trails.iter().filter(unmoved).map(|trail| trail.name.as_str()).collect();
    if !unmoved.is_empty() {
        caption += &format!(" No movement: {}.", sentence_list(&unmoved));
    }
    if many {
        caption += " So many trails leave no room for names.";
    }
    if !nameless.is_empty() {
        caption += &format!(" Names without room: {}.", sentence_list(nameless));
    }
    caption
}

/// One line a trail, its group's symbol at its end.
fn lines(
    canvas: &mut Canvas,
    trails: &[&TrailScene],
    groups: &Groups,
    (along, up): (&Scale, &Scale),
) {
    for (trail, group) in trails.iter().zip(&groups.of_trail) {
        let look = category(*group);
        let places: Vec<Spot> =
            line(trail).into_iter().map(|[x, y]| [along.at(x), up.at(y)]).collect();
        canvas.obstacle(&places, Stroke::new(look.colour, 0.3).dashed(look.dash));
        if let Some(end) = places.last() {
            canvas.symbol(*end, look.symbol, 1.5, look.colour);
        }
    }
}

/// Metres along the thread and from the release, at each anchor.
fn line(trail: &TrailScene) -> Vec<[f64; 2]> {
    let Some(first) = trail.points.first() else { return Vec::new() };
    let [e, n, u] = first.position;
    let far = |[x, y, z]: [f64; 3]| (x - e).hypot(y - n).hypot(z - u);
    trail.points.iter().map(|point| [point.along, far(point.position)]).collect()
}

/// Names at the ends; gives those that found no room.
fn names<'a>(
    canvas: &mut Canvas,
    trails: &[&'a TrailScene],
    (along, up): (&Scale, &Scale),
    plot: Area,
) -> Vec<&'a str> {
    let end = |trail: &TrailScene| {
        line(trail).last().map_or([0.0; 2], |[x, y]| [along.at(*x), up.at(*y)])
    };
    for trail in trails {
        let [x, y] = end(trail);
        canvas.texts.push(Area::new(x - 0.7, y - 0.7, 1.4, 1.4));
    }
    let bounds = Area { right: plot.right + 3.0, top: plot.top - 1.5, ..plot };
    let missing = |trail: &&&TrailScene| {
        let name = fitted(&trail.name, TEXT.points, false, NAME_MM);
        !label(canvas, end(trail), &name, TEXT.colour(INK), &bounds)
    };
    trails.iter().filter(missing).map(|trail| trail.name.as_str()).collect()
}

/// By what trails are told apart: the first factor that a comparison would take.
struct Groups {
    of_trail: Vec<usize>,
    names: Vec<String>,
}

impl Groups {
    fn of(analysis: &Analysis, trails: &[&TrailScene]) -> Self {
        let listed = |trail: &&TrailScene| analysis.network.trails[trail.trail].listed;
        let Some(factor) = groupings(analysis).into_iter().next() else {
            return Self { of_trail: vec![0; trails.len()], names: Vec::new() };
        };
        let levels = factor.levels(trails.iter().filter_map(listed));
        let of = |trail: &&TrailScene| {
            let own = listed(trail).and_then(|row| factor.level(row));
            own.and_then(|own| levels.iter().position(|level| level == own)).unwrap_or(levels.len())
        };
        let names = levels.iter().map(|level| people(&factor.name, level)).collect();
        Self { of_trail: trails.iter().map(of).collect(), names }
    }

    fn keys(&self) -> Vec<Key> {
        let key = |(at, name): (usize, &String)| {
            let look = category(at);
            Key::new(Mark::Dashed(look), name.as_str())
        };
        self.names.iter().enumerate().map(key).collect()
    }
}
