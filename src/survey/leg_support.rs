//! What a leg lies on, by what stands in the rows of its two ends.
//!
//! An anchor says what the thread lies on at one place. Of a leg beside it that tells half, unless
//! the sheet says of the leg itself (`leg_support`) or the settings say how the column was filled in.

use super::Survey;
use super::names::Name;
use super::rows::AnchorRow;
use super::settings::{Settings, SupportOfLeg};

/// Written for a leg, or at an anchor, this is no support but the class of crossings.
pub const CROSSING: &str = "crossing";

/// What a leg lies on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct LegSupport {
    /// The supports of its first and its second half; `None` where nobody noted one.
    pub halves: [Option<Name>; 2],
    /// Whether `leg_support` names the support of the whole leg.
    pub written: bool,
    /// Whether it leads from one tree or plant straight to another, above ground at both ends.
    pub crosses: bool,
}

impl LegSupport {
    /// Whether its metres are a class of their own: it crosses, and nobody wrote what it lies on.
    pub fn is_crossing(self) -> bool {
        self.crosses && !self.written
    }

    /// The share of its length that counts for a support by halves, since its two ends differ or one
    /// is blank; 0 for a crossing, which counts for no support.
    pub fn share_in_halves(self) -> f64 {
        if self.is_crossing() || self.halves[0] == self.halves[1] {
            return 0.0;
        }
        0.5 * self.halves.into_iter().flatten().count() as f64
    }
}

impl SupportOfLeg {
    /// The end that tells of each half of a leg: 0 where it starts, 1 where it ends.
    pub fn ends(self) -> [usize; 2] {
        match self {
            Self::Halves => [0, 1],
            Self::Arrival => [1, 1],
            Self::Departure => [0, 0],
        }
    }

    /// For which support a leg without one of its own counts: a leg counts …
    pub const fn counts_for(self) -> &'static str {
        match self {
            Self::Halves => "half for the support of each of its ends",
            Self::Arrival => "for the support of the anchor it leads to",
            Self::Departure => "for the support of the anchor it comes from",
        }
    }
}

/// What the leg between two rows lies on; `heights` above ground of its ends in metres, not a
/// number where unknown.
pub fn leg_support(survey: &Survey, rows: [&AnchorRow; 2], heights: [f64; 2]) -> LegSupport {
    let own = rows[1].leg_support;
    let says_crossing = own.is_some_and(|own| is_crossing(survey, own));
    let written = own.filter(|_| !says_crossing);
    let by_end = survey.settings.support_of_leg.ends().map(|end| rows[end].support);
    LegSupport {
        halves: written.map_or(by_end, |own| [Some(own); 2]),
        written: written.is_some(),
        crosses: says_crossing || crosses(&survey.settings, rows, heights),
    }
}

/// Whether a support's name is the word for crossings.
pub fn is_crossing(survey: &Survey, support: Name) -> bool {
    survey.text(support).eq_ignore_ascii_case(CROSSING)
}

/// Two trees, or two plants where a tree is not recorded at both ends, both off the ground.
fn crosses(settings: &Settings, [from, to]: [&AnchorRow; 2], heights: [f64; 2]) -> bool {
    let above = settings.above_ground_m();
    let differ = from.tree.zip(to.tree).or(from.plant.zip(to.plant)).is_some_and(|(a, b)| a != b);
    differ && heights.into_iter().all(|height| height >= above)
}
