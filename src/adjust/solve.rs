//! The damped Gauss-Newton iteration of one connected part.

use super::factor::{Blocks, Pattern};
use super::normal::{Curvature, LineTerm, Positions, Slots, along, fill, linearise, pattern};
use super::weights::Model;
use crate::ground::Ground;
use nalgebra::Vector3;

/// A part's equations and their pattern.
pub(super) struct Problem<'a> {
    pub(super) model: &'a Model,
    pub(super) ground: &'a Ground,
    pub(super) pattern: Pattern,
    pub(super) slots: Slots,
    pub(super) any_held: bool,
}

/// The equations at one point.
pub(super) struct System {
    pub(super) blocks: Blocks,
    pub(super) gradient: Vec<Vector3<f64>>,
}

/// A part solved: its positions and the factor of its normal matrix.
pub(super) struct Solution {
    pub(super) positions: Vec<Vector3<f64>>,
    pub(super) factor: Blocks,
    pub(super) steps: usize,
}

/// Why a part has no solution, and the line (by local index) that moved most.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stuck {
    pub(super) line: usize,
}

/// The iteration ends when no coordinate moves by more than this, metres, and ...
const STILL_M: f64 = 1e-4;
/// ... the gradient, measured by the drop in cost that it still promises (gᵀ H⁻¹ g, in squared
/// standard deviations), is below this: no coordinate is then off by 1e-5 of its own deviation.
const STILL_COST: f64 = 1e-10;
/// A line that changes by less than this, metres, is trusted with its whole second derivative.
const NEAR_M: f64 = 0.01;
/// What a line is held back with at first, 1/m²: a tenth of what a tape weighs.
const HOLD: f64 = 100.0;
/// A drop in cost below this share of it drowns in rounding.
const ROUNDING: f64 = 1e-10;
/// A network that has not settled by then will not.
const MOST_STEPS: usize = 400;

impl<'a> Problem<'a> {
    pub(super) fn new(model: &'a Model, ground: &'a Ground, nodes: usize) -> Self {
        let (pattern, slots) = pattern(model, nodes);
        let any_held = model.held.iter().any(|held| *held != [false, false]);
        Self { model, ground, pattern, slots, any_held }
    }

    fn system(&self) -> System {
        let nodes = self.pattern.node_at.len();
        System { blocks: Blocks::zero(&self.pattern), gradient: vec![Vector3::zeros(); nodes] }
    }

    /// Damped Gauss-Newton from `start`. Damping is kept line by line, against the change of the
    /// vector along it: a line whose cost rises more than its quadratic model promised is held
    /// back, all others go on at full step. So is the second derivative: whole where a line hardly
    /// moves any more, its positive part elsewhere.
    pub(super) fn solve(&self, start: Vec<Vector3<f64>>) -> Result<Solution, Stuck> {
        let lines = &self.model.lines;
        let mut x = start;
        let mut system = self.system();
        let mut damping = vec![0.0; lines.len()];
        let mut near = vec![false; lines.len()];
        let (mut terms, mut terms_after) = (Vec::new(), Vec::new());
        let mut points = linearise(self, &x, |_| Curvature::Steps, &mut terms);
        let mut step = vec![Vector3::zeros(); x.len()];
        let mut y = x.clone();
        for steps in 1..=MOST_STEPS {
            fill(self, &x, (&terms, &damping), &mut system);
            if !self.pattern.factorise(&mut system.blocks) {
                if near.contains(&true) {
                    near.fill(false);
                    linearise(self, &x, |_| Curvature::Steps, &mut terms);
                } else {
                    raise(&mut damping);
                }
                continue;
            }
            step.iter_mut().zip(&system.gradient).for_each(|(step, g)| *step = -g);
            self.pattern.solve(&system.blocks, &mut step);
            let promised: f64 =
                -step.iter().zip(&system.gradient).map(|(s, g)| s.dot(g)).sum::<f64>();
            let longest = step.iter().map(Vector3::amax).fold(0.0, f64::max);
            for (near, line) in near.iter_mut().zip(lines) {
                *near = along(line, &step).amax() < NEAR_M;
            }
            let curvature =
                |line: usize| if near[line] { Curvature::Whole } else { Curvature::Steps };
            y.iter_mut().zip(&x).zip(&step).for_each(|((y, x), s)| *y = x + s);
            let points_after = linearise(self, &y, curvature, &mut terms_after);
            let total = |points: f64, terms: &[LineTerm]| {
                points + terms.iter().map(|term| term.cost).sum::<f64>()
            };
            let (before, after) = (total(points, &terms), total(points_after, &terms_after));
            // Where the model promises no more than rounding, a rise is rounding too.
            let accepted =
                after <= before * (1.0 + 1e-12) + 1e-9 || promised < ROUNDING * before.max(1.0);
            self.redamp(&mut damping, (&terms, &terms_after), &step, accepted);
            if accepted {
                std::mem::swap(&mut x, &mut y);
                points = points_after;
                std::mem::swap(&mut terms, &mut terms_after);
            }
            if longest < STILL_M && promised < STILL_COST {
                return self.finish(x, &mut system, steps);
            }
        }
        Err(Stuck { line: self.worst_line(&step) })
    }

    /// Raises the damping of lines that did worse than promised and lets go of the others.
    fn redamp(
        &self,
        damping: &mut [f64],
        (before, after): (&[LineTerm], &[LineTerm]),
        step: &Positions,
        accepted: bool,
    ) {
        let mut any = false;
        for (index, line) in self.model.lines.iter().enumerate() {
            let promised = before[index].promised(along(line, step));
            let change = after[index].cost - before[index].cost;
            let worse = change - promised > 0.02 + 0.5 * promised.abs();
            any |= worse;
            let damped = &mut damping[index];
            *damped = match (worse, accepted) {
                (true, true) => (4.0 * *damped).max(HOLD / 4.0),
                (true, false) => (10.0 * *damped).max(HOLD),
                (false, true) if *damped < HOLD / 40.0 => 0.0,
                (false, true) => *damped / 4.0,
                (false, false) => *damped,
            };
        }
        if !accepted && !any {
            raise(damping);
        }
    }

    fn worst_line(&self, step: &Positions) -> usize {
        let size = |line: &super::weights::ModelLine| (step[line.to] - step[line.from]).norm();
        let sizes = self.model.lines.iter().map(size).enumerate();
        sizes.max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(line, _)| line)
    }

    /// The factor of the undamped normal matrix at the solution, from which covariances follow.
    fn finish(
        &self,
        positions: Vec<Vector3<f64>>,
        system: &mut System,
        steps: usize,
    ) -> Result<Solution, Stuck> {
        // A leg that has come to stand plumb has no first derivative along its bearing; what it
        // bends by then holds it.
        let mut terms = Vec::new();
        let definite =
            [Curvature::None, Curvature::Whole, Curvature::Steps].into_iter().any(|curvature| {
                linearise(self, &positions, |_| curvature, &mut terms);
                fill(self, &positions, (&terms, &[]), system);
                self.pattern.factorise(&mut system.blocks)
            });
        if !definite {
            return Err(Stuck { line: 0 });
        }
        let factor = std::mem::take(&mut system.blocks);
        Ok(Solution { positions, factor, steps })
    }
}

/// Holds every line back.
fn raise(damping: &mut [f64]) {
    for damped in damping {
        *damped = (10.0 * *damped).max(10.0);
    }
}
