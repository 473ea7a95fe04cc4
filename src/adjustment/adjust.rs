//! The whole adjustment: every connected part solved, and gathered into one result.

use super::border::{Border, Edge};
use super::closure::closures;
use super::common::Common;
use super::compass_rule;
use super::covariance::{Checked, Inverse, of_line, of_points, of_turns};
use super::draws::Sampler;
use super::errors::AllErrors;
use super::factor::Blocks;
use super::heights::{AdjustedHeight, back_substituted};
use super::left_out::{ReadAt, leave_out};
use super::linear::Linear;
use super::normal::Positions;
use super::outcome::{Adjusted, Fit, Method, Part, Residual, Unsettled};
use super::piecewise_start::solved_by_pieces;
use super::raw::{Raw, raw, start};
use super::restarts::lowest_of_others;
use super::robust;
use super::shared::Shared;
use super::shared_tilt;
use super::solve::{Problem, Solution, Stuck};
use super::study::{Results, Sharing, share_heights, solve_study};
use super::weights::{Model, model};
use crate::adjustment::network::{Component, Network};
use crate::maths::ground::Ground;
use crate::maths::parallel;
use crate::maths::statistics::interval::chi_square_upper;
use crate::survey::settings::Precision;
use nalgebra::{Matrix3, Vector3};

/// A sum of squares less likely than this may lie in a wrong minimum: another start is tried.
const FITS: f64 = 0.01;
/// Degrees of freedom below this are none: rounding, or a check so weak that it tells nothing.
const LEAST_FREEDOM: f64 = 0.01;

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
    let how = How { method, keep_factors, near: None, left_out: &[] };
    adjust_as(network, precision, ground, how)
}

/// Least squares again, from positions `near` the solution, with the readings of `left_out` weighed so
/// little that they tell nothing.
pub(super) fn adjust_again(
    network: &Network,
    precision: &Precision,
    ground: &Ground,
    near: &[[f64; 3]],
    left_out: &[ReadAt],
) -> Adjusted {
    let method = Method::LeastSquares;
    let how = How { method, keep_factors: false, near: Some(near), left_out };
    adjust_as(network, precision, ground, how)
}

/// How to adjust.
#[derive(Clone, Copy)]
pub(super) struct How<'a> {
    method: Method,
    keep_factors: bool,
    /// Where every node lay before, if it was adjusted: no other start is tried then.
    near: Option<&'a [[f64; 3]]>,
    /// Readings that are to tell nothing.
    left_out: &'a [ReadAt],
}

fn adjust_as(network: &Network, precision: &Precision, ground: &Ground, how: How<'_>) -> Adjusted {
    let method = how.method;
    let raw = raw(network, precision, ground);
    let common = Common::of(network, precision);
    let mut adjusted =
        Adjusted { closures: closures(network, precision, &raw, &common), ..Adjusted::default() };
    adjusted.covariances = vec![Matrix3::zeros(); network.nodes.len()];
    match method {
        Method::LeastSquares | Method::Robust => {
            adjusted.positions.clone_from(&raw.start.positions);
            adjusted.line_covariances = vec![Matrix3::zeros(); network.lines.len()];
            let (raw, common) = (&raw, &common);
            let task = Task { network, precision, ground, raw, common, how };
            task.gather_all(&mut adjusted);
        }
        Method::CompassRule => {
            let by_hand = compass_rule::positions(network, &raw.traverse, &adjusted.closures);
            adjusted.positions = by_hand;
        }
        Method::None => adjusted.positions.clone_from(&raw.traverse.positions),
    }
    if !method.has_covariance() {
        adjusted.heights = heights(network, precision, ground, &adjusted);
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

/// What the parts are solved with.
#[derive(Clone, Copy)]
pub(super) struct Task<'a> {
    pub(super) network: &'a Network,
    pub(super) precision: &'a Precision,
    pub(super) ground: &'a Ground,
    pub(super) raw: &'a Raw,
    /// The common errors that the readings of the network have been freed of.
    pub(super) common: &'a Common,
    pub(super) how: How<'a>,
}

/// One part solved.
pub(super) struct PartResult {
    pub(super) positions: Vec<Vector3<f64>>,
    pub(super) covariances: Vec<Matrix3<f64>>,
    pub(super) line_covariances: Vec<Matrix3<f64>>,
    pub(super) residuals: Vec<Residual>,
    pub(super) fit: Fit,
    pub(super) sampler: Option<Sampler>,
    /// `None` where no common error is allowed for.
    pub(super) sharing: Option<Sharing>,
}

impl Task<'_> {
    /// Solves the study, and gathers its parts in order.
    fn gather_all(&self, adjusted: &mut Adjusted) {
        let (results, common) = solve_study(self);
        let mut shared = Vec::with_capacity(results.len());
        let local = self.local_indices();
        for (part, result) in self.network.components.iter().zip(results) {
            match result {
                Ok(mut result) => {
                    let ends = |&line: &usize| {
                        let line = &self.network.lines[line];
                        [local[line.from], local[line.to]]
                    };
                    shared.push(result.share(part.lines.iter().map(ends), &common));
                    gather(part, result, adjusted);
                }
                Err(unsettled) => {
                    shared.push(Shared::default());
                    give_up(part, unsettled, adjusted);
                }
            }
        }
        let network = common.corrected(self.network);
        adjusted.heights = heights(&network, self.precision, self.ground, adjusted);
        for (part, shared) in self.network.components.iter().zip(&shared) {
            let Adjusted { positions, heights, .. } = adjusted;
            share_heights(part, shared, self.ground, positions, heights);
        }
        adjusted.common = common;
    }

    /// Solves every part.
    pub(super) fn solve_all(&self) -> Results {
        let local = self.local_indices();
        parallel::each(&self.network.components, |part| self.solve(part, &local))
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

    /// The solution next to where the part lay before; `None` where it lay nowhere or does not settle
    /// from there.
    fn again(&self, problem: &Problem<'_>, part: &Component) -> Option<Solution> {
        let near = self.how.near?;
        let start: Vec<Vector3<f64>> = part
            .nodes
            .iter()
            .map(|&node| near.get(node).copied().map(Vector3::from))
            .collect::<Option<_>>()?;
        let known = start.iter().all(|place| place.iter().all(|x| x.is_finite()));
        problem.solve(Some(start).filter(|_| known)?).ok()
    }

    /// The solution next to the raw traverse. Where a needle points backward there, a short line may
    /// only have been come to from its far side: the linear network gives another start, and the
    /// lower of the two is taken.
    fn lowest(
        &self,
        problem: &Problem<'_>,
        raw: &Raw,
        part: &Component,
    ) -> Result<Solution, Unsettled> {
        if let Some(again) = self.again(problem, part) {
            return Ok(again);
        }
        let at = |&node: &usize| start(self.network, self.precision, raw, node);
        let walk: Vec<Vector3<f64>> = part.nodes.iter().map(at).collect();
        let near = problem.solve(solved_by_pieces(problem.model, self.ground, walk.clone()));
        let is_good = |near: &Solution| {
            !problem.points_backward(&near.positions) && fits(problem.model, near.cost)
        };
        let found = if near.as_ref().is_ok_and(is_good) {
            near
        } else {
            let linear = Linear::of(self.network, self.precision, self.ground, part, raw);
            let other = linear.and_then(|linear| {
                let other = problem.solve(linear.positions.clone());
                other.or_else(|_| problem.solve(problem.nudged(linear.positions))).ok()
            });
            match (near, other) {
                (Ok(near), Some(other)) if near.cost <= other.cost => Ok(near),
                (_, Some(other)) => Ok(other),
                (near, None) => near,
            }
        };
        let lowest = match self.how.near {
            None => lowest_of_others(problem, found, &walk),
            Some(_) => found,
        };
        lowest.map_err(|stuck| unsettled(part, stuck))
    }

    fn solve_at(
        &self,
        raw: &Raw,
        part: &Component,
        local: &[usize],
    ) -> Result<PartResult, Unsettled> {
        let mut model = model(self.network, part, self.precision, raw, local);
        leave_out(&mut model, part, self.how.left_out);
        if self.how.method == Method::Robust {
            self.reweigh(&mut model, raw, part)?;
        }
        let problem = Problem::new(&model, self.ground, part.nodes.len());
        let solution = self.lowest(&problem, raw, part)?;
        let x = &solution.positions;
        let lost = problem.lost(x);
        let problem = if lost.is_empty() {
            problem
        } else {
            for at in lost {
                model.readings[at].as_read = true;
            }
            Problem::new(&model, self.ground, part.nodes.len())
        };
        let (factor, within) = problem.factor(x).map_err(|stuck| unsettled(part, stuck))?;
        let inverse = Inverse::of(&problem, &factor);
        let line_covariances: Vec<Matrix3<f64>> =
            model.lines.iter().map(|line| inverse.of_line(line)).collect();
        let residuals = residuals(part, &problem, &inverse, &line_covariances, x);
        let fit = fit(part, &model, &residuals, solution.steps);
        let covariances: Vec<Matrix3<f64>> =
            (0..x.len()).map(|node| inverse.of_nodes(node, node)).collect();
        drop(inverse);
        let known = (self.network, self.precision);
        let errors =
            self.how.keep_factors.then(|| AllErrors::of(&problem, known, &part.nodes, x, &within));
        let sharing = self.sharing(part, &problem, (x, &factor), &fit);
        let Problem { pattern, .. } = problem;
        let lean = shared_tilt::column(&model, &pattern, &factor);
        let sampler =
            errors.map(|errors| Sampler::new(pattern, factor, model.held.clone(), errors));
        let positions = solution.positions;
        let mut result = PartResult {
            positions,
            covariances,
            line_covariances,
            residuals,
            fit,
            sampler,
            sharing,
        };
        let ends = model.lines.iter().map(|line| [line.from, line.to]);
        result.widen(ends, &Shared(lean.into_iter().collect()));
        Ok(result)
    }

    /// What the common errors have to do with a part; `None` where none is allowed for.
    fn sharing(
        &self,
        part: &Component,
        problem: &Problem<'_>,
        (x, factor): (&Positions, &Blocks),
        fit: &Fit,
    ) -> Option<Sharing> {
        let Self { network, precision, common, .. } = *self;
        if common.is_empty() {
            return None;
        }
        let edge = Edge { network, precision, common, part };
        let is_checked = fit.degrees_of_freedom > 0.0;
        let evidence = if is_checked { Border::evidence(&edge, problem, x) } else { None };
        let response = Border::of(&edge, problem, x).response(|b| problem.pattern.solve(factor, b));
        Some(Sharing { response, evidence })
    }
}

/// Whether the sum of squares is one that the stated instruments may leave. What the model assumes
/// counts as read: it only makes this a little stricter where there is little redundancy.
fn fits(model: &Model, cost: f64) -> bool {
    let freedom = model.redundancy();
    cost < 1.0 || chi_square_upper(cost, freedom.max(1) as f64) > FITS
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
    let more = model.redundancy() as f64;
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

#[cfg(test)]
mod tests {
    use super::super::written::survey;
    use super::*;

    /// Of two trails the first is given up: nothing of it is told, and all of the other.
    #[test]
    fn what_did_not_settle_is_not_told() {
        let rows = "trail,anchor,tape_m,bearing_deg,incline_deg\nBor,0,,,\nBor,1,5,90,0\n\
                    Jel,0,,,\nJel,1,5,90,0";
        let (survey, network) = survey(rows, "");
        let precision = &survey.settings.precision;
        let mut adjusted =
            adjust(&network, precision, &Ground::flat(), Method::LeastSquares, false);
        let before = adjusted.clone();
        let unsettled = Unsettled { trails: vec![0], line: 0 };
        give_up(&network.components[0], unsettled.clone(), &mut adjusted);
        assert_eq!(adjusted.unsettled, [unsettled]);
        for node in 0..2 {
            assert!(adjusted.positions[node].iter().all(|x| x.is_nan()));
            assert!(adjusted.covariances[node].iter().all(|x| x.is_nan()));
        }
        assert!(adjusted.line_covariances[0].iter().all(|x| x.is_nan()));
        assert_eq!(adjusted.positions[2..], before.positions[2..]);
        assert_eq!(adjusted.covariances[2..], before.covariances[2..]);
        assert_eq!(adjusted.line_covariances[1..], before.line_covariances[1..]);
    }
}
