//! Names of trails and anchors over the picture, and what is told beside a mark. One that would run
//! into another is left out, the more telling is put first.

use super::camera::{Place, Size, dot};
use super::marks::Shown;
use super::overlay::{Align, Overlay, Setting, Text};
use crate::maths::quantity::metres;
use crate::products::scene::TrailScene;
use crate::products::scene::palette::{ALERT, Colour, INK, QUIET};

/// An anchor is named where its neighbours on the picture leave it this many pixels.
const ROOM_PX: f64 = 30.0;
/// With more trails than this none is named but by the panel.
const MOST_NAMES: usize = 60;
/// With more anchors than this none is named.
const MOST_ANCHORS: usize = 5_000;

impl Shown<'_> {
    /// Everything that is written beside what it tells of.
    pub(super) fn names(&self, overlay: &mut Overlay, setting: Setting<'_>) {
        let mut free = Free::over(overlay, self.size, setting);
        if let (Some([at, _]), Some(height)) = (self.walked(), self.walked_height()) {
            free.beside(self.pixel(at), &format!("{} up", metres(height)), INK);
        }
        for (open, [_, tip]) in self.open_ends() {
            let off = dot(open.vector, open.vector).sqrt();
            free.beside(self.pixel(tip), &format!("{} off", metres(off)), ALERT);
        }
        if self.view.layers.labels {
            self.trail_names(&mut free);
            self.anchor_names(&mut free);
        }
    }

    fn pixel(&self, place: Place) -> [f64; 2] {
        let [x, y, _] = self.view.eye.project(place, self.size);
        [x, y]
    }

    /// At their releases.
    fn trail_names(&self, free: &mut Free<'_, '_>) {
        if self.trails().count() > MOST_NAMES {
            return;
        }
        for trail in self.trails() {
            let TrailScene { name, has_plan, oriented, .. } = &self.space.scene.trails[trail];
            let is_free = *has_plan && !oriented;
            let words = if is_free { format!("{name} (no north)") } else { name.clone() };
            if let Some(place) = self.laid.points[trail].first() {
                free.beside(self.pixel(*place), &words, INK);
            }
        }
    }

    fn anchor_names(&self, free: &mut Free<'_, '_>) {
        let anchors = self.trails().map(|trail| self.laid.points[trail].len()).sum::<usize>();
        for trail in self.trails().filter(|_| anchors <= MOST_ANCHORS) {
            let on_picture: Vec<[f64; 2]> =
                self.laid.points[trail].iter().map(|place| self.pixel(*place)).collect();
            for (point, [x, y]) in on_picture.iter().copied().enumerate() {
                let neighbours = [point.checked_sub(1), Some(point + 1)];
                let gap = neighbours.into_iter().flatten().filter_map(|n| on_picture.get(n));
                let roomy = gap.map(|[a, b]| (a - x).hypot(b - y)).fold(f64::INFINITY, f64::min);
                if roomy < ROOM_PX {
                    continue;
                }
                let text = self.space.scene.trails[trail].points[point].name.clone();
                let setting = free.setting;
                let width = (setting.width)(&text, false);
                let [dx, dy] = away([x, y], point, &on_picture);
                let at = [x + dx * (0.5 * width + 7.0), y + dy * (0.45 * setting.line + 5.0)];
                let align = Align::Middle;
                free.put(Text { at, text, bold: false, colour: QUIET, align });
            }
        }
    }
}

/// What is still free of a picture.
struct Free<'a, 's> {
    overlay: &'a mut Overlay,
    taken: Vec<[f64; 4]>,
    size: Size,
    setting: Setting<'s>,
}

impl<'a, 's> Free<'a, 's> {
    fn over(overlay: &'a mut Overlay, size: Size, setting: Setting<'s>) -> Self {
        let taken = overlay.texts.iter().map(|text| around(text, setting)).collect();
        Self { overlay, taken, size, setting }
    }

    /// Writes a text where it is free; whether it was.
    fn put(&mut self, text: Text) -> bool {
        let own = around(&text, self.setting);
        let inside = own[0] >= self.setting.left
            && own[1] >= 0.0
            && own[2] <= self.size[0]
            && own[3] <= self.size[1];
        let free =
            |b: &[f64; 4]| own[2] <= b[0] || b[2] <= own[0] || own[3] <= b[1] || b[3] <= own[1];
        let there = inside && self.taken.iter().all(free);
        if there {
            self.taken.push(own);
            self.overlay.add(text);
        }
        there
    }

    /// Words beside a mark, on the first side of it that is free.
    fn beside(&mut self, [x, y]: [f64; 2], words: &str, colour: Colour) {
        let [right, down] = [0.6 * self.setting.line, 0.7 * self.setting.line];
        let sides = [(1.0, -1.0), (1.0, 1.0), (-1.0, -1.0), (-1.0, 1.0)];
        let _written = sides.into_iter().any(|(across, below)| {
            let align = if across > 0.0 { Align::Left } else { Align::Right };
            let at = [x + across * right, y + below * down];
            self.put(Text { at, text: words.to_owned(), bold: true, colour, align })
        });
    }
}

/// The direction on the picture away from the legs that meet at a point.
fn away([x, y]: [f64; 2], point: usize, on_picture: &[[f64; 2]]) -> [f64; 2] {
    let neighbours = [point.checked_sub(1), Some(point + 1)].into_iter().flatten();
    let mut sum = [0.0, 0.0];
    for [a, b] in neighbours.filter_map(|at| on_picture.get(at)) {
        let length = (a - x).hypot(b - y).max(1e-9);
        sum = [sum[0] - (a - x) / length, sum[1] - (b - y) / length];
    }
    let length = sum[0].hypot(sum[1]);
    // Beside a straight path any side will do.
    if length < 0.3 { [0.8, 0.8] } else { [sum[0] / length, sum[1] / length] }
}

/// Left, top, right and bottom of a text.
fn around(text: &Text, setting: Setting<'_>) -> [f64; 4] {
    let width = (setting.width)(&text.text, text.bold);
    let left = match text.align {
        Align::Left => text.at[0],
        Align::Middle => text.at[0] - 0.5 * width,
        Align::Right => text.at[0] - width,
    };
    let half = 0.45 * setting.line;
    [left, text.at[1] - half, left + width, text.at[1] + half]
}
