//! One connected part as a linear network: every reading taken at the raw geometry of its own line.
//!
//! A slip bends the adjusted network and spoils the derivatives of all lines near it. At the raw
//! geometry only the spoilt line itself is wrong: all others lie as they were read. What the other
//! readings make of one line follows from the factor by taking that line's block out of it.

use super::factor::{Blocks, Pattern};
use super::leave_one_out::{LEAST_INFORMATION, Rest};
use super::normal::above_ground;
use super::observation::{Kind, Observation};
use super::raw::{Raw, start};
use super::weights::{Model, ModelTurn, model};
use crate::adjustment::network::{Component, Network};
use crate::maths::ground::Ground;
use crate::survey::settings::Precision;
use nalgebra::{Matrix3, SymmetricEigen, Vector3};

/// A redundancy below this is none: rounding alone makes as much.
const NO_REDUNDANCY: f64 = 1e-7;

/// One connected part, linear and solved.
pub(super) struct Linear {
    pub(super) model: Model,
    /// The raw vector along each line, metres.
    pub(super) vectors: Vec<Vector3<f64>>,
    /// Where the solution puts each node, metres.
    pub(super) positions: Vec<Vector3<f64>>,
    /// Sum of squared residuals over their standard deviations.
    pub(super) statistic: f64,
    pattern: Pattern,
    factor: Blocks,
    inverse: Blocks,
    free: Vec<Vector3<f64>>,
    nodes: Vec<usize>,
}

/// A reading against the linear network.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tested {
    pub(super) kind: Kind,
    pub(super) assumed: bool,
    /// One standard deviation, as the solver has it.
    pub(super) sd: f64,
    /// Share of it that others check.
    pub(super) redundancy: f64,
    /// Residual over its own standard deviation; `None` where nothing checks the reading.
    pub(super) standardised: Option<f64>,
    /// How far what the others make of it lies from what was read; 0 where nothing checks it.
    pub(super) off: f64,
}

impl Tested {
    /// The slip that shifts the standardised residual by one, in the unit of its sd; infinite where
    /// nothing checks the reading.
    ///
    /// ```text
    /// σ / √r
    /// ```
    pub(super) fn found_from(&self) -> f64 {
        self.standardised.map_or(f64::INFINITY, |_| self.sd / self.redundancy.sqrt())
    }
}

impl Linear {
    /// The part solved; `None` where its equations are not definite.
    pub(super) fn of(
        network: &Network,
        precision: &Precision,
        ground: &Ground,
        part: &Component,
        raw: &Raw,
    ) -> Option<Self> {
        let mut local = vec![0; network.nodes.len()];
        for (at, &node) in part.nodes.iter().enumerate() {
            local[node] = at;
        }
        let mut model = model(network, part, precision, raw, &local);
        for (line, &at) in model.lines.iter().zip(&part.lines) {
            let rise = raw.start.lines[at].rise;
            stretch_plumb(&mut model.readings[line.first..line.end], rise, precision.plumb_m);
        }
        let vectors = part.lines.iter().map(|&line| Vector3::from(raw.start.lines[line].vector()));
        let at = |&node: &usize| start(network, precision, raw, node);
        let keep = |held: bool| if held { 0.0 } else { 1.0 };
        let free = model.held.iter().map(|&[p, u]| Vector3::new(keep(p), keep(p), keep(u)));
        let mut linear = Self {
            vectors: vectors.collect(),
            positions: part.nodes.iter().map(at).collect(),
            statistic: 0.0,
            pattern: Pattern::of(part.nodes.len(), &edges(&model)),
            factor: Blocks::default(),
            inverse: Blocks::default(),
            free: free.collect(),
            nodes: part.nodes.clone(),
            model,
        };
        linear.solve(ground)?;
        Some(linear)
    }

    fn solve(&mut self, ground: &Ground) -> Option<()> {
        let mut blocks = Blocks::zero(&self.pattern);
        let mut step = vec![Vector3::zeros(); self.positions.len()];
        self.for_each(ground, |terms, residual, sd| {
            let weight = sd.powi(-2);
            for (index, &(a, ja)) in terms.iter().enumerate() {
                let ja = ja.component_mul(&self.free[a]);
                step[a] -= ja * (weight * residual);
                for (other, &(b, jb)) in terms[..=index].iter().enumerate() {
                    let jb = jb.component_mul(&self.free[b]);
                    let block = ja * jb.transpose() * weight;
                    // Two of the ends may be one node: both products fall on its own block.
                    let mirrored = a == b && other != index;
                    let block = if mirrored { block + block.transpose() } else { block };
                    add(&self.pattern, &mut blocks, [a, b], &block);
                }
            }
        });
        for (node, free) in self.free.iter().enumerate() {
            let own = &mut blocks.diagonal[self.pattern.place_of[node]];
            for k in (0..3).filter(|&k| free[k] == 0.0) {
                own[(k, k)] = 1.0; // a held coordinate's equation is "the step is zero"
            }
        }
        if !self.pattern.factorise(&mut blocks) {
            return None;
        }
        self.pattern.solve(&blocks, &mut step);
        self.inverse = self.pattern.inverse(&blocks);
        self.factor = blocks;
        let mut statistic = 0.0;
        self.for_each(ground, |terms, residual, sd| {
            let moved: f64 = terms.iter().map(|&(node, j)| j.dot(&step[node])).sum();
            statistic += ((residual + moved) / sd).powi(2);
        });
        self.statistic = statistic;
        self.positions.iter_mut().zip(&step).for_each(|(x, step)| *x += step);
        Some(())
    }

    /// Hands every reading on: the nodes it joins with its derivatives, its residual at the
    /// positions, and its standard deviation.
    fn for_each(&self, ground: &Ground, mut take: impl FnMut(&[(usize, Vector3<f64>)], f64, f64)) {
        let x = &self.positions;
        for (line, &w) in self.model.lines.iter().zip(&self.vectors) {
            let off = x[line.to] - x[line.from] - w;
            for reading in &self.model.readings[line.first..line.end] {
                let a = reading.gradient(w);
                let residual = reading.residual(w) + a.dot(&off);
                take(&[(line.from, -a), (line.to, a)], residual, reading.sd);
            }
        }
        for turn in &self.model.turns {
            let (line, before) = (self.model.lines[turn.line], self.model.lines[turn.before]);
            let (w, by) = (self.vectors[turn.line], self.vectors[turn.before]);
            let (residual, a, b) = turn_at(turn, w, by);
            let off = x[line.to] - x[line.from] - w;
            let off_before = x[before.to] - x[before.from] - by;
            let ends = [(line.from, -a), (line.to, a), (before.from, -b), (before.to, b)];
            take(&ends, residual + a.dot(&off) + b.dot(&off_before), turn.reading.sd);
        }
        for point in &self.model.points {
            let (at, derivative) = above_ground(ground, &point.reading, x[point.node]);
            let is_height = point.reading.kind == Kind::Height;
            let a = if is_height { derivative } else { point.reading.gradient(at) };
            take(&[(point.node, a)], point.reading.residual(at), point.reading.sd);
        }
    }

    /// Covariance of the nodes `a` and `b`, which must be joined in the pattern.
    pub(super) fn covariance(&self, a: usize, b: usize) -> Matrix3<f64> {
        let block = if a == b {
            self.inverse.diagonal[self.pattern.place_of[a]]
        } else {
            let (at, transposed) = self.pattern.block(a, b);
            let block = self.inverse.below[at];
            if transposed { block.transpose() } else { block }
        };
        block.component_mul(&(self.free[a] * self.free[b].transpose()))
    }

    /// Covariance of every node with the node at `at`, by local index.
    pub(super) fn column(&self, at: usize) -> Vec<Matrix3<f64>> {
        let mut column = vec![Matrix3::zeros(); self.positions.len()];
        for k in 0..3 {
            let mut unit = vec![Vector3::zeros(); self.positions.len()];
            unit[at][k] = self.free[at][k];
            self.pattern.solve(&self.factor, &mut unit);
            for ((cell, x), free) in column.iter_mut().zip(&unit).zip(&self.free) {
                cell.set_column(k, &x.component_mul(free));
            }
        }
        column
    }

    /// The local index of a node of the network; `None` for one of another part.
    pub(super) fn local(&self, node: usize) -> Option<usize> {
        self.nodes.binary_search(&node).ok()
    }

    fn covariance_of_line(&self, line: usize) -> Matrix3<f64> {
        let l = &self.model.lines[line];
        let across = self.covariance(l.from, l.to);
        self.covariance(l.from, l.from) + self.covariance(l.to, l.to) - across - across.transpose()
    }

    /// The vector along a line as solved.
    pub(super) fn along(&self, line: usize) -> Vector3<f64> {
        let l = &self.model.lines[line];
        self.positions[l.to] - self.positions[l.from]
    }

    /// Where the solution puts a node of the network; `None` for one of another part.
    pub(super) fn position_of(&self, node: usize) -> Option<Vector3<f64>> {
        self.local(node).map(|at| self.positions[at])
    }

    /// The readings of a line.
    pub(super) fn readings(&self, line: usize) -> &[Observation] {
        let l = &self.model.lines[line];
        &self.model.readings[l.first..l.end]
    }

    /// Every reading of a line against all readings.
    pub(super) fn tested(&self, line: usize) -> impl Iterator<Item = Tested> + '_ {
        let (w, off) = (self.vectors[line], self.along(line) - self.vectors[line]);
        let covariance = self.covariance_of_line(line);
        self.readings(line).iter().map(move |reading| {
            let a = reading.gradient(w);
            let residual = reading.residual(w) + a.dot(&off);
            tested(reading, residual, a.dot(&(covariance * a)))
        })
    }

    /// Every reading at a node against all readings, with the node by local index.
    pub(super) fn tested_points<'a>(
        &'a self,
        ground: &'a Ground,
    ) -> impl Iterator<Item = (usize, Tested)> + 'a {
        self.model.points.iter().map(move |point| {
            let at = self.positions[point.node];
            let (seen, derivative) = above_ground(ground, &point.reading, at);
            let is_height = point.reading.kind == Kind::Height;
            let a = if is_height { derivative } else { point.reading.gradient(seen) };
            let variance = a.dot(&(self.covariance(point.node, point.node) * a));
            (point.node, tested(&point.reading, point.reading.residual(seen), variance))
        })
    }

    /// Every turn against all readings, with its line by local index.
    pub(super) fn tested_turns(&self) -> impl Iterator<Item = (usize, Tested)> + '_ {
        self.model.turns.iter().map(move |turn| {
            let (line, before) = (self.model.lines[turn.line], self.model.lines[turn.before]);
            let (w, by) = (self.vectors[turn.line], self.vectors[turn.before]);
            let (residual, a, b) = turn_at(turn, w, by);
            let (off, off_before) = (self.along(turn.line) - w, self.along(turn.before) - by);
            let ends = [(line.from, -a), (line.to, a), (before.from, -b), (before.to, b)];
            let product = |(m, jm): (usize, Vector3<f64>), (n, jn): (usize, Vector3<f64>)| {
                jm.dot(&(self.covariance(m, n) * jn))
            };
            let variance: f64 =
                ends.iter().flat_map(|&m| ends.iter().map(move |&n| product(m, n))).sum();
            let residual = residual + a.dot(&off) + b.dot(&off_before);
            (turn.line, tested(&turn.reading, residual, variance))
        })
    }

    /// What all other readings make of a line. Its own block N is taken out of the inverse C of
    /// what all together know of its vector.
    ///
    /// ```text
    /// I = C⁻¹ − N
    /// ```
    pub(super) fn rest(&self, line: usize) -> Option<Rest> {
        let (w, at) = (self.vectors[line], self.along(line));
        let (mut own, mut pull, mut cost) = (Matrix3::zeros(), Vector3::zeros(), 0.0);
        for reading in self.readings(line) {
            let (a, weight) = (reading.gradient(w), reading.sd.powi(-2));
            let residual = reading.residual(w) + a.dot(&(at - w));
            own += a * a.transpose() * weight;
            pull += a * (weight * residual);
            cost += weight * residual * residual;
        }
        let all = self.covariance_of_line(line).try_inverse()?;
        let eigen = SymmetricEigen::new(all - own);
        let floor = (1e-9 * all.amax()).max(LEAST_INFORMATION);
        let mut information = Matrix3::zeros();
        for (axis, value) in eigen.eigenvectors.column_iter().zip(eigen.eigenvalues.iter()) {
            if *value > floor {
                information += axis * axis.transpose() * *value;
            }
        }
        Some(Rest { at, least: self.statistic - cost, pull, information })
    }
}

/// The tape along a plumb leg is longer than its rise by what the leg leans, and the raw geometry
/// has no lean. Its reading is lessened by the lean's mean, which is also taken as its spread.
///
/// ```text
/// √(Δz² + 2 plumb²) − |Δz|
/// ```
pub(super) fn stretch_plumb(readings: &mut [Observation], rise: f64, plumb_m: f64) {
    let leans = |o: &Observation| o.kind == Kind::Plumb { east: true } && o.stated;
    if !readings.iter().any(leans) {
        return;
    }
    let stretch = rise.hypot(plumb_m * std::f64::consts::SQRT_2) - rise.abs();
    for tape in readings.iter_mut().filter(|o| o.kind == Kind::Tape) {
        tape.value -= stretch;
        tape.sd = tape.sd.hypot(stretch);
    }
}

fn edges(model: &Model) -> Vec<(usize, usize)> {
    let mut edges: Vec<(usize, usize)> = model.lines.iter().map(|l| (l.from, l.to)).collect();
    for turn in &model.turns {
        let (a, b) = (model.lines[turn.before], model.lines[turn.line]);
        for one in [a.from, a.to] {
            edges.extend([b.from, b.to].map(|other| (one, other)));
        }
    }
    edges
}

fn add(pattern: &Pattern, blocks: &mut Blocks, [a, b]: [usize; 2], block: &Matrix3<f64>) {
    if a == b {
        blocks.diagonal[pattern.place_of[a]] += block;
    } else {
        let (at, transposed) = pattern.block(a, b);
        blocks.below[at] += if transposed { block.transpose() } else { *block };
    }
}

/// Predicted minus read turn from `before` to `w`, metres, and its derivatives by both.
fn turn_at(
    turn: &ModelTurn,
    w: Vector3<f64>,
    before: Vector3<f64>,
) -> (f64, Vector3<f64>, Vector3<f64>) {
    let from = Observation { value: 0.0, ..turn.reading };
    let course = Observation { value: from.predict(before) + turn.reading.value, ..from };
    (course.residual(w), course.gradient(w), -from.gradient(before))
}

fn tested(reading: &Observation, residual: f64, variance: f64) -> Tested {
    let Observation { kind, assumed, sd, .. } = *reading;
    let redundancy = (1.0 - variance / (sd * sd)).min(1.0);
    let some = redundancy > NO_REDUNDANCY;
    let standardised = some.then(|| residual / (sd * redundancy.sqrt()));
    let off = if some { residual / redundancy } else { 0.0 };
    Tested { kind, assumed, sd, redundancy, standardised, off }
}
