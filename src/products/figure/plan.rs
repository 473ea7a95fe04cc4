//! The paths from above: scale, north, what the walk leaves unknown, and where each was released.

use super::axes::frame;
use super::canvas::{Area, Canvas, Stroke, TEXT};
use super::font::fitted;
use super::frames::{MANY, Tile, pack, places};
use super::labels::label;
use super::legend::{Key, Mark};
use super::maps::{View, around, doubt, foot, how_drawn, on_paper, regions};
use super::marks::{
    assumed, ends, north_words, numbers, pieces, refuge, still, unrolled, unsettled,
};
use super::{Drawing, NotDrawn, Width, letter, sentence_list};
use crate::maths::quantity::short;
use crate::products::scene::palette::{ALERT, PAPER, QUIET, Symbol};
use crate::products::scene::{Scene, ScenePoint, TrailScene};

/// Millimetres kept around the paths of a frame, for names.
const MARGIN_MM: f64 = 5.0;
/// As many trails have room for perches and the numbers of anchors.
const FEW: usize = 3;

pub(super) fn draw(scene: &Scene, width: Width) -> Result<Drawing, NotDrawn> {
    let trails = on_paper(scene, "a plan")?;
    let groups = groups(&trails);
    let wide = width.mm();
    let tiles: Vec<Tile> = groups.iter().map(|group| tile(&trails, group, groups.len())).collect();
    // In one column frames stand better one below the other than small side by side.
    let column = width == Width::Narrow && groups.len() > 1;
    let most = if column { 1.75 * wide } else { (0.8 * wide).max(90.0) };
    let frames = pack(&tiles, wide - 1.0, most);
    let mut canvas = Canvas::new();
    let mut nameless = Vec::new();
    for ((at, group), area) in groups.iter().enumerate().zip(&frames.areas) {
        let area = Area { left: area.left + 0.5, right: area.right + 0.5, ..*area };
        let around = around(group.iter().map(|&at| trails[at]));
        let view = View::of(around, frames.mm_per_m, area.middle());
        frame(&mut canvas, area);
        let own: Vec<&TrailScene> = group.iter().map(|&at| trails[at]).collect();
        // The only trail of a frame has its name over it.
        let headed = groups.len() > 1 && own.len() == 1;
        if groups.len() > 1 {
            let head = if headed { head(at, own[0]) } else { letter(at) };
            let head = fitted(&head, TEXT.points, true, area.width());
            canvas.text([area.left, area.top - 1.0], &head, TEXT.bold());
        }
        let marks = (trails.len() <= FEW, headed);
        nameless.extend(map(&mut canvas, scene, &own, (&view, area), marks));
    }
    let sizes = (wide, frames.height, frames.mm_per_m);
    let high = foot(&mut canvas, scene, &trails, sizes, stay_keys(&trails));
    let caption = caption(scene, &trails, &groups, &nameless);
    let alt = format!("Plan of {}, seen from above.", numbers(&trails));
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

/// The heading of the frame of one trail.
fn head(at: usize, trail: &TrailScene) -> String {
    let how = how_drawn(trail);
    let how = if how.is_empty() { String::new() } else { format!(" ({how})") };
    format!("{} {}{how}", letter(at), trail.name)
}

/// Trails by frame: those with a place and a north together where they lie together, the others each
/// alone.
fn groups(trails: &[&TrailScene]) -> Vec<Vec<usize>> {
    let mapped = |at: &usize| trails[*at].on_map();
    let (together, alone): (Vec<usize>, Vec<usize>) = (0..trails.len()).partition(mapped);
    let boxes: Vec<[f64; 4]> = together.iter().map(|&at| around([trails[at]])).collect();
    let mut groups: Vec<Vec<usize>> = places(&boxes)
        .into_iter()
        .map(|place| place.into_iter().map(|at| together[at]).collect())
        .collect();
    groups.extend(alone.into_iter().map(|at| vec![at]));
    groups
}

fn tile(trails: &[&TrailScene], group: &[usize], frames: usize) -> Tile {
    let [w, s, e, n] = around(group.iter().map(|&at| trails[at]));
    let alone = frames > 1 && group.len() == 1;
    let name = |&at: &usize| {
        let name = if alone { head(0, trails[at]) } else { trails[at].name.clone() };
        TEXT.bold().width(&name) + 4.0
    };
    let (margin, widest) = if frames > MANY { (3.0, 18.0) } else { (MARGIN_MM, 50.0) };
    Tile {
        metres: [e - w, n - s],
        margin,
        head: if frames > 1 { 4.0 } else { 0.5 },
        least: group.iter().map(name).fold(12.0, f64::max).min(widest),
    }
}

/// One frame's paths; gives the names that found no room.
fn map(
    canvas: &mut Canvas,
    scene: &Scene,
    trails: &[&TrailScene],
    (view, area): (&View, Area),
    (few, headed): (bool, bool),
) -> Vec<String> {
    for trail in trails {
        doubt(canvas, trail, view);
    }
    for trail in trails {
        pieces(canvas, &trail.pieces, scene.strata(), |piece, end| {
            view.place(trail.end_on_paper(piece, end))
        });
    }
    for trail in trails {
        if few {
            stays(canvas, trail, view);
        }
        ends(canvas, trail, |point| view.place(trail.on_paper(&trail.points[point])));
    }
    // Names keep clear of the marks of all releases.
    let bounds = area.grown(-0.3);
    for trail in trails {
        for point in [trail.points.first(), trail.points.last()].into_iter().flatten() {
            let [x, y] = view.place(trail.on_paper(point));
            canvas.texts.push(Area::new(x - 0.8, y - 0.9, 1.6, 1.6));
        }
    }
    let named = trails.iter().filter(|_| !headed);
    let name = |trail: &&&TrailScene| {
        let mark = view.place(trail.on_paper(&trail.points[0]));
        let text = fitted(&trail.name, TEXT.points, false, area.width() - 6.0);
        !label(canvas, mark, &text, TEXT.bold(), &bounds)
    };
    let missing: Vec<String> = named.filter(name).map(|trail| trail.name.clone()).collect();
    if few {
        for trail in trails {
            anchors(canvas, trail, view, &bounds);
        }
    }
    missing
}

/// Perches and refuges.
fn stays(canvas: &mut Canvas, trail: &TrailScene, view: &View) {
    for point in &trail.points {
        let at = view.place(trail.on_paper(point));
        let reach = if point.refuge {
            refuge(canvas, at);
            1.3
        } else if point.perch.is_some() {
            canvas.disc(at, 0.75, Some(PAPER), Stroke::new(ALERT, 0.35));
            0.9
        } else {
            continue;
        };
        // Numbers of anchors keep clear of it.
        canvas.texts.push(Area::new(at[0] - reach, at[1] - reach, 2.0 * reach, 2.0 * reach));
    }
}

/// Numbers of anchors, as many as find room: every tenth first.
fn anchors(canvas: &mut Canvas, trail: &TrailScene, view: &View, bounds: &Area) {
    let step = if trail.points.len() > 200 { 50 } else { 10 };
    for (at, point) in trail.points.iter().enumerate().skip(step - 1) {
        if (at + 1) % step == 0 && TEXT.width(&point.name) < 12.0 {
            let spot = view.place(trail.on_paper(point));
            let _ = label(canvas, spot, &point.name, TEXT.colour(QUIET), bounds);
        }
    }
}

/// Keys to what only a plan of few trails shows.
fn stay_keys(trails: &[&TrailScene]) -> Vec<Key> {
    let any =
        |what: fn(&ScenePoint) -> bool| trails.iter().any(|trail| trail.points.iter().any(what));
    let mut keys = Vec::new();
    if trails.len() <= FEW && any(|point| point.perch.is_some() && !point.refuge) {
        keys.push(Key::new(Mark::Symbol(Symbol::Ring, ALERT), "perch"));
    }
    if trails.len() <= FEW && any(|point| point.refuge) {
        keys.push(Key::new(Mark::Refuge, "refuge"));
    }
    keys
}

fn caption(
    scene: &Scene,
    trails: &[&TrailScene],
    groups: &[Vec<usize>],
    nameless: &[String],
) -> String {
    let mut text = format!("Plan of {}, both axes at one scale.", numbers(trails));
    text += &north_words(trails);
    text += &unrolled(trails);
    if groups.len() > 1 {
        text += " Frames hold trails that lie far apart, or whose place or north is not known; the \
                 scale is that of all.";
    }
    if groups.len() > MANY {
        text += " So many frames leave little room to each: draw some by themselves with --trail.";
    }
    text += " Colours give the height above ground.";
    text += &assumed(trails);
    text += &regions(trails);
    let planned = trails.iter().filter(|trail| trail.has_plan);
    let sds: Vec<f64> = planned.filter_map(|trail| trail.placing_sd).collect();
    let (low, high) =
        sds.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), sd| (l.min(*sd), h.max(*sd)));
    if high > 0.0 {
        let range = if high - low < 0.05 * high {
            format!("{} m", short(high, 2))
        } else {
            format!("{} to {} m", short(low, 2), short(high, 2))
        };
        text += &format!(
            " Releases are placed with a standard deviation of {range} on each axis, \
             which moves a trail as a whole and is not drawn."
        );
    }
    text += &still(trails);
    text += &unsettled(scene);
    if trails.len() <= FEW {
        text += " Numbers of anchors: every tenth, every fiftieth of more than 200, where there is \
                 room.";
    } else {
        text += " Perches, refuges and numbers of anchors are left to plans of up to three trails.";
    }
    if !nameless.is_empty() {
        let names: Vec<&str> = nameless.iter().map(String::as_str).collect();
        text += &format!(" Names without room in the figure: {}.", sentence_list(&names));
    }
    text
}
