//! Closures: how far each loop, each tie and each line between controls fails to meet, and what
//! the stated instruments lead one to expect.

use super::common::{Common, Instrument};
use super::raw::{Raw, height, height_shares};
use crate::adjustment::network::loops::{Step, along_tree, closing_lines};
use crate::adjustment::network::{Course, Line, Network, Turned, Written};
use crate::maths::quantity::Turn;
use crate::maths::statistics::interval::chi_square_upper;
use crate::survey::settings::Precision;
use nalgebra::{Matrix3, Vector3};
use std::collections::{BTreeMap, BTreeSet};

/// What closes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClosureKind {
    /// A leg comes back to an anchor that the walk has passed.
    Loop,
    /// A tie joins two anchors.
    Tie,
    /// The walk leads from one control to another.
    BetweenControls,
}

/// What a closure says, in one of four sentences.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// As good as the instruments.
    Closes,
    /// Worse than nineteen in twenty.
    Doubtful,
    /// Worse than 999 in 1,000: a slip.
    Fails,
    /// The positions are too coarse to check the walk.
    TooCoarse,
}

impl Verdict {
    /// The sentence for a reader.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Closes => "closes within instrument error",
            Self::Doubtful => "outside the 95 % range: measure again if you can",
            Self::Fails => "does not close: a slip is likely on this loop",
            Self::TooCoarse => "the positions are too coarse to check this trail",
        }
    }
}

/// One closure.
#[derive(Clone, Debug)]
pub struct Closure {
    /// What closes.
    pub kind: ClosureKind,
    /// The line that closes it; `None` between controls.
    pub line: Option<usize>,
    /// The node it starts and the node it ends at.
    pub ends: [usize; 2],
    /// The trails it runs along, ascending.
    pub trails: Vec<usize>,
    /// The lines it walks, in order.
    pub steps: Vec<Step>,
    /// How many they are.
    pub legs: usize,
    /// Their taped length, metres.
    pub length: f64,
    /// End minus start, walked minus known: east, north, up, metres.
    pub misclosure: [f64; 3],
    /// Root of the expected squared misclosure, metres.
    pub expected: f64,
    /// The chance of one this large, were there no slip.
    pub p_value: f64,
    /// The verdict.
    pub verdict: Verdict,
}

impl Closure {
    /// Horizontal misclosure, metres.
    pub fn horizontal(&self) -> f64 {
        self.misclosure[0].hypot(self.misclosure[1])
    }

    /// Misclosure in space, metres.
    pub fn total(&self) -> f64 {
        self.horizontal().hypot(self.misclosure[2])
    }

    /// The n of 1 : n; `None` where it closes exactly.
    pub fn ratio(&self) -> Option<f64> {
        (self.total() > 0.0).then(|| self.length / self.total())
    }
}

/// Every closure of the network: loops and ties in order, then lines between controls.
pub(super) fn closures(
    network: &Network,
    precision: &Precision,
    raw: &Raw,
    common: &Common,
) -> Vec<Closure> {
    let placed = placed(network);
    let spent = trees_of_one_needle(network, &placed);
    let survey = Surveyed { network, precision, raw, common, spent, placed };
    let closing = closing_lines(network).filter_map(|line| survey.closing(line));
    closing.chain(survey.between_controls()).collect()
}

/// How many positions each tree has, by root.
fn placed(network: &Network) -> BTreeMap<usize, usize> {
    let mut placed: BTreeMap<usize, usize> = BTreeMap::new();
    for (node, entered) in network.nodes.iter().enumerate() {
        if entered.known.is_some_and(|known| known.in_plan) {
            *placed.entry(network.tree[node].root).or_default() += 1;
        }
    }
    placed
}

/// Free trees that a single needle has turned, by root: across its line the walk fits it whatever it
/// says, so that nothing is checked there. Two positions would turn it as well, and check it.
fn trees_of_one_needle(network: &Network, placed: &BTreeMap<usize, usize>) -> BTreeSet<usize> {
    let by_tie = |root: &usize| network.turned.get(root) == Some(&Turned::OntoTies);
    let mut tell: BTreeMap<usize, usize> = BTreeMap::new();
    for line in network.lines.iter().filter(|line| line.needle().is_some()) {
        let [root, other] = [line.from, line.to].map(|node| network.tree[node].root);
        if root == other && by_tie(&root) {
            *tell.entry(root).or_default() += 1;
        }
    }
    let alone = |root: &usize| placed.get(root).is_none_or(|count| *count < 2);
    tell.into_iter().filter(|(root, n)| *n == 1 && alone(root)).map(|(root, _)| root).collect()
}

/// A reading that a closure rests on. Each counts once, however often the walk passes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Reading {
    Tape(usize),
    Azimuth(usize),
    Turn(usize),
    Carried(usize),
    Incline(usize),
    Rise(usize),
    Height(usize),
    PlumbEast(usize),
    PlumbNorth(usize),
}

struct Surveyed<'a> {
    network: &'a Network,
    precision: &'a Precision,
    raw: &'a Raw,
    common: &'a Common,
    /// Roots of the trees that one needle has turned.
    spent: BTreeSet<usize>,
    /// How many positions each tree has, by root.
    placed: BTreeMap<usize, usize>,
}

impl Surveyed<'_> {
    /// The closure of a line that closes a loop.
    fn closing(&self, line: usize) -> Option<Closure> {
        let l = &self.network.lines[line];
        let measured = self.measured(l);
        if measured == [false; 3] {
            return None;
        }
        let is_tie = matches!(l.written, Written::Tie(_));
        // A tie is held against the walk; a leg is the last of its walk.
        let (start, end, sense) = if is_tie { (l.from, l.to, -1.0) } else { (l.to, l.from, 1.0) };
        let mut steps = along_tree(self.network, start, end)?;
        steps.push(Step { line, sense });
        let kind = if is_tie { ClosureKind::Tie } else { ClosureKind::Loop };
        let (misclosure, covariance) = self.sum(&steps);
        let azimuth = self.raw.traverse.lines[line].azimuth;
        let mut closure = self.closure(kind, [start, end], &steps);
        closure.line = Some(line);
        closure.judge(misclosure, covariance, &axes(azimuth, measured));
        Some(closure)
    }

    /// Which components a closing line measures: along, across and up.
    fn measured(&self, l: &Line) -> [bool; 3] {
        let spent = self.spent.contains(&self.network.tree[l.from].root);
        let whole = l.tape.is_some() && l.course != Course::Open;
        let up = l.incline.is_some() || l.rise.is_some();
        let plan = whole || l.course == Course::Plumb;
        [plan || l.tape.is_some(), !spent && (plan || l.needle().is_some()), up]
    }

    /// Lines between controls: from each known node to the next on its tree.
    fn between_controls(&self) -> Vec<Closure> {
        let mut last: BTreeMap<usize, usize> = BTreeMap::new();
        let mut found = Vec::new();
        for (node, entered) in self.network.nodes.iter().enumerate() {
            if entered.known.is_none_or(|known| !known.in_plan) {
                continue;
            }
            if let Some(&start) = last.get(&self.network.tree[node].root) {
                found.extend(self.between(start, node));
            }
            last.insert(self.network.tree[node].root, node);
        }
        found
    }

    fn between(&self, start: usize, end: usize) -> Option<Closure> {
        let steps = along_tree(self.network, start, end)?;
        let (walked, covariance) = self.sum(&steps);
        let [a, b] = [start, end].map(|node| self.network.nodes[node].known);
        let (a, b) = a.zip(b)?;
        let known = Vector3::new(b.east - a.east, b.north - a.north, walked.z);
        let variance = |sd: Option<f64>| sd.unwrap_or(self.precision.control_m).powi(2);
        let coarse = variance(a.sd) + variance(b.sd);
        let controls = Matrix3::from_diagonal(&Vector3::new(coarse, coarse, 0.0));
        let mut closure = self.closure(ClosureKind::BetweenControls, [start, end], &steps);
        // A walk that was turned onto two positions is checked by the distance between them alone; of
        // more, its one rotation takes up next to nothing of each pair.
        let root = self.network.tree[start].root;
        let two = self.placed.get(&root).is_none_or(|count| *count <= 2);
        let spent = two && self.network.turned.contains_key(&root);
        let plan = axes(known.x.atan2(known.y), [true, !spent, false]);
        closure.judge(walked - known, covariance + controls, &plan);
        let walk = covariance.m11 + covariance.m22;
        // A check that is more than three times as coarse as what it checks finds nothing.
        if closure.verdict != Verdict::Fails && 2.0 * coarse > 9.0 * walk {
            closure.verdict = Verdict::TooCoarse;
        }
        Some(closure)
    }

    fn closure(&self, kind: ClosureKind, ends: [usize; 2], steps: &[Step]) -> Closure {
        let of = |step: &Step| self.network.lines[step.line];
        let mut trails: Vec<usize> = steps.iter().map(|step| of(step).trail).collect();
        trails.sort_unstable();
        trails.dedup();
        Closure {
            kind,
            line: None,
            ends,
            trails,
            steps: steps.to_vec(),
            legs: steps.len(),
            length: steps.iter().filter_map(|step| of(step).tape).sum(),
            misclosure: [0.0; 3],
            expected: 0.0,
            p_value: 1.0,
            verdict: Verdict::Closes,
        }
    }

    /// Sum of the walk and its covariance by propagation of the readings' variances.
    fn sum(&self, steps: &[Step]) -> (Vector3<f64>, Matrix3<f64>) {
        let mut total = Vector3::zeros();
        let mut derivatives: BTreeMap<Reading, Vector3<f64>> = BTreeMap::new();
        for &Step { line, sense } in steps {
            total += Vector3::from(self.raw.traverse.lines[line].vector()) * sense;
            self.derive(line, sense, &mut derivatives);
        }
        let spread = |(reading, by): (&Reading, &Vector3<f64>)| {
            by * by.transpose() * self.sd(*reading).powi(2)
        };
        let own: Matrix3<f64> = derivatives.iter().map(spread).sum();
        (total, own + self.common.stated_spread(&self.in_common(&derivatives)))
    }

    /// How far a sum moves with each common error of its readings.
    fn in_common(
        &self,
        derivatives: &BTreeMap<Reading, Vector3<f64>>,
    ) -> BTreeMap<usize, Vector3<f64>> {
        let mut all: BTreeMap<usize, Vector3<f64>> = BTreeMap::new();
        let mut add = |instrument, observer, by: Vector3<f64>| {
            if let Some(at) = self.common.at(instrument, observer) {
                *all.entry(at).or_insert_with(Vector3::zeros) += by;
            }
        };
        for (&reading, by) in derivatives {
            match reading {
                Reading::Tape(line) => {
                    let l = &self.network.lines[line];
                    add(Instrument::Tape, l.observer, by * l.tape.unwrap_or(0.0));
                }
                Reading::Azimuth(line) if self.network.lines[line].needle().is_some() => {
                    add(Instrument::Compass, self.network.lines[line].observer, *by);
                }
                Reading::Height(node) => {
                    let mean = height(self.network, self.precision, node).map_or(0.0, |(h, _)| h);
                    for (observer, share) in height_shares(self.network, self.precision, node) {
                        add(Instrument::Height, observer, by * (share * mean));
                    }
                }
                _ => {}
            }
        }
        all
    }

    /// Adds what one line contributes to the derivatives of the sum by each reading.
    fn derive(&self, line: usize, sense: f64, to: &mut BTreeMap<Reading, Vector3<f64>>) {
        let l = &self.network.lines[line];
        let raw = self.raw.traverse.lines[line];
        let (sin, cos) = raw.azimuth.sin_cos();
        let (ahead, aside) = (Vector3::new(sin, cos, 0.0), Vector3::new(cos, -sin, 0.0));
        let mut add = |reading, by: Vector3<f64>| {
            *to.entry(reading).or_insert_with(Vector3::zeros) += by * sense;
        };
        let heights = [l.from, l.to].map(|node| self.network.height_at(node).is_some());
        let has_own = l.incline.is_some() || l.rise.is_some();
        let rise_by_heights = heights == [true; 2] && (self.network.in_tree(line) || !has_own);
        let by_rise: Vector3<f64>;
        if l.course == Course::Plumb {
            add(Reading::PlumbEast(line), Vector3::x());
            add(Reading::PlumbNorth(line), Vector3::y());
            by_rise = Vector3::z();
        } else if let (Some(incline), Some(tape)) = (l.incline, l.tape) {
            let (rise, run) = incline.sin_cos();
            let up = if rise_by_heights || l.rise.is_some() { 0.0 } else { 1.0 };
            add(Reading::Tape(line), ahead * run + Vector3::z() * (rise * up));
            add(Reading::Incline(line), (Vector3::z() * (run * up) - ahead * rise) * tape);
            by_rise = Vector3::z();
        } else if let (Some(incline), None, None) = (l.incline, l.tape, l.rise) {
            let slope = incline.tan().clamp(-STEEPEST, STEEPEST);
            add(Reading::Incline(line), Vector3::z() * (raw.horizontal * (1.0 + slope * slope)));
            by_rise = Vector3::z();
        } else {
            // A steep leg's run hangs on tape and rise beyond all measure: its mean is used.
            let run = self.raw.start.lines[line].horizontal.max(MIN_RUN);
            let tape = l.tape.unwrap_or(0.0);
            if l.tape.is_some() {
                add(Reading::Tape(line), ahead * (tape / run).min(STEEPEST));
            }
            let slope = (raw.rise / run).clamp(-STEEPEST, STEEPEST);
            by_rise = Vector3::z() - ahead * if l.tape.is_some() { slope } else { 0.0 };
        }
        if rise_by_heights {
            add(Reading::Height(l.to), by_rise);
            add(Reading::Height(l.from), -by_rise);
        } else if l.rise.is_some() {
            add(Reading::Rise(line), by_rise);
        }
        self.derive_azimuths(line, aside * (raw.horizontal * sense), to);
    }

    /// A leg's azimuth rests on its needle, or on a chain of turns back to one.
    fn derive_azimuths(
        &self,
        line: usize,
        by: Vector3<f64>,
        to: &mut BTreeMap<Reading, Vector3<f64>>,
    ) {
        let mut at = line;
        let mut add = |reading, by| *to.entry(reading).or_insert_with(Vector3::zeros) += by;
        loop {
            // A line that hangs on the one behind it takes that one's turn off.
            match self.network.lines[at].course {
                Course::Turn(before) => {
                    add(Reading::Turn(at), by);
                    at = before;
                }
                Course::TurnBack(behind) => {
                    add(Reading::Turn(behind), -by);
                    at = behind;
                }
                Course::StraightOn(other) | Course::StraightBack(other) => {
                    add(Reading::Carried(at), by);
                    at = other;
                }
                _ => return add(Reading::Azimuth(at), by),
            }
        }
    }

    fn sd(&self, reading: Reading) -> f64 {
        let p = self.precision;
        let radians = |degrees: f64| Turn::from_degrees(degrees).to_radians();
        match reading {
            Reading::Tape(line) => p.tape(self.network.lines[line].tape.unwrap_or(0.0)),
            Reading::Azimuth(line) => self.sd_of_azimuth(line),
            Reading::Turn(line) => self.sd_of_direction(line, p.turn_deg),
            Reading::Carried(line) => {
                self.network.trails[self.network.lines[line].trail].turn_spread
            }
            Reading::Incline(_) => radians(p.incline_deg),
            Reading::Rise(_) => p.rise_m,
            Reading::Height(node) => {
                height(self.network, p, node).map_or(0.0, |(_, sd)| sd.hypot(p.ground_m))
            }
            Reading::PlumbEast(_) | Reading::PlumbNorth(_) => p.plumb_m,
        }
    }

    fn sd_of_azimuth(&self, line: usize) -> f64 {
        let (l, p) = (&self.network.lines[line], self.precision);
        let degrees = match l.course {
            Course::Plumb | Course::Profile | Course::Free => return 0.0,
            Course::Open if l.needle().is_none() => return 0.0,
            _ if l.named_point && l.back_bearing.is_none() => p.bearing_point_deg,
            _ => p.bearing_deg,
        };
        let one = self.sd_of_direction(line, degrees);
        let both = l.bearing.is_some() && l.back_bearing.is_some();
        if both { one / std::f64::consts::SQRT_2 } else { one }
    }

    /// Of an angle read at the start of a line, radians: its anchors are met again as well as may be.
    fn sd_of_direction(&self, line: usize, degrees: f64) -> f64 {
        let run = self.raw.start.lines[line].horizontal.max(MIN_RUN);
        Turn::from_degrees(degrees).to_radians().hypot(self.precision.anchor_m / run)
    }
}

/// A run shorter than this, metres, is no base for a derivative.
const MIN_RUN: f64 = 0.02;
/// The steepest slope at which the run is still derived from tape and rise.
const STEEPEST: f64 = 10.0;

/// Unit vectors of the components that were measured: along `azimuth`, across it, and up.
fn axes(azimuth: f64, measured: [bool; 3]) -> Vec<Vector3<f64>> {
    let (sin, cos) = azimuth.sin_cos();
    let all = [Vector3::new(sin, cos, 0.0), Vector3::new(cos, -sin, 0.0), Vector3::z()];
    all.into_iter().zip(measured).filter(|(_, measured)| *measured).map(|(axis, _)| axis).collect()
}

impl Closure {
    /// Judges a misclosure m with covariance Q, both seen along `axes`: m ᵀ Q⁻¹ m is chi-squared
    /// with as many degrees of freedom as there are axes with any variance.
    fn judge(&mut self, m: Vector3<f64>, q: Matrix3<f64>, axes: &[Vector3<f64>]) {
        self.misclosure = [m.x, m.y, m.z];
        let free = |axis: &&Vector3<f64>| axis.dot(&(q * **axis)) > 1e-12;
        let axes: Vec<&Vector3<f64>> = axes.iter().filter(free).collect();
        let count = axes.len();
        let seen = nalgebra::DMatrix::from_fn(count, count, |i, j| axes[i].dot(&(q * axes[j])));
        let off = nalgebra::DVector::from_fn(count, |i, _| axes[i].dot(&m));
        self.expected = seen.trace().sqrt();
        let Some(factor) = seen.cholesky() else { return };
        let statistic = off.dot(&factor.solve(&off));
        self.p_value = chi_square_upper(statistic, count as f64);
        self.verdict = match self.p_value {
            p if p < 0.001 => Verdict::Fails,
            p if p < 0.05 => Verdict::Doubtful,
            _ => Verdict::Closes,
        };
    }
}
