//! All paths from above, side by side at one scale, each about its own release.

use super::canvas::{Canvas, Spot, TEXT};
use super::font::fitted;
use super::frames::{Tile, fill};
use super::maps::{View, around, doubt, foot};
use super::marks::{ends, not_drawn, numbers, pieces, still};
use super::{Drawing, NotDrawn, Width};
use crate::scene::{Scene, TrailScene};

/// Millimetres down for the paths.
const MOST_DOWN: f64 = 200.0;

pub(super) fn draw(scene: &Scene, width: Width) -> Result<Drawing, NotDrawn> {
    let mut trails: Vec<&TrailScene> = scene.trails.iter().filter(|trail| trail.has_plan).collect();
    if trails.is_empty() {
        return Err(NotDrawn::because(
            "no trail has bearings, and a plan needs them; profile draws heights without",
        ));
    }
    // The largest first leave gaps that the smaller ones fill.
    let extent = |trail: &TrailScene| around([trail])[3] - around([trail])[1];
    trails.sort_by(|a, b| extent(b).total_cmp(&extent(a)));
    let wide = width.mm();
    let room = if trails.len() > 20 { 0.3 } else { 0.45 } * wide;
    let tiles: Vec<Tile> = trails.iter().map(|trail| tile(trail, room)).collect();
    let most = if trails.len() == 1 { wide } else { MOST_DOWN.min((1.05 * wide).max(120.0)) };
    let frames = fill(&tiles, wide - 1.0, most);
    let mut canvas = Canvas::new();
    for (&trail, area) in trails.iter().zip(&frames.areas) {
        let [w, s, e, n] = around([trail]);
        let origin = [0.5 * (w + e), 0.5 * (s + n)];
        let half = 0.5 * (n - s) * frames.mm_per_m;
        let centre = [area.middle()[0] + 0.5, area.top + 2.0 + half];
        let view = View { mm_per_m: frames.mm_per_m, origin, centre };
        doubt(&mut canvas, trail, &view);
        pieces(&mut canvas, &trail.pieces, scene.strata(), |piece, end| {
            view.place(piece.ends[end])
        });
        ends(&mut canvas, trail, |at| view.place(trail.points[at].position));
        heading(&mut canvas, trail, [area.left + 0.5, area.top - 0.8], area.width());
    }
    let sizes = (wide, frames.height, frames.mm_per_m);
    let high = foot(&mut canvas, scene, &trails, sizes, Vec::new());
    let caption = format!(
        "Paths of {} from above, all at one scale, each about its own release; where they lay to \
         each other is not shown. {}Colours give the height above ground. Pale regions hold each \
         anchor with 95 % against its release. n: anchors.{}{}",
        numbers(&trails),
        if trails.iter().all(|trail| trail.oriented) { "True north is up. " } else { "" },
        still(&trails),
        not_drawn(scene)
    );
    let alt = format!("Paths of {} side by side at one scale.", numbers(&trails));
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

fn tile(trail: &TrailScene, room: f64) -> Tile {
    let [w, s, e, n] = around([trail]);
    let name = TEXT.bold().width(&trail.name).max(TEXT.width(&count(trail))) + 1.0;
    Tile { metres: [e - w, n - s], margin: 2.0, head: 7.0, least: name.min(room) }
}

fn count(trail: &TrailScene) -> String {
    format!("n = {}", trail.points.len())
}

/// The trail's name, and below it how many anchors.
fn heading(canvas: &mut Canvas, trail: &TrailScene, [x, y]: Spot, room: f64) {
    let name = fitted(&trail.name, TEXT.points, true, room);
    canvas.text([x, y - TEXT.leading()], &name, TEXT.bold());
    canvas.text([x, y], &count(trail), TEXT);
}
