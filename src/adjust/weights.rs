//! What was read, with its standard deviation at the raw observed geometry.

use super::observation::{Kind, Observation};
use super::steep::{Steep, SteepLeg, is_loose, readings};
use crate::ground::Ground;
use crate::network::traverse::{RawLine, Traverse, walk};
use crate::network::{Component, Course, Line, Network};
use crate::quantity::Turn;
use crate::survey::settings::Precision;
use nalgebra::Vector3;

/// A direction that was carried on for want of a bearing is known this well, degrees. Turns of
/// climbing animals scatter about so much; common practice, no source.
const CARRIED_ON_DEG: f64 = 50.0;
/// A leg whose rise nobody measured is taken as level within this, degrees.
const LEVEL_DEG: f64 = 30.0;
/// A control stated better than this, metres, is held rather than weighed.
const EXACT_M: f64 = 1e-6;

/// A line of one connected part, with its ends and readings by local index.
#[derive(Clone, Copy, Debug)]
pub(super) struct ModelLine {
    pub(super) from: usize,
    pub(super) to: usize,
    /// Its readings, as a range of the model's.
    pub(super) first: usize,
    pub(super) end: usize,
}

/// A turn: a reading that joins a line to the line before.
#[derive(Clone, Copy, Debug)]
pub(super) struct ModelTurn {
    /// The line, by local index.
    pub(super) line: usize,
    /// The line before, by local index.
    pub(super) before: usize,
    pub(super) reading: Observation,
}

/// A reading at one node.
#[derive(Clone, Copy, Debug)]
pub(super) struct ModelPoint {
    pub(super) node: usize,
    pub(super) reading: Observation,
}

/// Everything read in one connected part. Nodes and lines count locally, in the part's order.
#[derive(Clone, Debug, Default)]
pub(super) struct Model {
    pub(super) lines: Vec<ModelLine>,
    pub(super) readings: Vec<Observation>,
    pub(super) turns: Vec<ModelTurn>,
    pub(super) points: Vec<ModelPoint>,
    /// Steep lines, with how far the reading of each moves with the lean that they share, metres.
    pub(super) leaning: Vec<(usize, f64)>,
    /// For each node whether its plan and its elevation are held.
    pub(super) held: Vec<[bool; 2]>,
}

/// The network as it lies before the adjustment.
#[derive(Clone, Debug)]
pub(super) struct Raw {
    /// The raw traverse.
    pub(super) traverse: Traverse,
    /// The same with steep legs laid at their mean horizontal length.
    pub(super) start: Traverse,
    steep: Vec<Option<Steep>>,
    steep_legs: Vec<Option<SteepLeg>>,
    /// Whether each line's direction in plan is loose.
    loose: Vec<bool>,
}

/// Elevation of the ground, taken as level zero where the model has none.
pub(super) fn elevation(ground: &Ground, east: f64, north: f64) -> f64 {
    ground.at(east, north).map_or(0.0, |sample| sample.elevation)
}

/// Walks the network raw, finds its steep legs, and walks it again with those laid out.
pub(super) fn raw(network: &Network, precision: &Precision, ground: &Ground) -> Raw {
    let up = |east: f64, north: f64| elevation(ground, east, north);
    let traverse = walk(network, up, |_| None);
    let steep_legs = steep_legs(network, precision, &traverse);
    let steep = steep_lines(network, &steep_legs);
    let start = if steep.iter().any(Option::is_some) {
        walk(network, up, |line| steep[line].map(|steep| steep.mean))
    } else {
        traverse.clone()
    };
    let loose = (0..network.lines.len())
        .map(|line| has_loose(network, precision, &network.lines[line], traverse.lines[line].rise))
        .collect();
    Raw { traverse, start, steep, steep_legs, loose }
}

impl Raw {
    /// Whether any of `lines` is steep.
    pub(super) fn any_steep(&self, lines: &[usize]) -> bool {
        lines.iter().any(|&line| self.steep[line].is_some())
    }

    /// The same with steep legs taken to lean evenly, each by itself.
    pub(super) fn with_even_legs(&self) -> Self {
        let even = |leg: &Option<SteepLeg>| leg.map(|leg| leg.even());
        Self { steep: self.steep_legs.iter().map(even).collect(), ..self.clone() }
    }
}

/// Whether the direction in plan of a line with this rise is loose.
fn has_loose(network: &Network, precision: &Precision, l: &Line, rise: f64) -> bool {
    let known = climb_of(network, precision, l);
    known.is_some_and(|(tape, sds)| is_loose(tape, rise, sds[0], sds[1]))
}

/// How a line lies before the adjustment.
#[derive(Clone, Copy, Debug)]
pub(super) struct Laid {
    /// Its horizontal length (its mean where it is steep), rise and azimuth.
    pub(super) raw: RawLine,
    steep: Option<Steep>,
    loose: bool,
}

impl Raw {
    /// How `line` lies.
    pub(super) fn laid(&self, line: usize) -> Laid {
        Laid { raw: self.start.lines[line], steep: self.steep[line], loose: self.loose[line] }
    }
}

/// How a line would lie that reads as `l` says, where its ends differ in height by `rise` as far
/// as heights tell it, and its azimuth is `azimuth` as far as no needle tells it.
pub(super) fn laid_as(
    network: &Network,
    precision: &Precision,
    l: &Line,
    [rise, azimuth]: [f64; 2],
) -> Laid {
    let tape = l.tape.unwrap_or(0.0);
    let sloped = l.incline.map(|incline| tape * incline.sin()).filter(|_| l.tape.is_some());
    let by_heights = rise_known(network, l).then_some(rise);
    let rise = by_heights.or(l.rise).or(sloped).unwrap_or(rise);
    let azimuth = match l.course {
        Course::Needle | Course::Open => l.needle().unwrap_or(azimuth),
        _ => azimuth,
    };
    let horizontal = match (l.course, l.incline) {
        (Course::Plumb, _) => 0.0,
        (_, Some(incline)) => tape * incline.cos(),
        _ => (tape * tape - rise * rise).max(0.0).sqrt(),
    };
    let raw = RawLine { horizontal, rise, azimuth };
    let steep = climb_of(network, precision, l)
        .and_then(|(tape, [sd_tape, sd_rise])| SteepLeg::of(tape, rise, sd_tape, sd_rise))
        .map(|leg| leg.even());
    let loose = has_loose(network, precision, l, rise);
    let horizontal = steep.map_or(horizontal, |steep| steep.mean);
    Laid { raw: RawLine { horizontal, ..raw }, steep, loose }
}

/// The lines that have a direction but no clinometer and a tape that barely exceeds their rise.
fn steep_legs(
    network: &Network,
    precision: &Precision,
    traverse: &Traverse,
) -> Vec<Option<SteepLeg>> {
    let of = |(line, raw): (usize, &RawLine)| {
        let (tape, [sd_tape, sd_rise]) = climb_of(network, precision, &network.lines[line])?;
        SteepLeg::of(tape, raw.rise, sd_tape, sd_rise)
    };
    traverse.lines.iter().enumerate().map(of).collect()
}

/// The weak reading of the horizontal length of each steep line. Those of one trail inform each
/// other.
fn steep_lines(network: &Network, steep_legs: &[Option<SteepLeg>]) -> Vec<Option<Steep>> {
    let mut of_trails: Vec<Vec<usize>> = vec![Vec::new(); network.trails.len()];
    for line in (0..steep_legs.len()).filter(|&line| steep_legs[line].is_some()) {
        of_trails[network.lines[line].trail].push(line);
    }
    let mut steep = vec![None; steep_legs.len()];
    for lines in of_trails {
        let legs: Vec<SteepLeg> = lines.iter().filter_map(|&line| steep_legs[line]).collect();
        for (line, reading) in lines.into_iter().zip(readings(&legs)) {
            steep[line] = Some(reading);
        }
    }
    steep
}

/// Tape of a line that has a direction and no clinometer, with the standard deviations of tape and
/// rise; `None` where its run does not rest on the two.
fn climb_of(network: &Network, precision: &Precision, l: &Line) -> Option<(f64, [f64; 2])> {
    let directed = !matches!(l.course, Course::Plumb | Course::Open);
    let tape = l.tape.filter(|_| directed && l.incline.is_none())?;
    let sd_rise = if l.rise.is_some() {
        precision.rise_m
    } else {
        let [a, b] = [l.from, l.to].map(|node| sd_of_height(network, precision, node));
        a?.hypot(b?)
    };
    Some((tape, [precision.tape(tape), sd_rise]))
}

/// Weighted mean of the heights read at a node, and its standard deviation.
pub(super) fn height(network: &Network, precision: &Precision, node: usize) -> Option<(f64, f64)> {
    let (mut weight, mut sum) = (0.0, 0.0);
    for reading in network.heights_at(node) {
        // A height stated without error still has the millimetre it was written to.
        let sd = precision.height(reading.height, reading.by).max(1e-3);
        weight += 1.0 / (sd * sd);
        sum += reading.height / (sd * sd);
    }
    (weight > 0.0).then(|| (sum / weight, (1.0 / weight).sqrt()))
}

fn sd_of_height(network: &Network, precision: &Precision, node: usize) -> Option<f64> {
    height(network, precision, node).map(|(_, sd)| sd.hypot(precision.ground_m))
}

/// The readings of one connected part. `local` tells the local index of its nodes.
pub(super) fn model(
    network: &Network,
    part: &Component,
    precision: &Precision,
    raw: &Raw,
    local: &[usize],
) -> Model {
    let mut model = Model::default();
    for &node in &part.nodes {
        point(network, precision, node, local[node], &mut model);
    }
    for (index, &line) in part.lines.iter().enumerate() {
        let l = &network.lines[line];
        let first = model.readings.len();
        let in_tree = network.in_tree(line);
        line_readings(network, precision, (l, in_tree), &raw.laid(line), &mut model.readings);
        model.leaning.extend(raw.steep[line].map(|steep| (index, steep.shared)));
        let (from, to) = (local[l.from], local[l.to]);
        model.lines.push(ModelLine { from, to, first, end: model.readings.len() });
        if let Course::Turn(before) | Course::StraightOn(before) = l.course
            && let Ok(before) = part.lines.binary_search(&before)
        {
            let reading = turn(l, precision, run(raw, line));
            model.turns.push(ModelTurn { line: index, before, reading });
        }
    }
    model
}

/// Where a node starts: at its raw place, but a control that is held where it is known to be.
pub(super) fn start(
    network: &Network,
    precision: &Precision,
    raw: &Raw,
    node: usize,
) -> Vector3<f64> {
    let mut at = Vector3::from(raw.start.positions[node]);
    let exact = |sd: Option<f64>| sd.unwrap_or(precision.control_m) <= EXACT_M;
    let Some(known) = network.nodes[node].known else { return at };
    if known.in_plan && exact(known.sd) {
        (at.x, at.y) = (known.east, known.north);
    }
    if let Some((up, sd)) = known.elevation
        && exact(sd)
        && network.height_at(node).is_none()
    {
        at.z = up;
    }
    at
}

/// Height, control and what is held at one node.
fn point(network: &Network, precision: &Precision, node: usize, local: usize, model: &mut Model) {
    let entered = &network.nodes[node];
    let mut held = [entered.plan_held, entered.elevation_held];
    let mut read = |kind, value, sd| {
        let reading = Observation::new(kind, value, sd);
        model.points.push(ModelPoint { node: local, reading });
    };
    if let Some(known) = entered.known.filter(|known| known.in_plan) {
        let sd = known.sd.unwrap_or(precision.control_m);
        if sd <= EXACT_M {
            held[0] = true;
        } else {
            read(Kind::ControlEast, known.east, sd);
            read(Kind::ControlNorth, known.north, sd);
        }
    }
    if let Some((height, sd)) = height(network, precision, node) {
        read(Kind::Height, height, sd.hypot(precision.ground_m));
    } else if let Some((up, sd)) = entered.known.and_then(|known| known.elevation) {
        let sd = sd.unwrap_or(precision.control_m);
        if sd <= EXACT_M {
            held[1] = true;
        } else {
            read(Kind::ControlElevation, up, sd);
        }
    }
    model.held.push(held);
}

/// The raw horizontal length of a line, metres: that of its mean where it is steep.
fn run(raw: &Raw, line: usize) -> f64 {
    raw.start.lines[line].horizontal
}

/// All readings along a line but a turn.
#[expect(clippy::too_many_lines, reason = "one line a kind of reading")]
pub(super) fn line_readings(
    network: &Network,
    precision: &Precision,
    (l, in_tree): (&Line, bool),
    laid: &Laid,
    readings: &mut Vec<Observation>,
) {
    let mut read = |reading: Observation| {
        let needle = matches!(reading.kind, Kind::Bearing | Kind::BackBearing);
        readings.push(Observation { sideways: laid.loose && needle, ..reading });
    };
    if let Some(tape) = l.tape {
        read(Observation::new(Kind::Tape, tape, precision.tape(tape).max(1e-4)));
    }
    let RawLine { horizontal: scale, azimuth, .. } = laid.raw;
    if let Some(sd) = upright(l, precision) {
        // At the vertical a clinometer has no derivative: it tells the offset of the far end.
        let (sin, cos) = azimuth.sin_cos();
        read(Observation::new(Kind::Plumb { east: true }, scale * sin, sd));
        read(Observation::new(Kind::Plumb { east: false }, scale * cos, sd));
        return;
    }
    // An end that only sights place may lie anywhere to begin with, even at the other end.
    let scale = if l.course == Course::Open { scale.max(1.0) } else { scale };
    let degrees = if l.named_point { precision.bearing_point_deg } else { precision.bearing_deg };
    let sideways = across(scale, degrees, precision.anchor_m);
    match l.course {
        Course::Plumb => {
            read(Observation::new(Kind::Plumb { east: true }, 0.0, precision.plumb_m));
            read(Observation::new(Kind::Plumb { east: false }, 0.0, precision.plumb_m));
            if let Some((rise, sd)) = plumb_rise(network, l, precision) {
                read(Observation::new(Kind::Rise, rise, sd));
            }
            return;
        }
        Course::Profile | Course::Arbitrary => {
            let sd = across(scale, precision.bearing_deg, precision.anchor_m);
            read(Observation::new(Kind::Bearing, 0.0, sd).scaled(scale).assumed());
        }
        _ => {
            if let Some(bearing) = l.bearing {
                read(Observation::new(Kind::Bearing, bearing, sideways).scaled(scale));
            }
            if let Some(back) = l.back_bearing {
                let sd = across(scale, precision.bearing_deg, precision.anchor_m);
                read(Observation::new(Kind::BackBearing, back, sd).scaled(scale));
            }
        }
    }
    if let Some(steep) = laid.steep {
        read(Observation::new(Kind::Steep, steep.value, steep.sd).toward(azimuth).assumed());
    }
    if let Some(incline) = l.incline {
        read(Observation::new(Kind::Incline, incline, radians(precision.incline_deg)));
    }
    if let Some(rise) = l.rise {
        read(Observation::new(Kind::Rise, rise, precision.rise_m));
    }
    let untold = l.incline.is_none() && l.rise.is_none() && !rise_known(network, l);
    if untold && l.tape.is_some() && in_tree {
        read(Observation::new(Kind::Incline, 0.0, radians(LEVEL_DEG)).assumed());
    }
}

/// Standard deviation of the offset of the far end of a directed line that its clinometer puts
/// within three standard deviations of the vertical, metres.
fn upright(line: &Line, precision: &Precision) -> Option<f64> {
    let (tape, incline) = line.tape.zip(line.incline)?;
    let sd = radians(precision.incline_deg);
    let directed = !matches!(line.course, Course::Plumb | Course::Open);
    (directed && incline.cos() < 3.0 * sd).then(|| (tape * sd).hypot(precision.anchor_m))
}

/// Rise of a plumb leg where no heights tell it. Its clinometer has no derivative at the vertical,
/// and says no more than which way the tape runs.
fn plumb_rise(network: &Network, line: &Line, precision: &Precision) -> Option<(f64, f64)> {
    if let Some(rise) = line.rise {
        return Some((rise, precision.rise_m));
    }
    let (tape, incline) = line.tape.zip(line.incline)?;
    let lean = tape * incline.cos() * radians(precision.incline_deg);
    let sd = precision.tape(tape).hypot(lean).hypot(precision.plumb_m);
    (!rise_known(network, line)).then(|| (tape * incline.sin(), sd))
}

/// Whether heights or elevations at both ends tell a line's rise.
fn rise_known(network: &Network, line: &Line) -> bool {
    [line.from, line.to].iter().all(|&node| {
        let known = network.nodes[node].known.and_then(|known| known.elevation);
        network.height_at(node).is_some() || known.is_some()
    })
}

fn turn(line: &Line, precision: &Precision, run: f64) -> Observation {
    let (value, degrees, assumed) = match line.turn {
        Some(turn) => (turn, precision.turn_deg, false),
        None => (0.0, CARRIED_ON_DEG, true),
    };
    let sd = across(run, degrees, precision.anchor_m);
    Observation { assumed, ..Observation::new(Kind::Turn, value, sd).scaled(run) }
}

/// Sideways standard deviation at the far end of a line with this horizontal `run`:
/// (run × σ) ⊕ `anchor_m`, so that a steep leg never rests on its compass.
fn across(run: f64, degrees: f64, anchor_m: f64) -> f64 {
    (run * radians(degrees)).hypot(anchor_m).max(1e-6)
}

fn radians(degrees: f64) -> f64 {
    Turn::from_degrees(degrees).to_radians()
}
