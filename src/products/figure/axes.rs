//! Scales with round ticks, and the two axes of a plot.

use super::canvas::{Area, Canvas, Side, Spot, Stroke, TEXT};
use crate::maths::quantity::plain;
use crate::products::scene::palette::{FAINT, INK, QUIET};

/// A straight scale from values to millimetres of the page.
#[derive(Clone, Debug)]
pub(super) struct Scale {
    from: f64,
    to: f64,
    start: f64,
    end: f64,
    step: f64,
}

impl Scale {
    /// From the value `from` at `start` to `to` at `end`, exactly; ticks about `apart` millimetres
    /// from each other.
    pub(super) fn new([from, to]: [f64; 2], [start, end]: [f64; 2], apart: f64) -> Self {
        let to = if to - from > 1e-9 { to } else { from + 1.0 };
        let count = ((end - start).abs() / apart).max(1.0);
        Self { from, to, start, end, step: round_step((to - from) / count) }
    }

    /// The same, widened so that it begins and ends at a tick.
    pub(super) fn whole(values: [f64; 2], page: [f64; 2], apart: f64) -> Self {
        let first = Self::new(values, page, apart);
        let step = first.step;
        let slack = 1e-6 * step;
        let from = ((first.from + slack) / step).floor() * step;
        let to = ((first.to - slack) / step).ceil() * step;
        Self { from, to, ..first }
    }

    /// A scale of angles: ticks every 30°.
    pub(super) fn degrees([from, to]: [f64; 2], [start, end]: [f64; 2]) -> Self {
        Self { from, to, start, end, step: 30.0 }
    }

    /// Where a value stands.
    pub(super) fn at(&self, value: f64) -> f64 {
        self.start + (value - self.from) / (self.to - self.from) * (self.end - self.start)
    }

    /// Its ends.
    pub(super) fn ends(&self) -> [f64; 2] {
        [self.from, self.to]
    }

    /// Millimetres of the page to a unit.
    pub(super) fn mm_per_unit(&self) -> f64 {
        ((self.end - self.start) / (self.to - self.from)).abs()
    }

    /// Its ticks.
    pub(super) fn ticks(&self) -> Vec<f64> {
        let slack = 1e-6 * self.step;
        let first = ((self.from - slack) / self.step).ceil();
        let count = ((self.to + slack) / self.step - first).floor().clamp(0.0, 200.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 200")]
        let count = count as usize;
        (0..=count).map(|at| (first + at as f64) * self.step).collect()
    }

    /// A tick as it is printed: no more decimals than the steps need.
    pub(super) fn words(&self, tick: f64) -> String {
        plain(tick, decimals(self.step)).replace('-', "−")
    }
}

/// The decimals in which steps of 1, 2 or 5 times a power of ten are told apart.
pub(super) fn decimals(step: f64) -> usize {
    (0..6)
        .find(|&digits| {
            let shifted = step * 10.0_f64.powi(digits);
            (shifted - shifted.round()).abs() < 1e-6 * shifted
        })
        .and_then(|digits| usize::try_from(digits).ok())
        .unwrap_or(6)
}

/// The smallest of 1, 2, 5 times a power of ten that is at least `least`.
pub(super) fn round_step(least: f64) -> f64 {
    if !least.is_finite() || least <= 0.0 {
        return 1.0;
    }
    let power = 10.0_f64.powf(least.log10().floor());
    let step = [1.0, 2.0, 5.0].into_iter().find(|step| step * power >= least * (1.0 - 1e-9));
    step.unwrap_or(10.0) * power
}

/// Thickness of axes.
pub(super) const AXIS: Stroke = Stroke::new(INK, 0.2);
const TICK_MM: f64 = 0.9;
/// From a tick to its number below it: the number at the corner keeps clear of that at the left.
const NUMBER_MM: f64 = 1.0;

/// What stands along an axis.
#[derive(Clone, Copy)]
pub(super) struct Axis<'a> {
    pub(super) scale: &'a Scale,
    /// What it measures, with its unit; blank for none.
    pub(super) title: &'a str,
    /// Whether ticks have numbers.
    pub(super) numbers: bool,
}

/// Millimetres that the numbers of an upright axis take.
pub(super) fn number_room(scale: &Scale) -> f64 {
    let widths = scale.ticks().into_iter().map(|tick| TEXT.width(&scale.words(tick)));
    widths.fold(0.0, f64::max) + TICK_MM + 0.7
}

/// Millimetres below a plot for its numbers, and for its title if it has one.
pub(super) fn foot_room(title: bool) -> f64 {
    TICK_MM + NUMBER_MM + TEXT.leading() * if title { 2.1 } else { 1.0 }
}

/// The axis below a plot.
pub(super) fn below(canvas: &mut Canvas, area: Area, axis: Axis<'_>) {
    canvas.line(&[[area.left, area.bottom], [area.right, area.bottom]], AXIS);
    let line = area.bottom + TICK_MM + NUMBER_MM + TEXT.rise();
    let mut free = f64::NEG_INFINITY;
    for tick in axis.scale.ticks() {
        let x = axis.scale.at(tick);
        canvas.line(&[[x, area.bottom], [x, area.bottom + TICK_MM]], AXIS);
        let words = axis.scale.words(tick);
        let half = 0.5 * TEXT.width(&words);
        if axis.numbers && x - half > free {
            canvas.text([x, line], &words, TEXT.side(Side::Middle));
            free = x + half + 0.8;
        }
    }
    if !axis.title.is_empty() {
        let at = [area.middle()[0], line + TEXT.leading() * 1.1];
        title(canvas, at, axis.title, area.width().max(TEXT.width(axis.title)));
    }
}

fn title(canvas: &mut Canvas, at: Spot, words: &str, room: f64) {
    let words = super::font::fitted(words, TEXT.points, false, room);
    canvas.text(at, &words, TEXT.side(Side::Middle));
}

/// The axis at the left of a plot; its title reads upwards.
pub(super) fn left(canvas: &mut Canvas, area: Area, axis: Axis<'_>) {
    canvas.line(&[[area.left, area.top], [area.left, area.bottom]], AXIS);
    for tick in axis.scale.ticks() {
        let y = axis.scale.at(tick);
        canvas.line(&[[area.left - TICK_MM, y], [area.left, y]], AXIS);
        if axis.numbers {
            let at = [area.left - TICK_MM - 0.6, y];
            canvas.text_level(at, &axis.scale.words(tick), TEXT.side(Side::End));
        }
    }
    if !axis.title.is_empty() {
        let at = [area.left - number_room(axis.scale) - 1.0, area.middle()[1]];
        canvas.text_upward(at, axis.title, TEXT);
    }
}

/// Faint lines across a plot at the ticks of its upright axis.
pub(super) fn grid(canvas: &mut Canvas, area: Area, scale: &Scale) {
    for tick in scale.ticks() {
        let y = scale.at(tick);
        canvas.line(&[[area.left, y], [area.right, y]], Stroke::new(FAINT, 0.15));
    }
}

/// A scale bar of a round length, its lower left end at `at`; gives its width in millimetres.
pub(super) fn scale_bar(canvas: &mut Canvas, at: Spot, mm_per_m: f64, most_mm: f64) -> f64 {
    let metres = bar_metres(mm_per_m, most_mm);
    let wide = metres * mm_per_m;
    let [x, y] = at;
    canvas.line(&[[x, y - 0.8], [x, y], [x + wide, y], [x + wide, y - 0.8]], Stroke::new(INK, 0.3));
    let words = format!("{} m", plain(metres, decimals(metres)));
    canvas.text([x + wide + 1.0, y + 0.3], &words, TEXT);
    wide + 1.0 + TEXT.width(&words)
}

/// The longest round length that takes no more than `most_mm`.
pub(super) fn bar_metres(mm_per_m: f64, most_mm: f64) -> f64 {
    let most = most_mm / mm_per_m;
    let power = 10.0_f64.powf(most.log10().floor());
    let fits = [5.0, 2.0, 1.0].into_iter().find(|step| step * power <= most * (1.0 + 1e-9));
    fits.unwrap_or(1.0) * power
}

/// An arrow to the north; gives its width in millimetres.
pub(super) fn north(canvas: &mut Canvas, at: Spot) -> f64 {
    let [x, y] = at;
    let x = x + 1.0;
    let tip = y - 5.2;
    canvas.line(&[[x, y], [x, tip + 1.2]], Stroke::new(INK, 0.25));
    canvas.fill(&[[x, tip], [x + 0.75, tip + 1.9], [x, tip + 1.4], [x - 0.75, tip + 1.9]], INK);
    canvas.text([x + 1.2, y], "N", TEXT.bold());
    3.4
}

/// A hairline box about an area.
pub(super) fn frame(canvas: &mut Canvas, area: Area) {
    let (l, t, r, b) = (area.left, area.top, area.right, area.bottom);
    canvas.line(&[[l, t], [r, t], [r, b], [l, b], [l, t]], Stroke::new(QUIET, 0.12));
}
