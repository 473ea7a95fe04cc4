//! A laid-out space as solid marks: tubes, thin lines, beads, ellipsoids. One list is one draw.

use super::colouring::Colouring;
use super::eye::{Place, Size, dot, minus};
use super::lay::Laid;
use super::view::{ColourBy, Pick, View};
use super::{Suspicion, space_of};
use crate::scene::palette::{ALERT, Colour, INK, QUIET, stratum};
use crate::scene::{Kind, Space};
use nalgebra::{Matrix3, SymmetricEigen};

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
    leg: f64,
    /// Radius of a thin line, metres.
    line: f64,
    /// Whether every anchor has a bead.
    beads: bool,
    /// Whether every anchor has a plumb line, and every leg a trace.
    pub(super) drops: bool,
}

/// Half the thickness of a leg and of a thin line, pixels of a picture 1,000 pixels high.
const LEG_PX: f64 = 2.2;
pub(super) const LINE_PX: f64 = 0.8;
/// A leg is no thicker than this share of the middle leg's length: of many short legs thick ones
/// would cost most of a picture's time.
const LEG_SHARE: f64 = 0.2;
/// With more anchors there are no beads, and with more still no plumb lines and no trace.
const MOST_BEADS: usize = 2_000;
/// Pixels of the middle leg that leave room for a bead.
const BEAD_ROOM_PX: f64 = 16.0;
const MOST_DROPS: usize = 20_000;
/// Half axis of the ellipsoid of 95 % over one standard deviation: the root of the 0.95 quantile of
/// chi-squared with three degrees of freedom (NIST/SEMATECH e-Handbook, table 1.3.6.7.4: 7.815).
const CLOUD_95: f64 = 2.795_5;
/// A gap is drawn as so many dashes at the most.
const DASHES: usize = 40;

impl Shown<'_> {
    /// All marks.
    pub fn marks(&self) -> Marks {
        let mut marks = Marks::default();
        let colouring = Colouring::of(self.space, self.view.colour);
        let weights = self.weights();
        for trail in self.trails() {
            self.legs(trail, &colouring, weights, &mut marks);
            self.beads(trail, weights, &mut marks);
            self.below(trail, weights, &mut marks);
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

    /// Metres of `pixels` in a picture 1,000 pixels high, not thinner than in one of 700.
    pub(super) fn thickness(&self, pixels: f64) -> f64 {
        let eye = &self.view.eye;
        pixels * eye.metres_per_pixel(self.size) * (self.size[1] / 1000.0).max(0.7)
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

    fn paled(&self, colour: Colour) -> Colour {
        if self.stale { FAINT_PATH } else { colour }
    }

    fn legs(&self, trail: usize, colouring: &Colouring, weights: Weights, marks: &mut Marks) {
        let radius = weights.leg;
        let scene = &self.space.scene;
        if self.view.colour == ColourBy::Height {
            let path = &scene.trails[trail];
            for piece in &path.pieces {
                let ends = [0, 1].map(|end| {
                    if path.has_plan {
                        self.laid.place(trail, piece.ends[end])
                    } else {
                        self.laid.on_plane(trail, piece.along[end], piece.ends[end][2])
                    }
                });
                let colour = self.paled(stratum(piece.stratum, scene.strata()));
                leg(marks, ends, piece.kind, (radius, colour));
            }
            return;
        }
        for (known, colour) in self.space.trails[trail].legs.iter().zip(&colouring.legs[trail]) {
            let ends = [known.from, known.to].map(|point| self.laid.points[trail][point]);
            let kind = match (known.counted, known.escape) {
                (false, _) => Kind::Gap,
                (true, true) => Kind::Escape,
                (true, false) => Kind::Walked,
            };
            leg(marks, ends, kind, (radius, self.paled(*colour)));
        }
    }

    /// A bead at both ends and at every place where the animal was found; where there are few anchors
    /// and room between them, at all of them.
    fn beads(&self, trail: usize, weights: Weights, marks: &mut Marks) {
        let radius = weights.leg;
        let points = &self.space.scene.trails[trail].points;
        for (at, point) in points.iter().enumerate() {
            let main = at == 0 || point.seen || at + 1 == points.len();
            if !main && !weights.beads {
                continue;
            }
            let times = if at == 0 {
                2.6
            } else if main {
                2.2
            } else {
                1.45
            };
            let colour = if main { INK } else { QUIET };
            marks.beads.push(ball(self.laid.points[trail][at], times * radius, self.paled(colour)));
        }
    }

    fn below(&self, trail: usize, weights: Weights, marks: &mut Marks) {
        let radius = weights.line;
        let (points, feet) = (&self.laid.points[trail], &self.laid.feet[trail]);
        if self.view.layers.drops && weights.drops {
            for leg in &self.space.trails[trail].legs {
                let ends = [feet[leg.from], feet[leg.to]];
                marks.lines.push(Tube { ends, radius, colour: TRACE });
            }
            let drops = points.iter().zip(feet).map(|(point, foot)| [*point, *foot]);
            marks.lines.extend(drops.map(|ends| Tube { ends, radius, colour: DROP }));
        }
        if self.view.layers.trunks && self.space.scene.trails[trail].has_plan {
            for trunk in &self.space.trails[trail].trunks {
                let [east, north] = trunk.plan;
                let ends = trunk.up.map(|up| self.laid.place(trail, [east, north, up]));
                marks.lines.push(Tube { ends, radius: 2.2 * radius, colour: TRUNK });
            }
        }
    }

    /// The raw traverse, what is known of each anchor, and the path as it would be.
    fn beside(&self, trail: usize, weights: Weights, marks: &mut Marks) {
        let known = &self.space.trails[trail];
        let has_plan = self.space.scene.trails[trail].has_plan;
        if self.view.layers.raw && has_plan {
            let radius = self.thickness(1.4 * LINE_PX);
            for leg in &known.legs {
                let ends = [leg.from, leg.to].map(|p| self.laid.place(trail, known.points[p].raw));
                marks.lines.push(Tube { ends, radius, colour: QUIET });
            }
        }
        if self.view.layers.ellipsoids && has_plan {
            for (at, point) in known.points.iter().enumerate().take(MOST_BEADS) {
                if let Some(axes) = point.covariance.and_then(half_axes) {
                    let axes = axes.map(|axis| self.laid.vector(axis));
                    let middle = self.laid.points[trail][at];
                    marks.clouds.push(Ball { middle, axes, colour: CLOUD });
                }
            }
        }
        let tried = self.view.tried.and_then(|at| self.suspicions.get(at));
        if let Some(positions) = tried.and_then(|tried| tried.would_be.get(&trail)) {
            let radius = weights.leg;
            for leg in &known.legs {
                let ends = [leg.from, leg.to].map(|p| positions.get(p).copied());
                if let [Some(a), Some(b)] = ends {
                    let ends = [self.laid.place(trail, a), self.laid.place(trail, b)];
                    dashed(marks, ends, (0.8 * radius, INK));
                }
            }
        }
    }

    fn misclosures(&self, marks: &mut Marks) {
        if !self.view.layers.misclosures {
            return;
        }
        let radius = self.thickness(LEG_PX);
        for misclosure in &self.space.misclosures {
            let [trail, point] = misclosure.at;
            if !self.view.shows(&self.space.scene.trails[trail].name) {
                continue;
            }
            let from = self.laid.points[trail][point];
            let vector = self.laid.vector(misclosure.vector);
            let to = [0, 1, 2].map(|k| from[k] + self.view.magnified * vector[k]);
            marks.tubes.push(Tube { ends: [from, to], radius, colour: ALERT });
            marks.beads.push(ball(to, 2.2 * radius, ALERT));
        }
    }

    fn suspects(&self, weights: Weights, marks: &mut Marks) {
        for suspicion in self.suspicions {
            let Some((trail, from, to)) = space_of(self.space, suspicion) else { continue };
            if !self.view.shows(&self.space.scene.trails[trail].name) {
                continue;
            }
            let radius = 1.5 * weights.leg;
            let ends = [from, to].map(|point| self.laid.points[trail][point]);
            marks.tubes.push(Tube { ends, radius, colour: ALERT });
        }
    }

    fn picked(&self, weights: Weights, marks: &mut Marks) {
        let radius = weights.leg;
        for picked in &self.view.picked {
            match picked {
                Pick::Anchor(name, point) => {
                    if let Some(at) = self.at(name).and_then(|t| self.laid.points[t].get(*point)) {
                        marks.beads.push(ball(*at, 3.2 * radius, PICKED));
                    }
                }
                Pick::Leg(name, leg) => {
                    let Some(trail) = self.at(name) else { continue };
                    let Some(known) = self.space.trails[trail].legs.get(*leg) else { continue };
                    let ends = [known.from, known.to].map(|p| self.laid.points[trail][p]);
                    marks.tubes.push(Tube { ends, radius: 1.7 * radius, colour: PICKED });
                }
            }
        }
    }

    fn walker(&self, weights: Weights, marks: &mut Marks) {
        if let Some(at) = self.walked() {
            marks.beads.push(ball(at, 3.6 * weights.leg, PICKED));
            let foot = [at[0], at[1], self.laid.floor];
            marks.lines.push(Tube { ends: [at, foot], radius: weights.line, colour: INK });
        }
    }

    /// Where the walk has come to.
    pub fn walked(&self) -> Option<Place> {
        let walk = self.view.walk.as_ref()?;
        let trail = self.at(&walk.trail)?;
        let points = &self.space.scene.trails[trail].points;
        for leg in &self.space.trails[trail].legs {
            let (from, to) = (points[leg.to.saturating_sub(1)].along, points[leg.to].along);
            if walk.along <= to {
                let share = if to > from { (walk.along - from) / (to - from) } else { 0.0 };
                let [a, b] = [leg.from, leg.to].map(|point| self.laid.points[trail][point]);
                let share = share.clamp(0.0, 1.0);
                return Some([0, 1, 2].map(|k| a[k] + share * (b[k] - a[k])));
            }
        }
        self.laid.points[trail].last().copied()
    }

    /// The place of the trail of this name, if it is shown.
    pub fn at(&self, name: &str) -> Option<usize> {
        self.trails().find(|at| self.space.scene.trails[*at].name == name)
    }
}

/// What is drawn thin, from the ground up, and what is set off.
const TRACE: Colour = Colour(0xa4, 0xa9, 0xb0);
const DROP: Colour = Colour(0xc3, 0xc8, 0xce);
const TRUNK: Colour = Colour(0xcb, 0xbb, 0xa2);
const CLOUD: Colour = Colour(0xb9, 0xc6, 0xd8);
const FAINT_PATH: Colour = Colour(0xbd, 0xc1, 0xc7);
const PICKED: Colour = Colour(0xe0, 0x9b, 0x00);

/// A leg in its style: a gap is dashed, the escape run thinner.
fn leg(marks: &mut Marks, ends: [Place; 2], kind: Kind, (radius, colour): (f64, Colour)) {
    match kind {
        Kind::Walked => marks.tubes.push(Tube { ends, radius, colour }),
        Kind::Escape => marks.tubes.push(Tube { ends, radius: 0.5 * radius, colour }),
        Kind::Gap => dashed(marks, ends, (0.7 * radius, QUIET)),
    }
}

fn dashed(marks: &mut Marks, [a, b]: [Place; 2], (radius, colour): (f64, Colour)) {
    let along = minus(b, a);
    let length = dot(along, along).sqrt();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "1 to 40")]
    let count = (length / (10.0 * radius)).clamp(1.0, DASHES as f64) as usize;
    for dash in 0..count {
        let at = |share: f64| {
            let t = (dash as f64 + share) / count as f64;
            [0, 1, 2].map(|k| a[k] + t * along[k])
        };
        marks.tubes.push(Tube { ends: [at(0.2), at(0.7)], radius, colour });
    }
}

fn ball(middle: Place, radius: f64, colour: Colour) -> Ball {
    let axes = [[radius, 0.0, 0.0], [0.0, radius, 0.0], [0.0, 0.0, radius]];
    Ball { middle, axes, colour }
}

/// The half axes of the ellipsoid of 95 %; none where nothing is unknown.
pub fn half_axes(covariance: Matrix3<f64>) -> Option<[Place; 3]> {
    if !covariance.iter().all(|value| value.is_finite()) {
        return None;
    }
    let eigen = SymmetricEigen::new(covariance);
    let axis = |k: usize| {
        let half = CLOUD_95 * eigen.eigenvalues[k].max(0.0).sqrt();
        let unit = eigen.eigenvectors.column(k);
        [half * unit[0], half * unit[1], half * unit[2]]
    };
    let axes = [axis(0), axis(1), axis(2)];
    axes.iter().any(|axis| dot(*axis, *axis) > 1e-12).then_some(axes)
}
