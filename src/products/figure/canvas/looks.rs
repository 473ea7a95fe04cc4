//! How a line is drawn and how a text is set.

use super::area::{Area, Spot};
use crate::products::figure::font::{POINT, SMALLEST, width};
use crate::products::scene::palette::{Colour, INK};

/// How a line is drawn.
#[derive(Clone, Copy, Debug)]
pub(in crate::products::figure) struct Stroke {
    pub(in crate::products::figure) colour: Colour,
    pub(in crate::products::figure) width: f64,
    pub(in crate::products::figure) dash: &'static [f64],
}

impl Stroke {
    pub(in crate::products::figure) const fn new(colour: Colour, width: f64) -> Self {
        Self { colour, width, dash: &[] }
    }

    pub(in crate::products::figure) const fn dashed(self, dash: &'static [f64]) -> Self {
        Self { dash, ..self }
    }
}

/// Where a text stands against its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::products::figure) enum Side {
    Start,
    Middle,
    End,
}

/// How a text is set.
#[derive(Clone, Copy, Debug)]
pub(in crate::products::figure) struct Type {
    pub(in crate::products::figure) points: f64,
    pub(in crate::products::figure) bold: bool,
    pub(in crate::products::figure) colour: Colour,
    pub(in crate::products::figure) side: Side,
}

/// The usual text.
pub(in crate::products::figure) const TEXT: Type =
    Type { points: SMALLEST, bold: false, colour: INK, side: Side::Start };

impl Type {
    pub(in crate::products::figure) const fn bold(self) -> Self {
        Self { bold: true, ..self }
    }

    pub(in crate::products::figure) const fn side(self, side: Side) -> Self {
        Self { side, ..self }
    }

    pub(in crate::products::figure) const fn colour(self, colour: Colour) -> Self {
        Self { colour, ..self }
    }

    /// How wide a text is, millimetres.
    pub(in crate::products::figure) fn width(self, text: &str) -> f64 {
        width(text, self.points, self.bold)
    }

    /// How far its letters rise over the line, millimetres.
    pub(in crate::products::figure) fn rise(self) -> f64 {
        0.76 * self.points * POINT
    }

    /// From one line to the next, millimetres.
    pub(in crate::products::figure) fn leading(self) -> f64 {
        1.22 * self.points * POINT
    }

    /// The box of a text whose line begins, is centred or ends at `at`.
    pub(in crate::products::figure) fn area(self, at: Spot, text: &str) -> Area {
        let wide = self.width(text);
        let left = match self.side {
            Side::Start => at[0],
            Side::Middle => at[0] - 0.5 * wide,
            Side::End => at[0] - wide,
        };
        let fall = 0.22 * self.points * POINT;
        Area::new(left, at[1] - self.rise(), wide, self.rise() + fall)
    }
}
