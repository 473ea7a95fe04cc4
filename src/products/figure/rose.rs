//! Directions about a circle: petals whose area is the number, points for animals, a mean.

use super::canvas::{Canvas, Side, Spot, Stroke, TEXT};
use super::legend::{Key, legend};
use crate::maths::quantity::Bearing;
use crate::maths::statistics::circular::MeanVector;
use crate::products::scene::palette::{ALERT, CATEGORIES, Colour, FAINT, INK, QUIET, Symbol};
use std::slice;

/// Size of a point, millimetres.
const POINT_MM: f64 = 1.7;
/// What the name of a direction takes beside the points, millimetres, and keys beside that.
const NAME_MM: f64 = 10.0;
const KEYS_MM: f64 = 56.0;
/// Piles reach no further, in radii.
const MOST_SHARE: f64 = 1.5;

/// A circle on the page; directions run clockwise from its top.
#[derive(Clone, Copy)]
pub(super) struct Rose {
    pub(super) centre: Spot,
    pub(super) radius: f64,
}

impl Rose {
    /// A circle with room above it for points and a name, and beside it for keys where the page is
    /// wide; and how far its points reach at the top, the right, the bottom and the left.
    pub(super) fn below_top(wide: f64, radius: f64, points: &[Bearing]) -> (Self, [f64; 4]) {
        let reaches = Self { centre: [0.0, 0.0], radius }.reaches(points);
        let aside = (reaches[3] + NAME_MM).max(0.3 * wide);
        let beside = aside + reaches[1] + NAME_MM + KEYS_MM <= wide;
        let middle = if beside { aside } else { 0.5 * wide };
        (Self { centre: [middle, reaches[0] + 1.5 + TEXT.leading()], radius }, reaches)
    }

    /// Keys at its right, or below it where that is narrow; gives the height of the page.
    pub(super) fn legend(
        &self,
        canvas: &mut Canvas,
        keys: &[Key],
        wide: f64,
        reaches: [f64; 4],
    ) -> f64 {
        let foot = self.centre[1] + reaches[2] + 1.5 + TEXT.leading();
        let left = self.centre[0] + reaches[1] + NAME_MM;
        if left + KEYS_MM > wide {
            return foot + 1.0 + legend(canvas, [0.5, foot + 1.0], wide - 0.5, keys) + 0.5;
        }
        let mut top = self.centre[1] - 0.5 * keys.len() as f64 * 1.2 * TEXT.leading();
        for key in keys {
            top += legend(canvas, [left, top], wide - 0.5, slice::from_ref(key)) + 0.4;
        }
        foot
    }

    /// A place at a share of the radius.
    pub(super) fn place(&self, direction: Bearing, share: f64) -> Spot {
        let (sin, cos) = direction.to_radians().sin_cos();
        let reach = share * self.radius;
        [self.centre[0] + reach * sin, self.centre[1] - reach * cos]
    }

    /// Rim and cross.
    pub(super) fn rim(&self, canvas: &mut Canvas) {
        canvas.disc(self.centre, self.radius, None, Stroke::new(QUIET, 0.2));
        let [x, y] = self.centre;
        let r = self.radius;
        canvas.line(&[[x - r, y], [x + r, y]], Stroke::new(FAINT, 0.15));
        canvas.line(&[[x, y - r], [x, y + r]], Stroke::new(FAINT, 0.15));
    }

    /// Names of the four directions outside the points there: top, right, bottom, left.
    pub(super) fn names(&self, canvas: &mut Canvas, names: [&str; 4], reaches: [f64; 4]) {
        let [x, y] = self.centre;
        let out = reaches.map(|reach| reach + 1.0);
        let set = TEXT.side(Side::Middle);
        canvas.text([x, y - out[0]], names[0], set);
        canvas.text_level([x + out[1], y], names[1], TEXT);
        canvas.text([x, y + out[2] + TEXT.rise()], names[2], set);
        canvas.text_level([x - out[3], y], names[3], TEXT.side(Side::End));
    }

    /// Petals of equal angle, the first centred on the top; area tells the number. Gives the number
    /// that reaches the rim.
    pub(super) fn petals(
        &self,
        canvas: &mut Canvas,
        directions: &[Bearing],
        count: usize,
    ) -> usize {
        let width = 360.0 / count as f64;
        let mut counts = vec![0_usize; count];
        for direction in directions {
            let turned = (direction.to_degrees() + 0.5 * width) / width;
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 36")]
            let at = turned as usize % count;
            counts[at] += 1;
        }
        let most = counts.iter().copied().max().unwrap_or(1).max(1);
        for (at, number) in counts.iter().enumerate().filter(|(_, number)| **number > 0) {
            let share = (*number as f64 / most as f64).sqrt();
            let from = (at as f64 - 0.5) * width;
            let mut outline = vec![self.centre];
            let arc = (0..=6).map(|step| {
                self.place(Bearing::from_degrees(from + width * f64::from(step) / 6.0), share)
            });
            outline.extend(arc);
            let edge = Stroke::new(CATEGORIES[0].colour, 0.15);
            canvas.shape(&outline, CATEGORIES[0].colour.tint(0.45), edge);
        }
        most
    }

    /// Where points for directions stand outside the rim: those alike are piled outwards.
    fn piled(&self, directions: &[Bearing]) -> Vec<Spot> {
        let mut placed: Vec<Spot> = Vec::new();
        for direction in directions {
            let mut share = 1.0 + 0.6 * POINT_MM / self.radius;
            let mut at = self.place(*direction, share);
            let meets = |at: &Spot, placed: &[Spot]| {
                placed.iter().any(|p| (p[0] - at[0]).hypot(p[1] - at[1]) < 0.95 * POINT_MM)
            };
            while meets(&at, &placed) && share < MOST_SHARE {
                share += 0.25 * POINT_MM / self.radius;
                at = self.place(*direction, share);
            }
            placed.push(at);
        }
        placed
    }

    /// How far from the centre points reach on each side, millimetres; on either slant they count
    /// for both sides.
    fn reaches(&self, directions: &[Bearing]) -> [f64; 4] {
        let mut reaches = [self.radius + 1.0; 4];
        for [x, y] in self.piled(directions) {
            let (x, y) = (x - self.centre[0], y - self.centre[1]);
            for (reach, toward) in reaches.iter_mut().zip([-y, x, y, -x]) {
                if toward > 0.7 * x.hypot(y) {
                    *reach = reach.max(toward + 0.5 * POINT_MM);
                }
            }
        }
        reaches
    }

    /// A point for each direction.
    pub(super) fn points(&self, canvas: &mut Canvas, directions: &[Bearing], colour: Colour) {
        for at in self.piled(directions) {
            canvas.symbol(at, Symbol::Circle, POINT_MM, colour);
        }
    }

    /// The mean vector: its length against the radius is the mean resultant length.
    pub(super) fn mean(&self, canvas: &mut Canvas, vector: &MeanVector) {
        let Some((direction, r)) = vector.direction().zip(vector.resultant()) else { return };
        let direction = Bearing::from_radians(direction);
        let tip = self.place(direction, r);
        let neck = self.place(direction, (r - 1.2 / self.radius).max(0.0));
        canvas.line(&[self.centre, neck], Stroke::new(ALERT, 0.6));
        let back = |angle: f64| {
            let d = Bearing::from_degrees(direction.to_degrees() + 180.0 + angle);
            let (sin, cos) = d.to_radians().sin_cos();
            [tip[0] + 1.8 * sin, tip[1] - 1.8 * cos]
        };
        canvas.fill(&[tip, back(24.0), back(-24.0)], ALERT);
        canvas.disc(self.centre, 0.4, Some(INK), Stroke::new(INK, 0.1));
    }
}
