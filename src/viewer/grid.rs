//! The metre grid, and in a look from the side lines of height.

use super::camera::{Axes, Eye, Place, dot, minus, round_step};
use super::marks::{LINE_PX, Marks, Shown, Tube};
use crate::products::scene::palette::FAINT;

/// Within this tilt heights can be read off at the side, degrees.
const FROM_SIDE: f64 = 0.5;
/// Pixels between two lines of the grid, at least.
const GRID_PX: f64 = 55.0;
/// Most lines of a grid each way.
const MOST_LINES: f64 = 200.0;

/// The ranges of east, north and up, metres.
type Box3 = [[f64; 2]; 3];

impl Shown<'_> {
    /// The metre grid on the level of the lowest ground, a patch for each trail that stands by
    /// itself and has a north; or in a look from the side lines of height behind everything.
    pub(super) fn grid(&self, marks: &mut Marks) {
        let Some(whole) = around(self.points()).filter(|_| self.view.layers.grid) else { return };
        let eye = &self.view.eye;
        let least = GRID_PX * eye.metres_per_pixel(self.size);
        if eye.tilt.abs() <= FROM_SIDE {
            self.heights_behind(&whole, next_round(least / self.view.stretch), marks);
            return;
        }
        let has_north = |trail: &usize| self.space.scene.trails[*trail].oriented;
        if !self.trails().any(|trail| has_north(&trail)) {
            return;
        }
        let wide = whole[..2].iter().map(|[low, high]| high - low).fold(0.0, f64::max);
        marks.grid_m = next_round(least.max(wide / MOST_LINES));
        if !self.laid.apart {
            self.patch(&whole, marks);
            return;
        }
        for trail in self.trails().filter(has_north) {
            if let Some(own) = around(self.laid.points[trail].iter().copied()) {
                self.patch(&own, marks);
            }
        }
    }

    fn patch(&self, [east, north, _]: &Box3, marks: &mut Marks) {
        let step = marks.grid_m;
        let radius = self.thickness(LINE_PX);
        let [east, north] = [east, north]
            .map(|[low, high]| [(low / step).floor() * step, (high / step).ceil() * step]);
        // A hair below the ground, so that traces lie on it.
        let up = self.laid.floor - 0.5 * radius;
        for (range, other, along) in [(east, north, 0), (north, east, 1)] {
            for at in steps(range, step) {
                let ends = other.map(|end| if along == 0 { [at, end, up] } else { [end, at, up] });
                marks.lines.push(Tube { ends, radius, colour: FAINT });
            }
        }
    }

    fn heights_behind(&self, whole: &Box3, step: f64, marks: &mut Marks) {
        let eye = &self.view.eye;
        let radius = self.thickness(LINE_PX);
        let rise = (whole[2][1] - self.laid.floor) / self.view.stretch;
        for metres in steps([0.0, (rise / step).ceil() * step], step) {
            let up = self.laid.floor + metres * self.view.stretch;
            let ends = across(eye, &eye.axes(), whole, up);
            marks.lines.push(Tube { ends, radius, colour: FAINT });
            marks.heights.push((metres, ends[0]));
        }
    }
}

/// The box around places; none around none.
fn around(places: impl Iterator<Item = Place>) -> Option<Box3> {
    let mut whole = [[f64::INFINITY, f64::NEG_INFINITY]; 3];
    for place in places.filter(|place| place[0].is_finite()) {
        for (range, at) in whole.iter_mut().zip(place) {
            *range = [range[0].min(at), range[1].max(at)];
        }
    }
    (whole[0][0] <= whole[0][1]).then_some(whole)
}

/// 1, 2 or 5 times a power of ten, the least not below `least`.
fn next_round(least: f64) -> f64 {
    let below = round_step(least);
    if below >= least * (1.0 - 1e-9) { below } else { next_above(below) }
}

fn next_above(step: f64) -> f64 {
    let power = 10.0_f64.powf(step.log10().floor() + 1e-9);
    match (step / power).round() {
        times if times < 2.0 => 2.0 * step,
        times if times < 5.0 => 2.5 * step,
        _ => 2.0 * step,
    }
}

fn steps([low, high]: [f64; 2], step: f64) -> impl Iterator<Item = f64> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few hundred")]
    let count = ((high - low) / step).round().clamp(0.0, 2.0 * MOST_LINES) as usize;
    (0..=count).map(move |at| low + at as f64 * step)
}

/// A level line across all that is shown, behind it.
fn across(eye: &Eye, axes: &Axes, whole: &Box3, up: f64) -> [Place; 2] {
    let corners = [[0, 0], [0, 1], [1, 0], [1, 1]]
        .map(|[e, n]| minus([whole[0][e], whole[1][n], 0.0], eye.target));
    let range = |axis: Place| {
        let at = corners.map(|corner| dot([corner[0], corner[1], 0.0], axis));
        [
            at.iter().copied().fold(f64::INFINITY, f64::min),
            at.into_iter().fold(f64::NEG_INFINITY, f64::max),
        ]
    };
    let [left, right] = range(axes.across);
    let [_, far] = range(axes.into);
    let margin = 0.03 * (right - left).max(1.0);
    [left - margin, right + margin].map(|x| {
        let plan = |k: usize| eye.target[k] + x * axes.across[k] + (far + margin) * axes.into[k];
        [plan(0), plan(1), up]
    })
}
