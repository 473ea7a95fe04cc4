//! What stands beside the paths: the raw traverse, ellipsoids, what does not close, what is doubted,
//! what was clicked, and the walk.

use super::camera::{Place, dot, round_step};
use super::marks::{Ball, LEG_PX, LINE_PX, MOST_BEADS, Marks, Shown, Tube, Weights};
use super::space_of;
use super::view::Pick;
use crate::products::scene::Misclosure;
use crate::products::scene::palette::{ALERT, Colour, INK, QUIET};
use nalgebra::{Matrix3, SymmetricEigen};

/// What is seen through, and what is set off.
const CLOUD: Colour = Colour(0xb9, 0xc6, 0xd8);
const PICKED: Colour = Colour(0xe0, 0x9b, 0x00);
/// Misclosures are drawn so many times longer at the most, and no longer than this share of the
/// picture's height, unless the onlooker says otherwise.
const MOST_MAGNIFIED: f64 = 10.0;
const OPEN_SHARE: f64 = 0.25;
/// Half axis of the ellipsoid of 95 % over one standard deviation: the root of the 0.95 quantile of
/// chi-squared with three degrees of freedom (NIST/SEMATECH e-Handbook, table 1.3.6.7.4: 7.815).
const CLOUD_95: f64 = 2.795_5;

impl Shown<'_> {
    /// The raw traverse, what is known of each anchor, and the path as it would be.
    pub(super) fn beside(&self, trail: usize, weights: Weights, marks: &mut Marks) {
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
                    marks.dash(ends, 0.8 * radius, INK);
                }
            }
        }
    }

    pub(super) fn misclosures(&self, marks: &mut Marks) {
        let radius = self.thickness(LEG_PX);
        for (_, ends) in self.open_ends() {
            marks.tubes.push(Tube { ends, radius, colour: ALERT });
            marks.beads.push(Ball::round(ends[1], 2.2 * radius, ALERT));
        }
    }

    /// What does not close on the trails that are shown, each with its ends as it is drawn: from where
    /// the walk should have come to, magnified.
    pub(super) fn open_ends(&self) -> impl Iterator<Item = (&Misclosure, [Place; 2])> {
        let magnified = self.magnified();
        let drawn = self.view.layers.misclosures;
        self.not_closing().filter(move |_| drawn).map(move |open| {
            let [trail, point] = open.at;
            let from = self.laid.points[trail][point];
            let vector = self.laid.vector(open.vector);
            (open, [from, [0, 1, 2].map(|k| from[k] + magnified * vector[k])])
        })
    }

    /// What does not close on the trails that are shown.
    pub(super) fn not_closing(&self) -> impl Iterator<Item = &Misclosure> {
        let here = |open: &&Misclosure| self.view.shows(&self.space.scene.trails[open.at[0]].name);
        self.space.misclosures.iter().filter(here)
    }

    /// How many times longer than they are misclosures are drawn: ten times, or less where the longest
    /// on a trail that is shown would lead out of the picture.
    pub fn magnified(&self) -> f64 {
        let longest = |longest: f64, open: &Misclosure| dot(open.vector, open.vector).max(longest);
        let longest = self.not_closing().fold(0.0, longest).sqrt();
        let room = OPEN_SHARE * self.view.eye.metres_high;
        self.view
            .magnified
            .unwrap_or_else(|| round_step((room / longest.max(1e-9)).clamp(1.0, MOST_MAGNIFIED)))
    }

    pub(super) fn suspects(&self, weights: Weights, marks: &mut Marks) {
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

    pub(super) fn picked(&self, weights: Weights, marks: &mut Marks) {
        let radius = weights.leg;
        for picked in &self.view.picked {
            match picked {
                Pick::Anchor(name, point) => {
                    if let Some(at) = self.at(name).and_then(|t| self.laid.points[t].get(*point)) {
                        marks.beads.push(Ball::round(*at, 3.2 * radius, PICKED));
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

    pub(super) fn walker(&self, weights: Weights, marks: &mut Marks) {
        if let Some(ends) = self.walked() {
            marks.beads.push(Ball::round(ends[0], 3.6 * weights.leg, PICKED));
            marks.lines.push(Tube { ends, radius: weights.line, colour: INK });
        }
    }
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
