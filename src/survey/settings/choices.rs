//! Settings that are one word of a few.

use serde::{Serialize, Serializer};

/// A setting that is one word of a few.
pub(super) trait Choice {
    /// The words it may be.
    fn words(&self) -> &'static [&'static str];
    /// The word it is.
    fn word(&self) -> &'static str;
    /// Makes it the thing called `word`, and returns whether there is one.
    fn choose(&mut self, word: &str) -> bool;
}

/// Declares choices with their words, so that the two cannot drift apart; the first is the default.
macro_rules! choices {
    ($($(#[$doc:meta])* $choice:ident { $($(#[$about:meta])* $variant:ident = $word:literal,)* })*) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum $choice { $($(#[$about])* $variant,)* }

        impl $choice {
            const ALL: &'static [Self] = &[$(Self::$variant,)*];
            const WORDS: &'static [&'static str] = &[$($word,)*];
        }

        impl Default for $choice {
            fn default() -> Self {
                Self::ALL[0]
            }
        }

        impl Choice for $choice {
            fn words(&self) -> &'static [&'static str] {
                Self::WORDS
            }

            fn word(&self) -> &'static str {
                match self { $(Self::$variant => $word,)* }
            }

            fn choose(&mut self, word: &str) -> bool {
                let known = Self::WORDS.iter().position(|known| *known == word);
                known.is_some_and(|at| { *self = Self::ALL[at]; true })
            }
        }

        impl Serialize for $choice {
            fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
                out.serialize_str(self.word())
            }
        }
    )*};
}

choices! {
    /// What the needle's north is.
    North {
        /// As the needle shows it.
        Magnetic = "magnetic",
        /// Corrected before it was written.
        True = "true",
        /// The grid of the UTM zone.
        Grid = "grid",
    }

    /// What to do with legs that have no direction and are not plumb.
    MissingBearing {
        /// The direction of the leg before is carried on, with the spread of the trail's own turns, as
        /// long as no more than one leg in five lacks one; else the trail is followed in profile only.
        Few = "few",
        /// One such leg, and the trail is followed in profile only.
        Blank = "blank",
        /// The direction of the leg before is carried on, however many legs lack one.
        StraightOn = "straight_on",
    }

    /// The ground under the survey.
    GroundModel {
        /// Level.
        Flat = "flat",
        /// A plane.
        Slope = "slope",
        /// Interpolated between the stated elevations of controls.
        Points = "points",
        /// A grid of elevations in a file.
        Raster = "raster",
    }

    /// Which end of a leg says what the leg lies on where nothing is written for the leg itself.
    SupportOfLeg {
        /// Each end of the half beside it.
        Halves = "halves",
        /// The anchor at which it ends of the whole leg.
        Arrival = "arrival",
        /// The anchor at which it starts of the whole leg.
        Departure = "departure",
    }

    /// How the end of the escape run is found where nothing else tells.
    EscapeRule {
        /// Until the first return below the lowest edge after the first climb.
        FirstReturn = "first_return",
        /// It is not looked for.
        None = "none",
    }
}

/// Where the declination comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Declination {
    /// The geomagnetic reference field at place and date.
    #[default]
    Model,
    /// Stated, degrees, magnetic north east of true north positive.
    #[serde(untagged)]
    Stated(f64),
}
