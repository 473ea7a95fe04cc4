//! Where the points of each path stand in the picture's space.
//!
//! Trails that lie so far apart that each would be a speck, or that nothing places, stand side by
//! side at one scale, and so do all where one has no north. A trail without directions has no plan: it
//! is unrolled on a plane, with metres along the thread for east. Heights are stretched about the
//! lowest ground.

use super::camera::Place;
use super::view::View;
use crate::products::scene::{PointInSpace, Space, TrailScene};

/// Trails further apart than this many times the middle one's extent are specks. Common practice.
const SPECK: f64 = 5.0;

/// The points of all paths as they are drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Laid {
    /// Each trail's points.
    pub points: Vec<Vec<Place>>,
    /// The ground below each.
    pub feet: Vec<Vec<Place>>,
    /// Whether trails stand side by side.
    pub apart: bool,
    /// Elevation of the lowest ground, metres.
    pub floor: f64,
    offsets: Vec<[f64; 2]>,
    stretch: f64,
}

impl Laid {
    /// Lays out a space as `view` asks. It does not depend on which trails are shown, so that
    /// turning one off moves nothing.
    pub fn of(space: &Space, view: &View) -> Self {
        let trails = &space.scene.trails;
        let grounds = space.trails.iter().flat_map(|trail| trail.points.iter().map(|p| p.ground));
        let lowest = grounds.fold(f64::INFINITY, f64::min);
        let boxes: Vec<Box2> = trails.iter().map(|trail| around(trail, view.stretch)).collect();
        // Without a north of its own a trail shares no frame with others.
        let parted = trails.iter().any(|trail| !trail.oriented) && trails.len() > 1;
        let apart = parted || view.apart.unwrap_or_else(|| scattered(&boxes));
        let mut laid = Self {
            points: Vec::new(),
            feet: Vec::new(),
            apart,
            floor: if lowest.is_finite() { lowest } else { 0.0 },
            offsets: if apart { side_by_side(&boxes) } else { vec![[0.0; 2]; boxes.len()] },
            stretch: view.stretch,
        };
        for (at, trail) in trails.iter().enumerate() {
            let known = &space.trails[at];
            let [points, feet] = [false, true].map(|foot| {
                let of = |(point, known): (usize, &PointInSpace)| {
                    let [east, north, up] = plane(trail, point);
                    laid.place(at, [east, north, if foot { known.ground } else { up }])
                };
                known.points.iter().enumerate().map(of).collect()
            });
            laid.points.push(points);
            laid.feet.push(feet);
        }
        laid
    }

    /// A place of the survey's frame as it is drawn for `trail`.
    pub fn place(&self, trail: usize, [east, north, up]: Place) -> Place {
        let [e, n] = self.offsets[trail];
        [east + e, north + n, self.floor + (up - self.floor) * self.stretch]
    }

    /// A place along a thread at a height, for a trail that is unrolled.
    pub fn on_plane(&self, trail: usize, along: f64, up: f64) -> Place {
        self.place(trail, [along, 0.0, up])
    }

    /// A vector as it is drawn.
    pub fn vector(&self, [east, north, up]: Place) -> Place {
        [east, north, up * self.stretch]
    }
}

/// A point in plan, or where there is none, on the plane on which the trail is unrolled.
fn plane(trail: &TrailScene, point: usize) -> Place {
    let point = &trail.points[point];
    let [east, north, up] = point.position;
    if trail.has_plan { [east, north, up] } else { [point.along, 0.0, up] }
}

/// West, south, east, north, metres.
type Box2 = [f64; 4];

/// Aslant, heights on one plane hide what stands behind it, up to so many times their own metres.
const BEHIND: f64 = 1.6;

/// The box around a trail in plan; around an unrolled one with the room that its heights take aslant.
fn around(trail: &TrailScene, stretch: f64) -> Box2 {
    let none = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    let points = (0..trail.points.len()).map(|point| plane(trail, point));
    let found = points
        .filter(|p| p[0].is_finite())
        .fold(none, |b, [e, n, _]| [b[0].min(e), b[1].min(n), b[2].max(e), b[3].max(n)]);
    if found[0] > found[2] {
        return [0.0; 4];
    }
    if trail.has_plan {
        return found;
    }
    let highest = trail.points.iter().map(|point| point.height).fold(0.0, f64::max);
    [found[0], found[1], found[2], found[3] + BEHIND * stretch * highest]
}

fn extent(b: &Box2) -> f64 {
    (b[2] - b[0]).hypot(b[3] - b[1])
}

/// Whether trails lie so far apart that each would be a speck, or all begin at one point since
/// nothing places them.
fn scattered(boxes: &[Box2]) -> bool {
    if boxes.len() < 2 {
        return false;
    }
    let mut extents: Vec<f64> = boxes.iter().map(extent).collect();
    extents.sort_by(f64::total_cmp);
    let typical = extents[extents.len() / 2].max(1.0);
    let whole = boxes
        .iter()
        .fold(boxes[0], |w, b| [w[0].min(b[0]), w[1].min(b[1]), w[2].max(b[2]), w[3].max(b[3])]);
    let centred = |b: &Box2| b[0] <= 0.0 && b[2] >= 0.0 && b[1] <= 0.0 && b[3] >= 0.0;
    boxes.iter().all(centred) || extent(&whole) > SPECK * typical
}

/// Offsets that lay boxes out in rows about as long as they are together wide, the first in the
/// north-west.
fn side_by_side(boxes: &[Box2]) -> Vec<[f64; 2]> {
    let sides = boxes.iter().map(|b| [b[2] - b[0], b[3] - b[1]]);
    let total: f64 = sides.clone().map(|[wide, long]| wide + long).sum();
    let gap = (0.35 * total / (2.0 * boxes.len().max(1) as f64)).max(1.0);
    let area: f64 = sides.clone().map(|[wide, long]| (wide + gap) * (long + gap)).sum();
    let widest = sides.clone().map(|[wide, _]| wide).fold(0.0, f64::max);
    let row = widest.max(1.25 * area.sqrt());
    let [mut x, mut y, mut longest] = [0.0; 3];
    let mut offsets = Vec::with_capacity(boxes.len());
    for (b, [wide, long]) in boxes.iter().zip(sides) {
        if x > 0.0 && x + wide > row {
            [x, y, longest] = [0.0, y - longest - gap, 0.0];
        }
        offsets.push([x - b[0], y - b[3]]);
        x += wide + gap;
        longest = longest.max(long);
    }
    offsets
}
