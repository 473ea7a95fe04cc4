//! A true path as the instruments would have it on the field sheet.

use super::dice::Dice;
use super::truth::Mark;
use crate::maths::quantity::{Bearing, Incline, Turn};
use crate::survey::settings::Precision;

/// How readings are written down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Writing {
    /// As people write: tape to 0.01 m, angles to 1°, heights to 0.05 m or 0.1 m.
    Field,
    /// So finely that rounding does not show: for tests of the arithmetic.
    Fine,
}

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

/// Steps to which people write: tapes, heights under [`COARSE_FROM_M`] and over it, metres; angles,
/// degrees.
const TAPE_STEP: f64 = 0.01;
const HEIGHT_STEPS: [f64; 2] = [0.05, 0.1];
const COARSE_FROM_M: f64 = 2.0;
const ANGLE_STEP: f64 = 1.0;

/// Every reading errs by itself, by what is stated and no more: none is read again because it fits
/// ill with another, which would tie the errors of neighbours together.
impl Instruments<'_> {
    /// A height as read. Where the animal sits on the ground nobody measures: 0 is written.
    pub fn height(&self, mark: &Mark, dice: &mut Dice) -> String {
        let step = HEIGHT_STEPS[usize::from(mark.height >= COARSE_FROM_M)];
        let sd = self.precision.height(mark.height, None);
        let read = mark.height + self.error(sd, step, dice);
        if self.writing == Writing::Fine {
            return format!("{read:.6}");
        }
        let read = if mark.height == 0.0 { 0.0 } else { read.max(0.0) };
        self.written(read, step, 2)
    }

    /// A leg as read; along a trunk nobody reads a needle.
    pub fn leg(&self, ends: [&Mark; 2], dice: &mut Dice) -> Written {
        let mut written = self.line(ends, dice);
        if ends[1].plumb {
            written.bearing.clear();
        }
        written
    }

    /// A line as read from either end.
    pub fn there_and_back(&self, [from, to]: [&Mark; 2], dice: &mut Dice) -> [Written; 2] {
        [self.line([from, to], dice), self.line([to, from], dice)]
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
        let off = Turn::from_radians(self.sideways(run) / run.max(0.02)).to_degrees();
        let off = self.error(off, ANGLE_STEP, dice);
        let bearing = Bearing::from_radians(d[0].atan2(d[1])).to_degrees() + off;
        let incline = Incline::of_rise(d[2], run).to_degrees();
        let incline = incline + self.error(p.incline_deg, ANGLE_STEP, dice);
        let tape = length + self.error(p.tape(length), TAPE_STEP, dice);
        let bearing = match self.writing {
            Writing::Field => bearing.round(),
            Writing::Fine => bearing,
        };
        Written {
            tape: self.written(tape.max(0.05), TAPE_STEP, 2),
            bearing: self.written(bearing.rem_euclid(360.0), ANGLE_STEP, 0),
            incline: if self.clinometer {
                self.written(incline.clamp(-90.0, 90.0), ANGLE_STEP, 0)
            } else {
                String::new()
            },
        }
    }

    /// An error of this standard deviation. What rounding to `step` adds is part of it.
    ///
    /// ```text
    /// σ² = σ(read)² + step² / 12
    /// ```
    fn error(&self, sd: f64, step: f64, dice: &mut Dice) -> f64 {
        let rounding = match self.writing {
            Writing::Field => step * step / 12.0,
            Writing::Fine => 0.0,
        };
        dice.normal((sd * sd - rounding).max(0.0).sqrt())
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
