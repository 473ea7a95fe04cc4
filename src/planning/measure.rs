//! A true path as the instruments would have it on the field sheet.

use super::dice::Dice;
use super::truth::Mark;
use crate::quantity::{Bearing, Incline, Turn};
use crate::survey::settings::Precision;

/// How readings are written down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Writing {
    /// As people write: tape to 0.01 m, angles to 1°, heights to 0.05 m or 0.1 m.
    Field,
    /// So finely that rounding does not show: for tests of the arithmetic.
    Fine,
}

/// How often a reading that cannot be right is taken again before it is let stand.
const AGAIN: usize = 200;

/// A height further off than this, in standard deviations, would leave the next anchor no height
/// that fits both: it would be seen in the field.
const LIKELY: f64 = 2.0;

/// What the instruments are and how they are read.
#[derive(Clone, Copy, Debug)]
pub struct Instruments<'a> {
    /// Their precisions.
    pub precision: &'a Precision,
    /// Whether each leg's incline is read too.
    pub clinometer: bool,
    /// How readings are written.
    pub writing: Writing,
}

/// The readings of one leg or tie, as written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Written {
    /// Metres.
    pub tape: String,
    /// Degrees, true north; blank along a trunk.
    pub bearing: String,
    /// Degrees, up positive; blank without a clinometer.
    pub incline: String,
}

impl Instruments<'_> {
    /// A height as read.
    pub fn height(&self, mark: &Mark, dice: &mut Dice) -> String {
        let read = mark.height + dice.normal(self.precision.height(mark.height, None));
        if self.writing == Writing::Fine {
            return format!("{read:.6}");
        }
        // Where the animal sits on the ground nobody measures.
        let read = if mark.height == 0.0 { 0.0 } else { read.max(0.0) };
        let step = if read < 2.0 { 0.05 } else { 0.1 };
        self.written(read, step, 2)
    }

    /// A height as read at `mark` after the height `before` was read at `from`. One that the thread
    /// cannot reach, or that leaves a trunk leaning, is read again, as in the field; so is one that
    /// the thread to the ground, `after` it, cannot reach.
    pub fn next_height(
        &self,
        [from, mark]: [&Mark; 2],
        after: Option<&Mark>,
        before: f64,
        dice: &mut Dice,
    ) -> String {
        let length = distance(from, mark);
        let ground = after.filter(|after| after.height == 0.0);
        let lands = |read: f64| {
            ground.is_none_or(|to| self.fits(distance(mark, to), [read, 0.0], to.plumb))
        };
        for _ in 0..AGAIN {
            let height = self.height(mark, dice);
            let read: f64 = height.parse().unwrap_or(0.0);
            let sd = self.precision.height(mark.height, None);
            let likely = self.writing == Writing::Fine || (read - mark.height).abs() < LIKELY * sd;
            if likely && self.fits(length, [before, read], mark.plumb) && lands(read) {
                return height;
            }
        }
        // The height before was far off: this one is then taped from there.
        self.written((before + mark.height - from.height).max(0.0), 0.05, 2)
    }

    /// Whether a length reaches from one height to the other and, along a trunk, leaves room for no
    /// more than its lean and two standard deviations.
    fn fits(&self, length: f64, heights: [f64; 2], plumb: bool) -> bool {
        let climb = (heights[1] - heights[0]).abs();
        let [a, b] = heights.map(|height| self.precision.height(height, None));
        let spread = 2.0 * (length * self.precision.tape(length)).hypot(climb * a.hypot(b));
        let lean = (3.0 * self.precision.plumb_m).powi(2) + 2.0 * spread;
        let straight = length * length - climb * climb <= lean;
        // Finely written, only what would change the kind of leg is read again: all else is noise.
        let reaches =
            self.writing == Writing::Fine || climb - length <= self.precision.tape(length);
        reaches && (straight || !plumb)
    }

    /// A leg as read between two anchors whose heights were read as `heights`. A tape that does not
    /// fit them is read again.
    pub fn leg(&self, ends: [&Mark; 2], heights: [f64; 2], dice: &mut Dice) -> Written {
        let mut written = self.line(ends, dice);
        for _ in 0..AGAIN {
            let tape: f64 = written.tape.parse().unwrap_or(0.0);
            if self.fits(tape, heights, ends[1].plumb) {
                break;
            }
            written = self.line(ends, dice);
        }
        if ends[1].plumb {
            written.bearing.clear();
        }
        written
    }

    /// A line as read from either end. A needle that does not fit there and back within two and a
    /// half of their standard deviations is read again, as in the field.
    pub fn there_and_back(&self, [from, to]: [&Mark; 2], dice: &mut Dice) -> [Written; 2] {
        const FITS: f64 = 2.5;
        let run = (to.at[0] - from.at[0]).hypot(to.at[1] - from.at[1]).max(0.02);
        let sd = Turn::from_radians(self.sideways(run) / run).to_degrees();
        let there = self.line([from, to], dice);
        let mut back = self.line([to, from], dice);
        for _ in 0..AGAIN {
            let needle =
                |line: &Written| Bearing::from_degrees(line.bearing.parse().unwrap_or(0.0));
            let off = needle(&back).reversed().turn_from(needle(&there)).to_degrees();
            if self.writing == Writing::Fine || off.abs() < FITS * std::f64::consts::SQRT_2 * sd {
                break;
            }
            back = self.line([to, from], dice);
        }
        [there, back]
    }

    /// Standard deviation of a needle's sideways error at the far end of a run, metres.
    fn sideways(&self, run: f64) -> f64 {
        let angle = Turn::from_degrees(self.precision.bearing_deg).to_radians();
        (run * angle).hypot(self.precision.anchor_m)
    }

    /// A line as read, wherever it leads.
    pub fn line(&self, [from, to]: [&Mark; 2], dice: &mut Dice) -> Written {
        let d: [f64; 3] = std::array::from_fn(|k| to.at[k] - from.at[k]);
        let run = d[0].hypot(d[1]);
        let length = run.hypot(d[2]);
        let p = self.precision;
        let off = dice.normal(self.sideways(run)) / run.max(0.02);
        let bearing = Bearing::from_radians(d[0].atan2(d[1]) + off).to_degrees();
        let incline = Incline::of_rise(d[2], run).to_degrees() + dice.normal(p.incline_deg);
        let bearing = match self.writing {
            Writing::Field => (bearing.round()).rem_euclid(360.0),
            Writing::Fine => bearing,
        };
        Written {
            tape: self.written((length + dice.normal(p.tape(length))).max(0.05), 0.01, 2),
            bearing: self.written(bearing, 1.0, 0),
            incline: if self.clinometer {
                self.written(incline.clamp(-90.0, 90.0), 1.0, 0)
            } else {
                String::new()
            },
        }
    }

    fn written(&self, value: f64, step: f64, decimals: usize) -> String {
        match self.writing {
            Writing::Field => {
                let rounded = (value / step).round() * step;
                let rounded = if rounded == 0.0 { 0.0 } else { rounded }; // no minus zero
                format!("{rounded:.decimals$}")
            }
            Writing::Fine => format!("{value:.6}"),
        }
    }
}

fn distance(from: &Mark, to: &Mark) -> f64 {
    let d: [f64; 3] = std::array::from_fn(|k| to.at[k] - from.at[k]);
    d[0].hypot(d[1]).hypot(d[2])
}
