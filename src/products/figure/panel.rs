//! All paths side by side at one scale, each about its own release: from above, or without a plan as
//! height along the thread.

use super::canvas::{Canvas, Spot, TEXT};
use super::font::fitted;
use super::frames::{MANY, Tile, fill};
use super::maps::{View, around, doubt, foot, how_drawn, regions};
use super::marks::{assumed, ends, north_words, numbers, pieces, still, unrolled, unsettled};
use super::{Drawing, NotDrawn, Width};
use crate::products::scene::{Scene, TrailScene};

/// Millimetres down for the paths.
const MOST_DOWN: f64 = 200.0;

pub(super) fn draw(scene: &Scene, width: Width) -> Result<Drawing, NotDrawn> {
    let mut trails: Vec<&TrailScene> = scene.trails.iter().collect();
    if trails.is_empty() {
        return Err(NotDrawn::because("no trail that was asked for has a known path"));
    }
    // The largest first leave gaps that the smaller ones fill.
    let extent = |trail: &TrailScene| around([trail])[3] - around([trail])[1];
    trails.sort_by(|a, b| extent(b).total_cmp(&extent(a)));
    let wide = width.mm();
    let many = trails.len() > MANY;
    let tiles: Vec<Tile> = trails.iter().map(|trail| tile(trail, wide, many)).collect();
    let most = if trails.len() == 1 { wide } else { MOST_DOWN.min((1.05 * wide).max(120.0)) };
    let frames = fill(&tiles, wide - 1.0, most);
    let mut canvas = Canvas::new();
    for ((&trail, tile), area) in trails.iter().zip(&tiles).zip(&frames.areas) {
        let around @ [_, s, _, n] = around([trail]);
        let half = 0.5 * (n - s) * frames.mm_per_m;
        let centre = [area.middle()[0] + 0.5, area.top + tile.margin + half];
        let view = View::of(around, frames.mm_per_m, centre);
        doubt(&mut canvas, trail, &view);
        pieces(&mut canvas, &trail.pieces, scene.strata(), |piece, end| {
            view.place(trail.end_on_paper(piece, end))
        });
        ends(&mut canvas, trail, |at| view.place(trail.on_paper(&trail.points[at])));
        heading(&mut canvas, trail, [area.left + 0.5, area.top - 0.8], area.width(), many);
    }
    let sizes = (wide, frames.height, frames.mm_per_m);
    let high = foot(&mut canvas, scene, &trails, sizes, Vec::new());
    let caption = caption(scene, &trails, many);
    let alt = format!("Paths of {} side by side at one scale.", numbers(&trails));
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

fn caption(scene: &Scene, trails: &[&TrailScene], many: bool) -> String {
    let mut text = format!("Paths of {}, all at one scale, each by itself.", numbers(trails));
    if trails.iter().any(|trail| trail.has_plan) {
        text += " Seen from above, about the release; where they lay to each other is not shown.";
        text += &north_words(trails);
        text += &regions(trails);
    }
    text += &unrolled(trails);
    text += &assumed(trails);
    text += " Colours give the height above ground. ";
    text += &if many { anchors(trails) } else { "n: anchors.".to_owned() };
    text + &still(trails) + &unsettled(scene)
}

fn tile(trail: &TrailScene, wide: f64, many: bool) -> Tile {
    let [w, s, e, n] = around([trail]);
    let name = TEXT.bold().width(&trail.name).max(TEXT.width(&count(trail))) + 1.0;
    let (margin, head, room) =
        if many { (1.5, 4.0, 18.0) } else { (2.0, 4.0 + TEXT.leading(), 0.45 * wide) };
    Tile { metres: [e - w, n - s], margin, head, least: name.min(room) }
}

fn count(trail: &TrailScene) -> String {
    let how = how_drawn(trail);
    let n = format!("n = {}", trail.points.len());
    if how.is_empty() { n } else { format!("{n}, {how}") }
}

/// How many anchors trails have that have no room for the number beside them.
fn anchors(trails: &[&TrailScene]) -> String {
    let counts = || trails.iter().map(|trail| trail.points.len());
    let (least, most) = (counts().min().unwrap_or(0), counts().max().unwrap_or(0));
    if least == most {
        format!("{most} anchors each.")
    } else {
        format!("{least} to {most} anchors each.")
    }
}

/// The trail's name, and below it how many anchors.
fn heading(canvas: &mut Canvas, trail: &TrailScene, [x, y]: Spot, room: f64, many: bool) {
    let name = fitted(&trail.name, TEXT.points, true, room);
    if many {
        canvas.text([x, y], &name, TEXT.bold());
        return;
    }
    canvas.text([x, y - TEXT.leading()], &name, TEXT.bold());
    canvas.text([x, y], &fitted(&count(trail), TEXT.points, false, room), TEXT);
}
