//! A path itself as marks: its legs, its anchors, and what leads from it down to the ground.

use super::camera::Place;
use super::colouring::Colouring;
use super::marks::{Ball, Marks, Shown, Tube, Weights};
use super::view::ColourBy;
use crate::products::scene::Kind;
use crate::products::scene::palette::{Colour, INK, QUIET, stratum};

/// What is drawn thin, from the ground up.
pub(super) const TRACE: Colour = Colour(0xa4, 0xa9, 0xb0);
const DROP: Colour = Colour(0xc3, 0xc8, 0xce);
pub(super) const TRUNK: Colour = Colour(0xcb, 0xbb, 0xa2);
/// An escape run is so much thinner than the rest of the path.
pub(super) const ESCAPE: f64 = 0.55;
/// A path that the survey no longer has.
const FAINT_PATH: Colour = Colour(0xbd, 0xc1, 0xc7);

impl Shown<'_> {
    /// One path.
    pub(super) fn path(
        &self,
        trail: usize,
        colouring: &Colouring,
        weights: Weights,
        marks: &mut Marks,
    ) {
        self.legs(trail, colouring, weights, marks);
        self.beads(trail, weights, marks);
        self.below(trail, weights, marks);
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
                leg(marks, ends, (piece.kind, piece.assumed), (radius, colour));
            }
            return;
        }
        for (known, colours) in self.space.trails[trail].legs.iter().zip(&colouring.legs[trail]) {
            let [from, to] = [known.from, known.to].map(|point| self.laid.points[trail][point]);
            let kind = match (known.counted, known.escape) {
                (false, _) => Kind::Gap,
                (true, true) => Kind::Escape,
                (true, false) => Kind::Walked,
            };
            let [first, second] = colours.map(|colour| self.paled(colour));
            if first == second || kind == Kind::Gap {
                leg(marks, [from, to], (kind, known.assumed), (radius, first));
                continue;
            }
            let middle = [0, 1, 2].map(|k| 0.5 * (from[k] + to[k]));
            leg(marks, [from, middle], (kind, known.assumed), (radius, first));
            leg(marks, [middle, to], (kind, known.assumed), (radius, second));
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
            marks.beads.push(Ball::round(
                self.laid.points[trail][at],
                times * radius,
                self.paled(colour),
            ));
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
            // Thinner than an escape run, which would vanish in the trunk that it climbs.
            let radius = 0.8 * ESCAPE * weights.leg;
            for trunk in &self.space.trails[trail].trunks {
                let [east, north] = trunk.plan;
                let ends = trunk.up.map(|up| self.laid.place(trail, [east, north, up]));
                marks.lines.push(Tube { ends, radius, colour: TRUNK });
            }
        }
    }
}

/// A leg in its style: a gap is dashed, the escape run thinner, one without a direction dashed in its
/// colour.
fn leg(
    marks: &mut Marks,
    ends: [Place; 2],
    (kind, assumed): (Kind, bool),
    (radius, colour): (f64, Colour),
) {
    match kind {
        Kind::Walked | Kind::Escape if assumed => marks.dash(ends, radius, colour),
        Kind::Walked => marks.tubes.push(Tube { ends, radius, colour }),
        Kind::Escape => marks.tubes.push(Tube { ends, radius: ESCAPE * radius, colour }),
        Kind::Gap => marks.dash(ends, 0.7 * radius, QUIET),
    }
}
