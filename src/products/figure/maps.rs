//! What plan and panel share: the trails that have a plan, the view from above, the regions of
//! doubt, and what stands below.

use super::NotDrawn;
use super::axes::{north, scale_bar};
use super::canvas::{Canvas, Spot, Stroke};
use super::frames::extent;
use super::legend::{Key, Mark, legend};
use super::marks::{DOUBT, assumed_key, keys};
use crate::products::scene::palette::QUIET;
use crate::products::scene::{Scene, ScenePoint, TrailScene};
use nalgebra::Matrix2;

/// All trails, those of which a plan is known first; the others stand as height along the thread.
/// Without any plan there is no `what`.
pub(super) fn on_paper<'s>(scene: &'s Scene, what: &str) -> Result<Vec<&'s TrailScene>, NotDrawn> {
    let (planned, flat): (Vec<_>, Vec<_>) = scene.trails.iter().partition(|trail| trail.has_plan);
    if planned.is_empty() {
        return Err(NotDrawn::because(format!(
            "no trail has directions enough for a plan, and {what} needs bearings or turning angles; \
             profile and panel draw heights without"
        )));
    }
    Ok([planned, flat].concat())
}

/// What the heading of a frame adds to the name of its trail.
pub(super) fn how_drawn(trail: &TrailScene) -> &'static str {
    match (trail.has_plan, trail.oriented) {
        (false, _) => "height along the thread",
        (true, false) => "no north",
        (true, true) => "",
    }
}

/// The ground below a trail that is drawn as height along the thread.
pub(super) fn ground(canvas: &mut Canvas, trail: &TrailScene, view: &View) {
    let Some(last) = trail.points.last().filter(|_| !trail.has_plan) else { return };
    canvas.line(&[view.place([0.0, 0.0]), view.place([last.along, 0.0])], Stroke::new(QUIET, 0.2));
}

/// Root of the 95 % point of chi-squared with two degrees of freedom: −2 ln 0.05.
const ELLIPSE_95: f64 = 2.447_746_830_680_816;

/// Half axes, east and north in metres, of the region that holds a place in plan with 95 %.
fn half_axes(covariance: &Matrix2<f64>) -> Option<[[f64; 2]; 2]> {
    let axes = covariance.symmetric_eigen();
    let reach = axes.eigenvalues.map(|variance| ELLIPSE_95 * variance.max(0.0).sqrt());
    let axis = |at: usize| {
        let vector = axes.eigenvectors.column(at) * reach[at];
        [vector.x, vector.y]
    };
    (reach.iter().all(|r| r.is_finite()) && reach.max() > 0.0).then(|| [axis(0), axis(1)])
}

/// Draws the regions of doubt of a trail's points against its release, behind its path; those too
/// small to be seen and those that lie within the one before are left out. Without a plan, its ground.
pub(super) fn doubt(canvas: &mut Canvas, trail: &TrailScene, view: &View) {
    if !trail.has_plan {
        return ground(canvas, trail, view);
    }
    let mut last: Option<Spot> = None;
    let mut regions = Vec::new();
    for point in &trail.points {
        let Some(axes) = point.walked.as_ref().and_then(half_axes) else { continue };
        let [a, b] = axes.map(|[east, north]| [east * view.mm_per_m, -north * view.mm_per_m]);
        let least = a[0].hypot(a[1]).min(b[0].hypot(b[1]));
        let at = view.place(trail.on_paper(point));
        let apart = last.map_or(f64::INFINITY, |last| (at[0] - last[0]).hypot(at[1] - last[1]));
        if least.max(0.5 * a[0].hypot(a[1]).max(b[0].hypot(b[1]))) < 0.2 || apart < 0.5 * least {
            continue;
        }
        regions.push((at, [a, b]));
        last = Some(at);
    }
    canvas.ovals(&regions, DOUBT);
}

/// A sentence on the regions of doubt.
pub(super) fn regions(trails: &[&TrailScene]) -> String {
    let free = trails.iter().any(|trail| trail.has_plan && !trail.oriented);
    let first_leg = if free { " (without a north, and its first leg)" } else { "" };
    format!(
        " Shaded: 95 % confidence regions of the anchors relative to the release{first_leg}, from the stated \
         precisions; where none is seen, they are narrower than the line."
    )
}

/// How far east and north the region of doubt of a point reaches, metres.
fn reach(point: &ScenePoint) -> [f64; 2] {
    let [a, b] = point.walked.as_ref().and_then(half_axes).unwrap_or_default();
    [0, 1].map(|axis| a[axis].hypot(b[axis]))
}

/// The box around trails and their regions of doubt in plan, metres: west, south, east, north.
pub(super) fn around<'a>(trails: impl IntoIterator<Item = &'a TrailScene>) -> [f64; 4] {
    extent(trails.into_iter().flat_map(corners))
}

/// The corners around each point of a trail, metres; without a plan its ground is one as well.
fn corners(trail: &TrailScene) -> impl Iterator<Item = [f64; 2]> {
    trail.points.iter().flat_map(|point| {
        let [x, y] = trail.on_paper(point);
        if trail.has_plan {
            let [east, north] = reach(point);
            [[x - east, y - north], [x + east, y + north]]
        } else {
            [[x, y], [x, 0.0]]
        }
    })
}

/// A map: where the plan's metres stand on the page.
#[derive(Clone, Copy, Debug)]
pub(super) struct View {
    mm_per_m: f64,
    /// East and north of what stands at `centre`.
    origin: [f64; 2],
    centre: Spot,
}

impl View {
    /// The map on which the middle of this box stands at `centre`: west, south, east, north.
    pub(super) fn of([w, s, e, n]: [f64; 4], mm_per_m: f64, centre: Spot) -> Self {
        Self { mm_per_m, origin: [0.5 * (w + e), 0.5 * (s + n)], centre }
    }

    /// Where a place in plan stands on the page.
    pub(super) fn place(&self, [east, north]: [f64; 2]) -> Spot {
        [
            self.centre[0] + (east - self.origin[0]) * self.mm_per_m,
            self.centre[1] - (north - self.origin[1]) * self.mm_per_m,
        ]
    }
}

/// Scale bar, north arrow (where some trail has a north) and keys below maps that end at `high`; gives the height of the page.
pub(super) fn foot(
    canvas: &mut Canvas,
    scene: &Scene,
    trails: &[&TrailScene],
    (wide, high, mm_per_m): (f64, f64, f64),
    more: Vec<Key>,
) -> f64 {
    let top = high + 2.0;
    let mut left = 0.5;
    if trails.iter().any(|trail| trail.oriented) {
        left += north(canvas, [left, top + 5.2]) + 3.0;
    }
    left += scale_bar(canvas, [left, top + 5.0], mm_per_m, 0.2 * wide) + 5.0;
    let mut keys = keys(scene, trails);
    let has_region = |trail: &&TrailScene| trail.points.iter().any(|point| point.walked.is_some());
    if trails.iter().filter(|trail| trail.has_plan).any(has_region) {
        keys.push(Key::new(Mark::Block(DOUBT), "95 % region against the release"));
    }
    keys.extend(assumed_key(trails));
    if trails.iter().any(|trail| trail.has_plan && !trail.oriented) {
        keys.push(Key::new(Mark::Upward, "no north known: release upward"));
    }
    keys.extend(more);
    let at = if wide > 100.0 { [left, top + 0.5] } else { [0.5, top + 6.2] };
    let keys_high = legend(canvas, at, wide - 0.5, &keys);
    (at[1] + keys_high).max(top + 6.2) + 0.5
}
