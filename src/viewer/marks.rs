//! A laid-out space as solid marks: tubes, thin lines, beads, ellipsoids.
//!
//! How strong marks are, and which there are too many of, is decided here; what is drawn of a path
//! itself stands in `paths`, what stands beside it in `annotations`, the metre grid in `grid`.

use super::Suspicion;
use super::camera::{Place, Size, dot, minus};
use super::colouring::Colouring;
use super::layout::Laid;
use super::view::View;
use crate::products::scene::Space;
use crate::products::scene::palette::Colour;

/// A straight piece with a thickness.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tube {
    /// Its ends, metres.
    pub ends: [Place; 2],
    /// Its radius, metres.
    pub radius: f64,
    /// Its colour.
    pub colour: Colour,
}

/// A ball pulled along three axes, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ball {
    /// Its middle.
    pub middle: Place,
    /// Its half axes.
    pub axes: [Place; 3],
    /// Its colour.
    pub colour: Colour,
}

/// All marks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Marks {
    /// Legs and arrows.
    pub tubes: Vec<Tube>,
    /// Grid, plumb lines, traces, trunks, raw traverses.
    pub lines: Vec<Tube>,
    /// Anchors.
    pub beads: Vec<Ball>,
    /// Ellipsoids of 95 %.
    pub clouds: Vec<Ball>,
    /// Metres between two lines of the grid.
    pub grid_m: f64,
    /// Lines of height in a look from the side: metres above the lowest ground, and the left end.
    pub heights: Vec<(f64, Place)>,
}

/// What marks are made of.
#[derive(Clone, Copy, Debug)]
pub struct Shown<'a> {
    /// The space.
    pub space: &'a Space,
    /// As it is laid out.
    pub laid: &'a Laid,
    /// What is shown.
    pub view: &'a View,
    /// The suspects.
    pub suspicions: &'a [Suspicion],
    /// Whether the survey has errors since, so that this is its last good path.
    pub stale: bool,
    /// The picture's pixels.
    pub size: Size,
}

/// How strong marks are, and which there are too many of.
#[derive(Clone, Copy)]
pub(super) struct Weights {
    /// Radius of a leg, metres.
    pub(super) leg: f64,
    /// Radius of a thin line, metres.
    pub(super) line: f64,
    /// Whether every anchor has a bead.
    pub(super) beads: bool,
    /// Whether every anchor has a plumb line, and every leg a trace.
    pub(super) drops: bool,
}

/// Half the thickness of a leg and of a thin line, pixels of a picture 1,000 pixels high.
pub(super) const LEG_PX: f64 = 2.2;
pub(super) const LINE_PX: f64 = 0.8;
/// A leg is no thicker than this share of the middle leg's length: of many short legs thick ones
/// would cost most of a picture's time.
const LEG_SHARE: f64 = 0.2;
/// With more anchors there are no beads, and with more still no plumb lines and no trace.
pub(super) const MOST_BEADS: usize = 2_000;
/// Pixels of the middle leg that leave room for a bead.
const BEAD_ROOM_PX: f64 = 16.0;
const MOST_DROPS: usize = 20_000;
/// A gap is drawn as so many dashes at the most.
const DASHES: usize = 40;

impl Shown<'_> {
    /// All marks.
    pub fn marks(&self) -> Marks {
        let mut marks = Marks::default();
        let colouring = Colouring::of(self.space, self.view.colour);
        let weights = self.weights();
        for trail in self.trails() {
            self.path(trail, &colouring, weights, &mut marks);
            self.beside(trail, weights, &mut marks);
        }
        self.misclosures(&mut marks);
        self.suspects(weights, &mut marks);
        self.picked(weights, &mut marks);
        self.walker(weights, &mut marks);
        self.grid(&mut marks);
        marks
    }

    /// The trails that are shown, by place.
    pub fn trails(&self) -> impl Iterator<Item = usize> + Clone {
        let shown = |at: &usize| self.view.shows(&self.space.scene.trails[*at].name);
        (0..self.space.scene.trails.len()).filter(shown)
    }

    /// Every point that is shown.
    pub fn points(&self) -> impl Iterator<Item = Place> + Clone {
        let ends = |trail: usize| self.laid.points[trail].iter().chain(&self.laid.feet[trail]);
        self.trails().flat_map(ends).copied()
    }

    /// Metres of `pixels` in a picture 1,000 pixels high, not thinner than in one of 850: a thin line
    /// must cover a pixel, or it falls apart where a slow driver draws edges rough.
    pub(super) fn thickness(&self, pixels: f64) -> f64 {
        let eye = &self.view.eye;
        pixels * eye.metres_per_pixel(self.size) * (self.size[1] / 1000.0).max(0.85)
    }

    pub(super) fn weights(&self) -> Weights {
        let (leg, line) = (self.thickness(LEG_PX), self.thickness(LINE_PX));
        let median = self.median_leg();
        let anchors = self.space.trails.iter().map(|trail| trail.points.len()).sum::<usize>();
        let room = median.unwrap_or_default() / self.view.eye.metres_per_pixel(self.size);
        Weights {
            leg: median.map_or(leg, |median| leg.min(LEG_SHARE * median)).max(line),
            line,
            beads: anchors <= MOST_BEADS && room > BEAD_ROOM_PX,
            drops: anchors <= MOST_DROPS,
        }
    }

    /// The middle one of the legs by length, metres.
    fn median_leg(&self) -> Option<f64> {
        let mut lengths: Vec<f64> = self
            .space
            .scene
            .trails
            .iter()
            .flat_map(|trail| trail.legs.iter().map(|leg| leg.length))
            .filter(|length| *length > 0.0)
            .collect();
        if lengths.is_empty() {
            return None;
        }
        let middle = lengths.len() / 2;
        Some(*lengths.select_nth_unstable_by(middle, f64::total_cmp).1)
    }

    /// The place of the trail of this name, if it is shown.
    pub fn at(&self, name: &str) -> Option<usize> {
        self.trails().find(|at| self.space.scene.trails[*at].name == name)
    }
}

impl Marks {
    /// A line of dashes.
    pub(super) fn dash(&mut self, [a, b]: [Place; 2], radius: f64, colour: Colour) {
        let along = minus(b, a);
        let length = dot(along, along).sqrt();
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "1 to 40")]
        let count = (length / (10.0 * radius)).clamp(1.0, DASHES as f64) as usize;
        for dash in 0..count {
            let at = |share: f64| {
                let t = (dash as f64 + share) / count as f64;
                [0, 1, 2].map(|k| a[k] + t * along[k])
            };
            self.tubes.push(Tube { ends: [at(0.2), at(0.7)], radius, colour });
        }
    }
}

impl Ball {
    /// A round one.
    pub(super) fn round(middle: Place, radius: f64, colour: Colour) -> Self {
        let axes = [[radius, 0.0, 0.0], [0.0, radius, 0.0], [0.0, 0.0, radius]];
        Self { middle, axes, colour }
    }
}
