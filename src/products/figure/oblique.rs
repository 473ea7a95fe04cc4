//! The paths from the side and above: each with its trace on the ground and drop lines.

use super::axes::{bar_metres, decimals, scale_bar};
use super::canvas::{Canvas, Spot, Stroke, TEXT};
use super::font::fitted;
use super::frames::{MANY, Tile, extent, fill};
use super::legend::{Key, Mark, legend};
use super::maps::{how_drawn, on_paper};
use super::marks::{assumed, assumed_key, ends, keys, numbers, pieces, still, unrolled, unsettled};
use super::{Drawing, NotDrawn, Width, sentence_list};
use crate::maths::quantity::{Bearing, plain};
use crate::products::scene::palette::{FAINT, INK, QUIET};
use crate::products::scene::{Piece, Scene, TrailScene};

/// Where the reader stands, and how far above the level.
const FROM_DEG: f64 = 200.0;
const ABOVE_DEG: f64 = 28.0;
/// Most millimetres of the bar that shows how heights are drawn.
const POST_MM: f64 = 11.0;

/// Parallel projection: metres on the picture, right and down, of a place in space.
fn project([east, north, up]: [f64; 3]) -> [f64; 2] {
    let (sin, cos) = Bearing::from_degrees(FROM_DEG + 180.0).to_radians().sin_cos();
    let (sin_above, cos_above) = Bearing::from_degrees(ABOVE_DEG).to_radians().sin_cos();
    let right = east * cos - north * sin;
    let away = east * sin + north * cos;
    [right, -(away * sin_above + up * cos_above)]
}

pub(super) fn draw(scene: &Scene, width: Width) -> Result<Drawing, NotDrawn> {
    let mut trails = on_paper(scene, "a view in space")?;
    let height = |trail: &TrailScene| around(trail)[3] - around(trail)[1];
    trails.sort_by(|a, b| height(b).total_cmp(&height(a)));
    let wide = width.mm();
    let room = if trails.len() > MANY { 18.0 } else { 0.45 * wide };
    let tiles: Vec<Tile> = trails.iter().map(|trail| tile(trail, room)).collect();
    let most = if trails.len() == 1 { wide } else { 200.0_f64.min((1.05 * wide).max(120.0)) };
    let frames = fill(&tiles, wide - 1.0, most);
    let mut canvas = Canvas::new();
    for (trail, area) in trails.iter().zip(&frames.areas) {
        let [l, t, r, _] = around(trail);
        let scale = frames.mm_per_m;
        let shift = area.middle()[0] + 0.5 - 0.5 * (l + r) * scale;
        let place = |[x, y]: [f64; 2]| [shift + x * scale, area.top + 2.0 + (y - t) * scale];
        one(&mut canvas, scene, trail, place);
        let name = fitted(&head(trail), TEXT.points, true, area.width());
        canvas.text([area.left + 0.5, area.top - 0.8], &name, TEXT.bold());
    }
    let high = foot(&mut canvas, scene, &trails, (wide, frames.height), frames.mm_per_m);
    let caption = caption(scene, &trails);
    let alt = format!("Paths of {} in space.", numbers(&trails));
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

fn caption(scene: &Scene, trails: &[&TrailScene]) -> String {
    let mut text = format!(
        "Paths of {} in space, seen in parallel{}, {ABOVE_DEG:.0}° above the level, all at one \
         scale, each by itself. Grey: the trace on the ground; thin lines drop to it from the \
         anchors. The level bar measures across the picture, the upright one heights.",
        numbers(trails),
        if trails.iter().any(|trail| trail.oriented) { " from the south-south-west" } else { "" },
    );
    text += &from_where(trails);
    text += &unrolled(trails);
    text += &assumed(trails);
    text += " Colours give the height above ground.";
    if trails.iter().any(|trail| many(trail)) {
        text += " Of long trails every fifth line is drawn.";
    }
    text + &still(trails) + &unsettled(scene)
}

/// A sentence on the trails of which no north is known.
fn from_where(trails: &[&TrailScene]) -> String {
    let free = trails.iter().filter(|trail| trail.has_plan && !trail.oriented);
    let names: Vec<&str> = free.map(|trail| trail.name.as_str()).collect();
    if names.is_empty() {
        return String::new();
    }
    format!(
        " No north is known of {}: seen from behind the release, with the farthest point ahead.",
        sentence_list(&names)
    )
}

/// The name of a trail, and how it is drawn where that is not as the others are.
fn head(trail: &TrailScene) -> String {
    let how = how_drawn(trail);
    if how.is_empty() { trail.name.clone() } else { format!("{} ({how})", trail.name) }
}

/// Bars and keys below the paths; gives the height of the page.
fn foot(
    canvas: &mut Canvas,
    scene: &Scene,
    trails: &[&TrailScene],
    (wide, high): (f64, f64),
    mm_per_m: f64,
) -> f64 {
    let upright = mm_per_m * Bearing::from_degrees(ABOVE_DEG).to_radians().cos();
    let metres = bar_metres(upright, POST_MM);
    let post = metres * upright;
    let line = high + 2.5 + post.max(4.0);
    let mut left = 0.5 + scale_bar(canvas, [0.5, line], mm_per_m, 0.2 * wide) + 3.0;
    let ends = [[left + 0.7, line], [left, line], [left, line - post], [left + 0.7, line - post]];
    canvas.line(&ends, Stroke::new(INK, 0.3));
    let words = format!("{} m up", plain(metres, decimals(metres)));
    canvas.text([left + 1.2, line - 0.8], &words, TEXT);
    left += 1.2 + TEXT.width(&words) + 5.0;
    let mut own = keys(scene, trails);
    own.extend(assumed_key(trails));
    own.push(Key::new(Mark::Line(Stroke::new(QUIET, 0.25)), "trace on the ground"));
    let at = if wide > 100.0 { [left, high + 2.5] } else { [0.5, line + 1.5] };
    (at[1] + legend(canvas, at, wide - 0.5, &own)).max(line + 1.0) + 0.5
}

/// A point of the path as it is seen, and the one below it on the ground, metres right and down; of a
/// trail without a plan along the thread and below the ground.
fn places(trail: &TrailScene) -> impl Iterator<Item = [[f64; 2]; 2]> {
    trail.points.iter().map(|point| {
        let ([e, n, u], height) = (point.position, point.height);
        if trail.has_plan {
            [project([e, n, u]), project([e, n, u - height])]
        } else {
            [[point.along, -height], [point.along, 0.0]]
        }
    })
}

/// The same of an end of a piece.
fn piece_end(trail: &TrailScene, piece: &Piece, end: usize) -> [f64; 2] {
    if trail.has_plan { project(piece.ends[end]) } else { [piece.along[end], -piece.heights[end]] }
}

fn around(trail: &TrailScene) -> [f64; 4] {
    extent(places(trail).flatten())
}

fn tile(trail: &TrailScene, room: f64) -> Tile {
    let [l, t, r, b] = around(trail);
    let name = TEXT.bold().width(&head(trail)) + 1.0;
    Tile { metres: [r - l, b - t], margin: 2.0, head: 4.5, least: name.min(room) }
}

/// Shorter drop lines are hidden by the path, millimetres.
const SEEN_MM: f64 = 0.2;

/// Whether drop lines from all anchors would make a grey area.
fn many(trail: &TrailScene) -> bool {
    trail.points.len() > 150
}

fn one(canvas: &mut Canvas, scene: &Scene, trail: &TrailScene, place: impl Fn([f64; 2]) -> Spot) {
    let seen: Vec<[Spot; 2]> = places(trail).map(|pair| pair.map(&place)).collect();
    let trace: Vec<Spot> = seen.iter().map(|[_, ground]| *ground).collect();
    canvas.line(&trace, Stroke::new(QUIET, 0.25));
    let drops = seen.iter().step_by(if many(trail) { 5 } else { 1 }).copied();
    let drops = drops.filter(|[path, ground]| (ground[1] - path[1]).abs() > SEEN_MM);
    canvas.lines(&drops.collect::<Vec<_>>(), Stroke::new(FAINT, 0.2));
    pieces(canvas, &trail.pieces, scene.strata(), |piece, end| place(piece_end(trail, piece, end)));
    ends(canvas, trail, |at| seen[at][0]);
}
