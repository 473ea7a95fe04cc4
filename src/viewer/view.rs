//! What is shown, and how: all that an onlooker can change.

use super::camera::{Eye, Look};
use std::collections::BTreeSet;

/// What the colour of a leg says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is its name")]
pub enum ColourBy {
    Height,
    Trail,
    Support,
    Group,
    Uncertainty,
    Section,
}

impl ColourBy {
    /// All of them, in the order in which a key goes through them.
    pub const ALL: [Self; 6] =
        [Self::Height, Self::Trail, Self::Support, Self::Group, Self::Uncertainty, Self::Section];

    /// The name on the command line and on the panel.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Height => "height",
            Self::Trail => "trail",
            Self::Support => "support",
            Self::Group => "group",
            Self::Uncertainty => "uncertainty",
            Self::Section => "section",
        }
    }

    /// The one after it, and after the last the first.
    #[must_use]
    pub fn next(self) -> Self {
        let at = Self::ALL.iter().position(|by| *by == self).unwrap_or(0);
        Self::ALL[(at + 1) % Self::ALL.len()]
    }
}

/// What was clicked, by its trail's name and its place in walking order, so that it is found again
/// after a rebuild.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Pick {
    /// An anchor.
    Anchor(String, usize),
    /// A leg.
    Leg(String, usize),
}

/// A walk along a trail.
#[derive(Clone, Debug, PartialEq)]
pub struct Walk {
    /// The trail's name.
    pub trail: String,
    /// Metres along the thread.
    pub along: f64,
    /// Whether it goes on by itself.
    pub going: bool,
}

/// The layers that can be turned on and off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(clippy::struct_excessive_bools, reason = "each is a layer of its own")]
pub struct Layers {
    /// Plumb lines to the ground and the trace of the path on it.
    pub drops: bool,
    /// The metre grid.
    pub grid: bool,
    /// Names of trails and anchors.
    pub labels: bool,
    /// Ellipsoids of 95 %.
    pub ellipsoids: bool,
    /// Misclosures, magnified.
    pub misclosures: bool,
    /// The raw traverse beside the adjusted path.
    pub raw: bool,
    /// Stems of trees.
    pub trunks: bool,
}

impl Default for Layers {
    fn default() -> Self {
        Self {
            drops: true,
            grid: true,
            labels: true,
            ellipsoids: false,
            misclosures: false,
            raw: false,
            trunks: true,
        }
    }
}

/// What is shown, and how.
#[derive(Clone, Debug, PartialEq)]
pub struct View {
    /// Names of the trails that are not shown.
    pub hidden: BTreeSet<String>,
    /// What colours say.
    pub colour: ColourBy,
    /// The layers.
    pub layers: Layers,
    /// How many times longer than they are misclosures are drawn; `None` as many as the picture has
    /// room for.
    pub magnified: Option<f64>,
    /// How many times taller than they are heights are drawn.
    pub stretch: f64,
    /// Whether trails stand side by side; `None` where they do so only if they lie far apart.
    pub apart: Option<bool>,
    /// From where.
    pub eye: Eye,
    /// What was clicked, the last one last; no more than two.
    pub picked: Vec<Pick>,
    /// The walk, if one was begun.
    pub walk: Option<Walk>,
    /// The suspect whose reading is tried on.
    pub tried: Option<usize>,
}

impl View {
    /// The usual view, looking as `look` says.
    pub fn of(look: Look) -> Self {
        Self {
            hidden: BTreeSet::new(),
            colour: ColourBy::Height,
            layers: Layers::default(),
            magnified: None,
            stretch: 1.0,
            apart: None,
            eye: Eye::of(look),
            picked: Vec::new(),
            walk: None,
            tried: None,
        }
    }

    /// Whether the trail of this name is shown.
    pub fn shows(&self, trail: &str) -> bool {
        !self.hidden.contains(trail)
    }

    /// Shows a trail, or hides it.
    pub fn toggle(&mut self, trail: &str) {
        if !self.hidden.remove(trail) {
            self.hidden.insert(trail.to_owned());
        }
    }

    /// Takes what was clicked as the last of no more than two; nothing lets go of all.
    pub fn pick(&mut self, picked: Option<Pick>) {
        let Some(picked) = picked else {
            self.picked.clear();
            return;
        };
        self.picked.retain(|known| *known != picked);
        self.picked.push(picked);
        if self.picked.len() > 2 {
            self.picked.remove(0);
        }
    }
}
