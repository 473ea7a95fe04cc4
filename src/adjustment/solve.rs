//! The damped Gauss-Newton iteration of one connected part.

use super::factor::{Blocks, Pattern};
use super::normal::{Curvature, LineTerm, Positions, Slots, along, fill, linearise, pattern};
use super::weights::{Model, ModelLine};
use crate::maths::ground::Ground;
use nalgebra::Vector3;
use std::f64::consts::FRAC_PI_2;

/// A part's equations and their pattern.
#[derive(Clone)]
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

/// A part solved.
pub(super) struct Solution {
    pub(super) positions: Vec<Vector3<f64>>,
    /// Sum of squared residuals over their standard deviations, those assumed among them.
    pub(super) cost: f64,
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
/// A line that changes by less than this, metres, is trusted with its whole second derivative; by
/// less than a tenth of it after each time that the equations turned out not definite.
const NEAR_M: f64 = 0.01;
/// What a line is held back with at first, 1/m²: a tenth of what a tape weighs.
const HOLD: f64 = 100.0;
/// A gross slip may bend a line until it has no run left, where its needle has no derivative: the
/// minimum is then a point of the cost, on which steps only close in. After so many steps in which
/// no coordinate moved by [`STILL_M`] ...
const BALANCED_STEPS: usize = 40;
/// ... and the cost fell by less than this, squared standard deviations, it is reached.
const BALANCED_COST: f64 = 0.01;
/// A line with less than this share of the run it was read with has lost it.
const LOST: f64 = 0.1;
/// How far a start is moved off a ridge, metres.
const NUDGE_M: f64 = 0.05;
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
        self.solve_within(MOST_STEPS, start)
    }

    /// The same, given up after so many steps.
    pub(super) fn solve_within(
        &self,
        most_steps: usize,
        start: Vec<Vector3<f64>>,
    ) -> Result<Solution, Stuck> {
        let lines = &self.model.lines;
        let mut system = self.system();
        let mut damping = vec![0.0; lines.len()];
        let (mut near, mut near_m) = (vec![false; lines.len()], NEAR_M);
        let (mut here, mut there) = (Place::at(start.clone()), Place::at(start));
        let mut step = vec![Vector3::zeros(); here.x.len()];
        here.linearise(self, &near);
        let mut earlier = (here.x.clone(), here.cost());
        for steps in 1..=most_steps {
            fill(self, &here.x, (&here.terms, &damping), &mut system);
            if !self.pattern.factorise(&mut system.blocks) {
                if near.contains(&true) {
                    near_m /= 10.0;
                    near.fill(false);
                    here.linearise(self, &near);
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
                *near = along(line, &step).amax() < near_m;
            }
            there.x.iter_mut().zip(&here.x).zip(&step).for_each(|((y, x), s)| *y = x + s);
            there.linearise(self, &near);
            let (before, after) = (here.cost(), there.cost());
            // Where the model promises no more than rounding, a rise is rounding too.
            let accepted =
                after <= before * (1.0 + 1e-12) + 1e-9 || promised < ROUNDING * before.max(1.0);
            self.redamp(&mut damping, (&here.terms, &there.terms), &step, accepted);
            if accepted {
                std::mem::swap(&mut here, &mut there);
            }
            if longest < STILL_M && promised < STILL_COST {
                return Ok(here.solution(steps));
            }
            if steps % BALANCED_STEPS == 0 {
                let moved = here.x.iter().zip(&earlier.0).map(|(x, y)| (x - y).amax());
                if moved.fold(0.0, f64::max) < STILL_M && earlier.1 - here.cost() < BALANCED_COST {
                    return Ok(here.solution(steps));
                }
                earlier = (here.x.clone(), here.cost());
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

    /// Whether a line lies backward to the needle read along it.
    pub(super) fn points_backward(&self, x: &Positions) -> bool {
        let Model { lines, readings, .. } = self.model;
        lines.iter().any(|line| {
            let vector = along(line, x);
            let mut needles = readings[line.first..line.end].iter().filter(|o| o.is_direction());
            needles.any(|o| o.residual(vector).abs() > FRAC_PI_2 * o.scale)
        })
    }

    /// The needles, by index of the reading, whose lines have lost the run they were read with.
    pub(super) fn lost(&self, x: &Positions) -> Vec<usize> {
        let Model { lines, readings, .. } = self.model;
        let of_line = |line: &ModelLine| {
            let run = along(line, x).xy().norm();
            let lost =
                move |at: &usize| readings[*at].is_direction() && run < LOST * readings[*at].scale;
            (line.first..line.end).filter(lost)
        };
        lines.iter().flat_map(of_line).collect()
    }

    /// Moved a little, each node its own way: readings without any error may balance on a ridge
    /// between two minima, as where a needle is turned about exactly.
    pub(super) fn nudged(&self, x: Vec<Vector3<f64>>) -> Vec<Vector3<f64>> {
        let moved = |(node, (x, &[plan_held, _])): (usize, (Vector3<f64>, &[bool; 2]))| {
            let (east, north) = (node as f64).sin_cos();
            let by = if plan_held { 0.0 } else { NUDGE_M };
            x + Vector3::new(by * east, by * north, 0.0)
        };
        x.into_iter().zip(&self.model.held).enumerate().map(moved).collect()
    }

    fn worst_line(&self, step: &Positions) -> usize {
        let size = |line: &ModelLine| (step[line.to] - step[line.from]).norm();
        let sizes = self.model.lines.iter().map(size).enumerate();
        sizes.max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(line, _)| line)
    }

    /// The factor of the undamped normal matrix at the solution, from which covariances follow; and what
    /// each line had to be held by, 1/m², where the matrix was not firm without.
    pub(super) fn factor(&self, positions: &Positions) -> Result<(Blocks, Vec<f64>), Stuck> {
        let (system, within) = self.normal(positions)?;
        Ok((system.blocks, within))
    }

    /// The same with the gradient there.
    pub(super) fn normal(&self, positions: &Positions) -> Result<(System, Vec<f64>), Stuck> {
        // A leg that has come to stand plumb has no first derivative along its bearing: of it no
        // more is known than that it ends within its own length.
        let (mut system, mut terms) = (self.system(), Vec::new());
        linearise(self, positions, |_| Curvature::None, &mut terms);
        let own_length = |line| along(line, positions).norm_squared().max(1e-4).recip();
        let within: Vec<f64> = self.model.lines.iter().map(own_length).collect();
        for damping in [Vec::new(), within] {
            fill(self, positions, (&terms, &damping), &mut system);
            if self.pattern.factorise(&mut system.blocks) && system.blocks.is_firm() {
                return Ok((system, damping));
            }
        }
        Err(Stuck { line: 0 })
    }
}

/// Positions, and what the readings say there.
struct Place {
    x: Vec<Vector3<f64>>,
    terms: Vec<LineTerm>,
    points_cost: f64,
}

impl Place {
    fn at(x: Vec<Vector3<f64>>) -> Self {
        Self { x, terms: Vec::new(), points_cost: 0.0 }
    }

    /// Takes the whole second derivative of the lines that are `near`, the positive part of others.
    fn linearise(&mut self, problem: &Problem<'_>, near: &[bool]) {
        let curvature = |line: usize| if near[line] { Curvature::Whole } else { Curvature::Steps };
        self.points_cost = linearise(problem, &self.x, curvature, &mut self.terms);
    }

    fn solution(self, steps: usize) -> Solution {
        let cost = self.cost();
        Solution { positions: self.x, cost, steps }
    }

    fn cost(&self) -> f64 {
        self.points_cost + self.terms.iter().map(|term| term.cost).sum::<f64>()
    }
}

/// Holds every line back.
fn raise(damping: &mut [f64]) {
    for damped in damping {
        *damped = (10.0 * *damped).max(10.0);
    }
}

#[cfg(test)]
mod tests {
    use super::super::observation::{Kind, Observation};
    use super::*;
    use crate::maths::quantity::Turn;

    /// Two lines, both read as 3 m north: the first by its needle, the second by its tape and back.
    fn model() -> Model {
        let tape = Observation::new(Kind::Tape, 3.0, 0.1);
        let needle = |kind| Observation::new(kind, 0.0, 0.1).scaled(3.0);
        Model {
            lines: vec![
                ModelLine { from: 0, to: 1, first: 0, end: 1 },
                ModelLine { from: 1, to: 2, first: 1, end: 3 },
            ],
            readings: vec![needle(Kind::Bearing), tape, needle(Kind::BackBearing)],
            held: vec![[true, true], [false, false], [false, true]],
            ..Model::default()
        }
    }

    /// Nodes at the ends of legs of these runs and directions.
    fn places(legs: [(f64, f64); 2]) -> Vec<Vector3<f64>> {
        let [one, two] = legs.map(|(run, degrees)| {
            let (sin, cos) = Turn::from_degrees(degrees).to_radians().sin_cos();
            Vector3::new(run * sin, run * cos, 0.2)
        });
        vec![Vector3::zeros(), one, one + two]
    }

    #[test]
    fn more_than_a_right_angle_off_is_backward() {
        let (model, ground) = (model(), Ground::flat());
        let problem = Problem::new(&model, &ground, 3);
        let backward = |legs| problem.points_backward(&places(legs));
        assert!(!backward([(3.0, 89.0), (3.0, -89.0)]));
        assert!(backward([(3.0, 89.0), (3.0, -91.0)]));
        assert!(backward([(3.0, 91.0), (3.0, 0.0)]));
    }

    /// A tenth of 3 m.
    #[test]
    fn a_needle_is_lost_with_its_run() {
        let (model, ground) = (model(), Ground::flat());
        let problem = Problem::new(&model, &ground, 3);
        let lost = |legs| problem.lost(&places(legs));
        assert!(lost([(0.31, 0.0), (0.31, 50.0)]).is_empty());
        assert_eq!(lost([(0.31, 0.0), (0.29, 50.0)]), [2]);
        assert_eq!(lost([(0.29, 0.0), (0.29, 50.0)]), [0, 2]);
    }

    /// By 5 cm each, towards 1 and 2 radians; what is held stays.
    #[test]
    fn a_nudge_moves_each_node_its_own_way() {
        let (model, ground) = (model(), Ground::flat());
        let problem = Problem::new(&model, &ground, 3);
        let moved = problem.nudged(vec![Vector3::new(1.0, 2.0, 3.0); 3]);
        let by = |node: f64| Vector3::new(0.05 * node.sin(), 0.05 * node.cos(), 0.0);
        assert_eq!(moved.len(), 3);
        for (found, by) in moved.iter().zip([Vector3::zeros(), by(1.0), by(2.0)]) {
            assert!((found - Vector3::new(1.0, 2.0, 3.0) - by).norm() < 1e-12, "{found}");
        }
    }

    /// Of steps 0, 3 and 3.5 m the first line changes most; of 0, 3 and −1 m the second.
    #[test]
    fn the_line_that_moves_most_is_named() {
        let (model, ground) = (model(), Ground::flat());
        let problem = Problem::new(&model, &ground, 3);
        let worst = |steps: [f64; 3]| problem.worst_line(&steps.map(|east| Vector3::x() * east));
        assert_eq!((worst([0.0, 3.0, 3.5]), worst([0.0, 3.0, -1.0])), (0, 1));
    }
}
