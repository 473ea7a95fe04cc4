//! From where the space is looked at. The projection is parallel, so that one scale bar holds
//! everywhere; every function depends on what it is given alone.

use crate::maths::quantity::Bearing;

/// East, north and up, metres.
pub type Place = [f64; 3];

/// One of the six looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is its name")]
pub enum Look {
    Plan,
    North,
    East,
    South,
    West,
    Oblique,
}

impl Look {
    /// All six, in the order of their keys 1 to 6.
    pub const ALL: [Self; 6] =
        [Self::Plan, Self::North, Self::East, Self::South, Self::West, Self::Oblique];

    /// The name on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Plan => "plan",
            Self::North => "north",
            Self::East => "east",
            Self::South => "south",
            Self::West => "west",
            Self::Oblique => "oblique",
        }
    }

    /// What it is called on a button. Without a north the farthest point lies ahead of the release.
    pub const fn words(self, has_north: bool) -> &'static str {
        match (self, has_north) {
            (Self::Plan, _) => "from above",
            (Self::North, true) => "looking north",
            (Self::East, true) => "looking east",
            (Self::South, true) => "looking south",
            (Self::West, true) => "looking west",
            (Self::North, false) => "looking ahead",
            (Self::East, false) => "looking right",
            (Self::South, false) => "looking back",
            (Self::West, false) => "looking left",
            (Self::Oblique, _) => "aslant",
        }
    }

    /// The direction looked in, clockwise from north, and how far down, degrees.
    const fn angles(self) -> [f64; 2] {
        match self {
            Self::Plan => [0.0, 90.0],
            Self::North => [0.0, 0.0],
            Self::East => [90.0, 0.0],
            Self::South => [180.0, 0.0],
            Self::West => [270.0, 0.0],
            Self::Oblique => [340.0, 33.0],
        }
    }
}

/// Pixels across and down.
pub type Size = [f64; 2];

/// An onlooker at an infinite distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Eye {
    /// What stands in the middle of the picture.
    pub target: Place,
    /// The direction looked in, degrees clockwise from north.
    pub azimuth: f64,
    /// How far down, degrees: 90 from above.
    pub tilt: f64,
    /// Metres from the lower to the upper edge of the picture.
    pub metres_high: f64,
}

/// Unit vectors across the picture, up in it, and into it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Axes {
    /// To the right.
    pub across: Place,
    /// Up.
    pub up: Place,
    /// Away from the onlooker.
    pub into: Place,
}

/// Nothing is brought nearer, or taken farther, than this many metres of picture.
const NEAREST_M: f64 = 0.05;
const FARTHEST_M: f64 = 1e5;
/// A single anchor is shown with this much around it, metres.
const AROUND_ONE_M: f64 = 1.0;

impl Eye {
    /// An eye that looks as `look` says, at the origin.
    pub fn of(look: Look) -> Self {
        let [azimuth, tilt] = look.angles();
        Self { target: [0.0; 3], azimuth, tilt, metres_high: 20.0 }
    }

    /// The same place in the middle and the same scale, in another direction.
    #[must_use]
    pub fn turned_to(self, look: Look) -> Self {
        Self { azimuth: look.angles()[0], tilt: look.angles()[1], ..self }
    }

    /// Its axes.
    pub fn axes(&self) -> Axes {
        let (sa, ca) = Bearing::from_degrees(self.azimuth).to_radians().sin_cos();
        let (st, ct) = Bearing::from_degrees(self.tilt).to_radians().sin_cos();
        Axes { across: [ca, -sa, 0.0], up: [sa * st, ca * st, ct], into: [sa * ct, ca * ct, -st] }
    }

    /// Metres of a pixel.
    pub fn metres_per_pixel(&self, size: Size) -> f64 {
        self.metres_high / size[1].max(1.0)
    }

    /// Pixels from the left and from the top of the picture, and metres into it from the target.
    pub fn project(&self, place: Place, size: Size) -> [f64; 3] {
        let Axes { across, up, into } = self.axes();
        let from = minus(place, self.target);
        let scale = 1.0 / self.metres_per_pixel(size);
        [
            0.5 * size[0] + scale * dot(from, across),
            0.5 * size[1] - scale * dot(from, up),
            dot(from, into),
        ]
    }

    /// Turned by pixels of a drag: half a turn across the picture.
    #[must_use]
    pub fn orbited(self, [right, down]: [f64; 2], size: Size) -> Self {
        let degrees = 180.0 / size[1].max(1.0);
        Self {
            azimuth: (self.azimuth - right * degrees).rem_euclid(360.0),
            tilt: (self.tilt + down * degrees).clamp(-90.0, 90.0),
            ..self
        }
    }

    /// With the same heights in the middle when those above `floor` are drawn `times` taller.
    #[must_use]
    pub fn raised(self, floor: f64, times: f64) -> Self {
        let [east, north, up] = self.target;
        Self { target: [east, north, floor + (up - floor) * times], ..self }
    }

    /// Moved so that what lay under the pointer goes with it.
    #[must_use]
    pub fn panned(self, [right, down]: [f64; 2], size: Size) -> Self {
        let Axes { across, up, .. } = self.axes();
        let metres = self.metres_per_pixel(size);
        let moved = |axis: usize| metres * (down * up[axis] - right * across[axis]);
        Self { target: std::array::from_fn(|k| self.target[k] + moved(k)), ..self }
    }

    /// Nearer by `times`; what lies under the pixel `at` stays there.
    #[must_use]
    pub fn zoomed(self, times: f64, at: [f64; 2], size: Size) -> Self {
        let metres_high = (self.metres_high / times).clamp(NEAREST_M, FARTHEST_M);
        let nearer = Self { metres_high, ..self };
        let off = [at[0] - 0.5 * size[0], at[1] - 0.5 * size[1]];
        let times = self.metres_high / metres_high;
        nearer.panned(off.map(|off| off * (1.0 - times)), size)
    }

    /// Moved just so far that `place` stands in the picture, `margin` pixels from its edges.
    #[must_use]
    pub fn keeping(self, place: Place, size: Size, [left, top, right, bottom]: [f64; 4]) -> Self {
        let [x, y, _] = self.project(place, size);
        let into = |at: f64, low: f64, high: f64| at.min(high).max(low) - at;
        let moved = [into(x, left, size[0] - right), into(y, top, size[1] - bottom)];
        self.panned(moved, size)
    }

    /// The same direction, with all of `places` in the picture, `margin` pixels from its edges.
    #[must_use]
    pub fn framing(
        self,
        places: impl Iterator<Item = Place> + Clone,
        size: Size,
        margin: [f64; 4],
    ) -> Self {
        let axes = self.axes();
        let mut whole = [[f64::INFINITY, f64::NEG_INFINITY]; 3];
        for place in places.filter(|place| place.iter().all(|x| x.is_finite())) {
            for (range, axis) in whole.iter_mut().zip([axes.across, axes.up, axes.into]) {
                let at = dot(place, axis);
                *range = [range[0].min(at), range[1].max(at)];
            }
        }
        if whole[0][0] > whole[0][1] {
            return self;
        }
        let [left, top, right, bottom] = margin;
        let room = [(size[0] - left - right).max(20.0), (size[1] - top - bottom).max(20.0)];
        let span = |range: [f64; 2]| (range[1] - range[0]).max(AROUND_ONE_M);
        let metres = (span(whole[0]) / room[0]).max(span(whole[1]) / room[1]);
        // The middle of what is shown goes to the middle of the room that the margins leave.
        let off = [0.5 * (left - right) * metres, -0.5 * (top - bottom) * metres, 0.0];
        let middle: [f64; 3] = std::array::from_fn(|k| 0.5 * (whole[k][0] + whole[k][1]) - off[k]);
        let along = |k: usize| {
            middle[0] * axes.across[k] + middle[1] * axes.up[k] + middle[2] * axes.into[k]
        };
        Self { target: std::array::from_fn(along), metres_high: metres * size[1], ..self }
    }
}

/// The scalar product.
pub fn dot(a: Place, b: Place) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// `a` from `b`.
pub fn minus(a: Place, b: Place) -> Place {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// 1, 2 or 5 times a power of ten, the greatest not above `most`.
pub fn round_step(most: f64) -> f64 {
    let power = 10.0_f64.powf(most.max(1e-9).log10().floor());
    let fits = |times: &f64| times * power <= most * (1.0 + 1e-9);
    power * [5.0, 2.0, 1.0].into_iter().find(fits).unwrap_or(1.0)
}
