//! What lies under a pixel.

use super::camera::Place;
use super::marks::Shown;
use super::view::Pick;

/// How far from an anchor, and from a leg, a click may be, pixels.
const ANCHOR_PX: f64 = 11.0;
const LEG_PX: f64 = 6.0;
/// Of anchors nearly under the pixel the one in front is meant.
const SAME_PX: f64 = 3.0;

impl Shown<'_> {
    /// The anchor under the pixel `at`, else the leg there; anchors in front go before those
    /// behind them.
    pub fn under(&self, at: [f64; 2]) -> Option<Pick> {
        self.anchor_under(at).or_else(|| self.leg_under(at))
    }

    fn name(&self, trail: usize) -> String {
        self.space.scene.trails[trail].name.clone()
    }

    fn on_picture(&self, place: Place) -> [f64; 3] {
        self.view.eye.project(place, self.size)
    }

    fn anchor_under(&self, [x, y]: [f64; 2]) -> Option<Pick> {
        let near = self.trails().flat_map(|trail| {
            let points = self.laid.points[trail].iter().enumerate();
            points.filter_map(move |(point, place)| {
                let [px, py, depth] = self.on_picture(*place);
                let away = (px - x).hypot(py - y);
                (away <= ANCHOR_PX).then_some((trail, point, (away / SAME_PX).floor(), depth))
            })
        });
        let first = near.min_by(|a, b| a.2.total_cmp(&b.2).then(a.3.total_cmp(&b.3)))?;
        Some(Pick::Anchor(self.name(first.0), first.1))
    }

    fn leg_under(&self, at: [f64; 2]) -> Option<Pick> {
        let near = self.trails().flat_map(|trail| {
            let legs = self.space.trails[trail].legs.iter().enumerate();
            legs.filter_map(move |(leg, known)| {
                let ends =
                    [known.from, known.to].map(|p| self.on_picture(self.laid.points[trail][p]));
                let away = from_segment(at, ends);
                (away <= LEG_PX).then_some((trail, leg, away))
            })
        });
        let first = near.min_by(|a, b| a.2.total_cmp(&b.2))?;
        Some(Pick::Leg(self.name(first.0), first.1))
    }
}

/// Pixels from a segment.
fn from_segment([x, y]: [f64; 2], [a, b]: [[f64; 3]; 2]) -> f64 {
    let along = [b[0] - a[0], b[1] - a[1]];
    let square = along[0].powi(2) + along[1].powi(2);
    let share = if square > 0.0 {
        (((x - a[0]) * along[0] + (y - a[1]) * along[1]) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (a[0] + share * along[0] - x).hypot(a[1] + share * along[1] - y)
}
