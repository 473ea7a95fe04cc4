//! The one palette: colours, dashes and symbols.
//!
//! Colours that stand side by side differ in lightness, so that grey print and readers who lack one
//! kind of cone tell them apart; categories have a symbol and a dash besides. The tests compute the
//! contrast.

/// A colour by its red, green and blue, 0 to 255.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

impl Colour {
    /// As a page wants it: `#rrggbb`.
    pub fn hex(self) -> String {
        format!("#{:02x}{:02x}{:02x}", self.0, self.1, self.2)
    }

    /// Mixed with white: 0 is white, 1 the colour itself.
    #[must_use]
    pub fn tint(self, strength: f64) -> Self {
        let mix = |channel: u8| {
            let mixed = 255.0 + (f64::from(channel) - 255.0) * strength.clamp(0.0, 1.0);
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 255")]
            let mixed = mixed.round() as u8;
            mixed
        };
        Self(mix(self.0), mix(self.1), mix(self.2))
    }
}

/// Text, axes and whatever has one colour only.
pub const INK: Colour = Colour(0x22, 0x26, 0x2c);
/// What stands back: ticks, gaps, frames.
pub const QUIET: Colour = Colour(0x6f, 0x75, 0x7d);
/// Grid lines and bands behind the marks.
pub const FAINT: Colour = Colour(0xd9, 0xdc, 0xe0);
/// The page.
pub const PAPER: Colour = Colour(0xff, 0xff, 0xff);
/// What must be seen first.
pub const ALERT: Colour = Colour(0xc4, 0x3d, 0x0c);

/// From the ground up: each darker than the one below.
const HEIGHTS: [Colour; 6] = [
    Colour(0xe6, 0xc4, 0x6a),
    Colour(0x8f, 0xae, 0x5c),
    Colour(0x3d, 0x8c, 0x78),
    Colour(0x29, 0x65, 0x8a),
    Colour(0x2a, 0x3f, 0x73),
    Colour(0x1d, 0x12, 0x36),
];

/// The colour of stratum `at` of `count`, the lowest first.
pub fn stratum(at: usize, count: usize) -> Colour {
    let last = count.saturating_sub(1);
    let steps = HEIGHTS.len() - 1;
    if last < steps {
        return HEIGHTS[at.min(steps)];
    }
    let place = at.min(last) as f64 * steps as f64 / last as f64;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 5")]
    let below = (place.floor() as usize).min(steps - 1);
    let part = place - below as f64;
    let mix = |a: u8, b: u8| {
        let mixed = f64::from(a) + (f64::from(b) - f64::from(a)) * part;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 255")]
        let mixed = mixed.round() as u8;
        mixed
    };
    let (a, b) = (HEIGHTS[below], HEIGHTS[below + 1]);
    Colour(mix(a.0, b.0), mix(a.1, b.1), mix(a.2, b.2))
}

/// A mark for one animal, place or value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is its name")]
pub enum Symbol {
    Circle,
    Triangle,
    Square,
    Diamond,
    Cross,
    Ring,
}

/// How one category is told from the others: by colour, symbol and dash, each of which is enough.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Its colour.
    pub colour: Colour,
    /// Its mark.
    pub symbol: Symbol,
    /// Its dash, millimetres on and off; none for a whole line.
    pub dash: &'static [f64],
}

/// Categories, in the order in which they are taken.
pub const CATEGORIES: [Look; 6] = [
    Look { colour: Colour(0x14, 0x32, 0x6e), symbol: Symbol::Circle, dash: &[] },
    Look { colour: Colour(0xd8, 0x6a, 0x12), symbol: Symbol::Triangle, dash: &[1.6, 0.8] },
    Look { colour: Colour(0x1f, 0x74, 0x62), symbol: Symbol::Square, dash: &[0.5, 0.7] },
    Look { colour: Colour(0x8c, 0xc4, 0xe8), symbol: Symbol::Diamond, dash: &[2.4, 0.7, 0.5, 0.7] },
    Look { colour: Colour(0x5b, 0x1a, 0x1a), symbol: Symbol::Ring, dash: &[3.0, 1.2] },
    Look { colour: Colour(0xa8, 0x8a, 0x5a), symbol: Symbol::Cross, dash: &[0.9, 0.5] },
];

/// The look of category `at`; more than six begin again, which the caller says.
pub fn category(at: usize) -> Look {
    CATEGORIES[at % CATEGORIES.len()]
}
