//! The whole adjustment: every connected part, gathered into one result.

use super::closure::{Closure, closures};
use super::compass_rule;
use super::covariance::{Checked, Inverse, of_line, of_points, of_turns};
use super::draws::Sampler;
use super::heights::{AdjustedHeight, back_substituted};
use super::lean::Lean;
use super::observation::Kind;
use super::pieces::solved_by_pieces;
use super::robust;
use super::solve::{Problem, Stuck};
use super::weights::{Model, Raw, model, raw, start};
use crate::ground::Ground;
use crate::network::traverse::Traverse;
use crate::network::{Component, Network};
use crate::statistics::interval::chi_square_upper;
use crate::survey::settings::Precision;
use nalgebra::{Matrix3, Vector3};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::channel;
use std::thread;

/// Degrees of freedom below this are none: rounding, or a check so weak that it tells nothing.
const LEAST_FREEDOM: f64 = 0.01;

/// How positions are found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Method {
    /// Weighted nonlinear least squares.
    #[default]
    LeastSquares,
    /// Least squares by Huber's weights: see [`super::robust`].
    Robust,
    /// The compass rule: see [`super::compass_rule`].
    CompassRule,
    /// The raw traverse, unadjusted.
    None,
}

impl Method {
    /// The name on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::LeastSquares => "least-squares",
            Self::Robust => "robust",
            Self::CompassRule => "compass-rule",
            Self::None => "none",
        }
    }

    /// All of them, the usual one first.
    pub const ALL: [Self; 4] = [Self::LeastSquares, Self::Robust, Self::CompassRule, Self::None];

    /// Whether it tells how well positions are known.
    pub const fn has_covariance(self) -> bool {
        matches!(self, Self::LeastSquares | Self::Robust)
    }
}

/// One reading against the adjusted network.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residual {
    /// The line it was read along, if it was.
    pub line: Option<usize>,
    /// The node it was read at, if it was.
    pub node: Option<usize>,
    /// What was read.
    pub kind: Kind,
    /// The reading, metres or radians; bearings true.
    pub observed: f64,
    /// Adjusted minus observed, metres or radians.
    pub residual: f64,
    /// One standard deviation of the reading, metres or radians.
    pub sd: f64,
    /// Share of it that other readings check.
    pub redundancy: f64,
    /// Residual over its own standard deviation.
    pub standardised: Option<f64>,
    /// The smallest slip in it that would be found, metres or radians.
    pub detectable: Option<f64>,
    /// Whether the model assumed it, to have a firm minimum.
    pub assumed: bool,
}

/// The global test of one connected part.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Its trails, by index.
    pub trails: Vec<usize>,
    /// Sum of squared residuals over their standard deviations; assumed readings left out.
    pub statistic: f64,
    /// How many readings more than were needed, as far as they check each other: not whole where
    /// the model had to assume some.
    pub degrees_of_freedom: f64,
    /// The chance of a sum this large, were there no slip; `None` without any redundancy.
    pub p_value: Option<f64>,
    /// Steps of the iteration.
    pub steps: usize,
}

/// A part that did not settle: nothing is known of its positions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unsettled {
    /// Its trails, by index.
    pub trails: Vec<usize>,
    /// The line that still moved most.
    pub line: usize,
}

/// Where a part's nodes are found in its draws.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its nodes, ascending; a draw counts them from 0.
    pub nodes: Vec<usize>,
    /// Draws its paths.
    pub sampler: Sampler,
}

/// The network adjusted.
#[derive(Clone, Debug, Default)]
pub struct Adjusted {
    /// East, north and up of each node, metres; not a number in a part that did not settle, here
    /// and below.
    pub positions: Vec<[f64; 3]>,
    /// Their covariances, metres²; empty without an adjustment.
    pub covariances: Vec<Matrix3<f64>>,
    /// Covariance of the vector along each line, metres²; empty without an adjustment.
    pub line_covariances: Vec<Matrix3<f64>>,
    /// Heights above ground.
    pub heights: Vec<AdjustedHeight>,
    /// Every reading, part by part: lines in order, turns, then points.
    pub residuals: Vec<Residual>,
    /// The global test of each part that has a line.
    pub fits: Vec<Fit>,
    /// The parts that did not settle.
    pub unsettled: Vec<Unsettled>,
    /// Every closure; of the readings alone, so that a part need not settle.
    pub closures: Vec<Closure>,
    /// The raw traverse.
    pub raw: Traverse,
    /// What is needed to draw paths, part by part; empty where no draws are wanted.
    pub parts: Vec<Part>,
}

/// Adjusts `network`. Parts are solved side by side; the result does not depend on how many
/// threads there are. `keep_factors` keeps what draws need. A part that does not settle leaves the
/// others as they are.
pub fn adjust(
    network: &Network,
    precision: &Precision,
    ground: &Ground,
    method: Method,
    keep_factors: bool,
) -> Adjusted {
    let raw = raw(network, precision, ground);
    let mut adjusted =
        Adjusted { closures: closures(network, precision, &raw), ..Adjusted::default() };
    adjusted.covariances = vec![Matrix3::zeros(); network.nodes.len()];
    match method {
        Method::LeastSquares | Method::Robust => {
            adjusted.positions.clone_from(&raw.start.positions);
            adjusted.line_covariances = vec![Matrix3::zeros(); network.lines.len()];
            let robust = method == Method::Robust;
            let task = Task { network, precision, ground, raw: &raw, keep_factors, robust };
            task.solve_all(&mut adjusted);
        }
        Method::CompassRule => {
            let by_hand = compass_rule::positions(network, &raw.traverse, &adjusted.closures);
            adjusted.positions = by_hand;
        }
        Method::None => adjusted.positions.clone_from(&raw.traverse.positions),
    }
    adjusted.heights = heights(network, precision, ground, &adjusted);
    if !method.has_covariance() {
        adjusted.covariances = Vec::new();
    }
    adjusted.raw = raw.traverse;
    adjusted
}

fn heights(
    network: &Network,
    precision: &Precision,
    ground: &Ground,
    adjusted: &Adjusted,
) -> Vec<AdjustedHeight> {
    (0..network.nodes.len())
        .map(|node| {
            let position = Vector3::from(adjusted.positions[node]);
            if position.x.is_nan() {
                return AdjustedHeight::UNKNOWN;
            }
            let estimate = (&position, &adjusted.covariances[node]);
            back_substituted(network, precision, ground, node, estimate)
        })
        .collect()
}

struct Task<'a> {
    network: &'a Network,
    precision: &'a Precision,
    ground: &'a Ground,
    raw: &'a Raw,
    keep_factors: bool,
    robust: bool,
}

/// One part solved.
struct PartResult {
    positions: Vec<Vector3<f64>>,
    covariances: Vec<Matrix3<f64>>,
    line_covariances: Vec<Matrix3<f64>>,
    residuals: Vec<Residual>,
    fit: Fit,
    sampler: Option<Sampler>,
}

impl Task<'_> {
    /// Solves every part on as many threads as there are cores, and gathers them in order.
    fn solve_all(&self, adjusted: &mut Adjusted) {
        let parts = &self.network.components;
        let local = self.local_indices();
        let threads = thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let next = AtomicUsize::new(0);
        let mut results: Vec<Option<Result<PartResult, Unsettled>>> = Vec::new();
        results.resize_with(parts.len(), || None);
        thread::scope(|scope| {
            let (send, receive) = channel();
            for _ in 0..threads.min(parts.len()) {
                let (send, next, local) = (send.clone(), &next, &local);
                scope.spawn(move || {
                    loop {
                        let at = next.fetch_add(1, Ordering::Relaxed);
                        let Some(part) = parts.get(at) else { break };
                        if send.send((at, self.solve(part, local))).is_err() {
                            break;
                        }
                    }
                });
            }
            drop(send);
            for (at, result) in receive {
                results[at] = Some(result);
            }
        });
        for (part, result) in parts.iter().zip(results) {
            match result {
                Some(Ok(result)) => gather(part, result, adjusted),
                Some(Err(unsettled)) => give_up(part, unsettled, adjusted),
                None => {}
            }
        }
    }

    /// The index of every node within its own part.
    fn local_indices(&self) -> Vec<usize> {
        let mut local = vec![0; self.network.nodes.len()];
        for part in &self.network.components {
            for (at, &node) in part.nodes.iter().enumerate() {
                local[node] = at;
            }
        }
        local
    }

    /// Solves a part; where its steep legs pull so hard at what they share that it does not
    /// settle, with each by itself.
    fn solve(&self, part: &Component, local: &[usize]) -> Result<PartResult, Unsettled> {
        let solved = self.solve_at(self.raw, part, local);
        match solved {
            Err(_) if self.raw.any_steep(&part.lines) => {
                self.solve_at(&self.raw.with_even_legs(), part, local)
            }
            solved => solved,
        }
    }

    /// Robust weights for the readings of a part, found round by round.
    fn reweigh(&self, model: &mut Model, raw: &Raw, part: &Component) -> Result<(), Unsettled> {
        let stated = model.clone();
        let at = |&node: &usize| start(self.network, self.precision, raw, node);
        let mut x: Vec<Vector3<f64>> = part.nodes.iter().map(at).collect();
        for _ in 0..robust::MOST_ROUNDS {
            let problem = Problem::new(model, self.ground, part.nodes.len());
            x = problem.solve(x).map_err(|stuck| unsettled(part, stuck))?.positions;
            if robust::reweigh(model, &stated, self.ground, &x) {
                break;
            }
        }
        Ok(())
    }

    fn solve_at(
        &self,
        raw: &Raw,
        part: &Component,
        local: &[usize],
    ) -> Result<PartResult, Unsettled> {
        let mut model = model(self.network, part, self.precision, raw, local);
        if self.robust {
            self.reweigh(&mut model, raw, part)?;
        }
        let problem = Problem::new(&model, self.ground, part.nodes.len());
        let at = |&node: &usize| start(self.network, self.precision, raw, node);
        let start = part.nodes.iter().map(at).collect();
        let start = solved_by_pieces(&model, self.ground, start);
        let solution = problem.solve(start).map_err(|stuck| unsettled(part, stuck))?;
        let inverse = Inverse::of(&problem, &solution.factor);
        let x = &solution.positions;
        let mut line_covariances: Vec<Matrix3<f64>> =
            model.lines.iter().map(|line| inverse.of_line(line)).collect();
        let residuals = residuals(part, &problem, &inverse, &line_covariances, x);
        let fit = fit(part, &model, &residuals, solution.steps);
        let mut covariances: Vec<Matrix3<f64>> =
            (0..x.len()).map(|node| inverse.of_nodes(node, node)).collect();
        drop(inverse);
        let Problem { pattern, .. } = problem;
        let lean = Lean::of(&model, &pattern, &solution.factor);
        if let Some(lean) = &lean {
            let nodes = covariances.iter_mut().enumerate();
            nodes.for_each(|(node, covariance)| *covariance += lean.of_node(node));
            let lines = line_covariances.iter_mut().zip(&model.lines);
            lines.for_each(|(covariance, line)| *covariance += lean.between(line.from, line.to));
        }
        let keep = |factor| Sampler::new(pattern, factor, model.held.clone(), lean);
        let sampler = self.keep_factors.then(|| keep(solution.factor));
        Ok(PartResult {
            positions: solution.positions,
            covariances,
            line_covariances,
            residuals,
            fit,
            sampler,
        })
    }
}

fn unsettled(part: &Component, stuck: Stuck) -> Unsettled {
    let line = part.lines.get(stuck.line).copied().unwrap_or(0);
    Unsettled { trails: part.trails.clone(), line }
}

fn residuals(
    part: &Component,
    problem: &Problem<'_>,
    inverse: &Inverse<'_>,
    line_covariances: &[Matrix3<f64>],
    x: &[Vector3<f64>],
) -> Vec<Residual> {
    let Model { readings, turns, points, .. } = problem.model;
    let mut found = Vec::with_capacity(readings.len() + turns.len() + points.len());
    for (at, line) in problem.model.lines.iter().enumerate() {
        let checks = of_line(problem, line, &line_covariances[at], x);
        found.extend(checks.map(|check| residual(check, Some(part.lines[at]), None)));
    }
    for (line, check) in of_turns(problem, inverse, x) {
        found.push(residual(check, Some(part.lines[line]), None));
    }
    for (node, check) in of_points(problem, inverse, x) {
        found.push(residual(check, None, Some(part.nodes[node])));
    }
    found
}

fn residual(check: Checked, line: Option<usize>, node: Option<usize>) -> Residual {
    Residual {
        line,
        node,
        kind: check.reading.kind,
        observed: check.reading.value,
        residual: check.residual,
        sd: check.sd,
        redundancy: check.redundancy,
        standardised: check.standardised,
        detectable: check.detectable,
        assumed: check.reading.assumed,
    }
}

/// The global test. What an assumed reading takes up is left out of the degrees of freedom as its
/// residual is left out of the statistic, so that the mean of the one is the other.
///
/// ```text
/// f = readings − unknowns − Σ r of those assumed
/// ```
fn fit(part: &Component, model: &Model, residuals: &[Residual], steps: usize) -> Fit {
    let held: usize =
        model.held.iter().map(|&[plan, up]| 2 * usize::from(plan) + usize::from(up)).sum();
    let unknowns = 3 * model.held.len() - held;
    let more = residuals.len().saturating_sub(unknowns) as f64;
    let assumed = residuals.iter().filter(|residual| residual.assumed);
    let degrees_of_freedom = more - assumed.map(|residual| residual.redundancy).sum::<f64>();
    let counted = residuals.iter().filter(|residual| !residual.assumed);
    let statistic = counted.map(|r| (r.residual / r.sd).powi(2)).sum();
    let any = degrees_of_freedom > LEAST_FREEDOM;
    let degrees_of_freedom = if any { degrees_of_freedom } else { 0.0 };
    let p_value = any.then(|| chi_square_upper(statistic, degrees_of_freedom));
    Fit { trails: part.trails.clone(), statistic, degrees_of_freedom, p_value, steps }
}

/// Positions that did not settle are worse than none: they look like the others.
fn give_up(part: &Component, unsettled: Unsettled, adjusted: &mut Adjusted) {
    for &node in &part.nodes {
        adjusted.positions[node] = [f64::NAN; 3];
        adjusted.covariances[node].fill(f64::NAN);
    }
    for &line in &part.lines {
        adjusted.line_covariances[line].fill(f64::NAN);
    }
    adjusted.unsettled.push(unsettled);
}

fn gather(part: &Component, result: PartResult, adjusted: &mut Adjusted) {
    for (at, &node) in part.nodes.iter().enumerate() {
        adjusted.positions[node] = result.positions[at].into();
        adjusted.covariances[node] = result.covariances[at];
    }
    for (at, &line) in part.lines.iter().enumerate() {
        adjusted.line_covariances[line] = result.line_covariances[at];
    }
    adjusted.residuals.extend(result.residuals);
    if !part.lines.is_empty() {
        adjusted.fits.push(result.fit);
    }
    if let Some(sampler) = result.sampler {
        adjusted.parts.push(Part { nodes: part.nodes.clone(), sampler });
    }
}
