//! What plan and panel share: the trails that have a plan, the view from above, the regions of
//! doubt, and what stands below.

use super::NotDrawn;
use super::axes::{north, scale_bar};
use super::canvas::{Canvas, Spot};
use super::frames::extent;
use super::legend::{Key, Mark, legend};
use super::marks::{DOUBT, keys};
use crate::scene::{Scene, ScenePoint, TrailScene};
use nalgebra::Matrix2;

/// The trails of which a plan is known, without which there is no `what`.
pub(super) fn with_plan<'s>(scene: &'s Scene, what: &str) -> Result<Vec<&'s TrailScene>, NotDrawn> {
    let trails: Vec<&TrailScene> = scene.trails.iter().filter(|trail| trail.has_plan).collect();
    if trails.is_empty() {
        return Err(NotDrawn::because(format!(
            "no trail has bearings, and {what} needs them; profile draws heights without"
        )));
    }
    Ok(trails)
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
/// small to be seen and those that lie within the one before are left out.
pub(super) fn doubt(canvas: &mut Canvas, trail: &TrailScene, view: &View) {
    let mut last: Option<Spot> = None;
    let mut regions = Vec::new();
    for point in &trail.points {
        let Some(axes) = point.walked.as_ref().and_then(half_axes) else { continue };
        let [a, b] = axes.map(|[east, north]| [east * view.mm_per_m, -north * view.mm_per_m]);
        let least = a[0].hypot(a[1]).min(b[0].hypot(b[1]));
        let at = view.place(point.position);
        let apart = last.map_or(f64::INFINITY, |last| (at[0] - last[0]).hypot(at[1] - last[1]));
        if least.max(0.5 * a[0].hypot(a[1]).max(b[0].hypot(b[1]))) < 0.2 || apart < 0.5 * least {
            continue;
        }
        regions.push((at, [a, b]));
        last = Some(at);
    }
    canvas.ovals(&regions, DOUBT);
}

/// How far the region of doubt of a point reaches, metres.
fn reach(point: &ScenePoint) -> f64 {
    let axes = point.walked.as_ref().and_then(half_axes).unwrap_or_default();
    axes.iter().map(|[east, north]| east.hypot(*north)).fold(0.0, f64::max)
}

/// The box around trails and their regions of doubt in plan, metres: west, south, east, north.
pub(super) fn around<'a>(trails: impl IntoIterator<Item = &'a TrailScene>) -> [f64; 4] {
    extent(trails.into_iter().flat_map(|trail| &trail.points).flat_map(|point| {
        let ([e, n, _], reach) = (point.position, reach(point));
        [[e - reach, n - reach], [e + reach, n + reach]]
    }))
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

    /// Where a place in space stands on the page.
    pub(super) fn place(&self, [east, north, ..]: [f64; 3]) -> Spot {
        [
            self.centre[0] + (east - self.origin[0]) * self.mm_per_m,
            self.centre[1] - (north - self.origin[1]) * self.mm_per_m,
        ]
    }
}

/// Scale bar, north arrow and keys below maps that end at `high`; gives the height of the page.
pub(super) fn foot(
    canvas: &mut Canvas,
    scene: &Scene,
    trails: &[&TrailScene],
    (wide, high, mm_per_m): (f64, f64, f64),
    more: Vec<Key>,
) -> f64 {
    let top = high + 2.0;
    let mut left = 0.5;
    if trails.iter().all(|trail| trail.oriented) {
        left += north(canvas, [left, top + 5.2]) + 3.0;
    }
    left += scale_bar(canvas, [left, top + 5.0], mm_per_m, 0.2 * wide) + 5.0;
    let mut keys = keys(scene, trails);
    if trails.iter().any(|trail| trail.points.iter().any(|point| point.walked.is_some())) {
        keys.push(Key::new(Mark::Block(DOUBT), "95 % region against the release"));
    }
    keys.extend(more);
    let at = if wide > 100.0 { [left, top + 0.5] } else { [0.5, top + 6.2] };
    let keys_high = legend(canvas, at, wide - 0.5, &keys);
    (at[1] + keys_high).max(top + 6.2) + 0.5
}
