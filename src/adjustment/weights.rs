//! What was read, with its standard deviation at the raw observed geometry.

use super::observation::{Kind, Observation};
use super::raw::{EXACT_M, Laid, Raw, height, rise_known};
use crate::adjustment::network::traverse::RawLine;
use crate::adjustment::network::{Component, Course, Line, Network, Turned};
use crate::maths::quantity::Turn;
use crate::survey::settings::Precision;

/// What a free direction is held to, degrees: it is no reading, and the trail's shape hangs on nothing
/// but that there is one.
const HELD_DEG: f64 = 0.01;
/// A leg whose rise nobody measured is taken as level within this, degrees.
const LEVEL_DEG: f64 = 30.0;

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

impl Model {
    /// Readings beyond those that the unknowns need.
    pub(super) fn redundancy(&self) -> usize {
        let held = |&[plan, up]: &[bool; 2]| 2 * usize::from(plan) + usize::from(up);
        let unknowns = 3 * self.held.len() - self.held.iter().map(held).sum::<usize>();
        (self.readings.len() + self.turns.len() + self.points.len()).saturating_sub(unknowns)
    }
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
        let local = |line: usize| part.lines.binary_search(&line).ok();
        let turned = l.turn.zip(l.turned_from.and_then(local));
        model.turns.extend(turned.map(|(turn, before)| {
            let sd = across(run(raw, line), precision.turn_deg, precision.anchor_m);
            let reading = Observation::new(Kind::Turn, turn, sd).scaled(run(raw, line));
            ModelTurn { line: index, before, reading }
        }));
        let carried = match l.course {
            Course::StraightOn(before) => local(before).map(|before| (index, before)),
            Course::StraightBack(behind) => local(behind).map(|behind| (behind, index)),
            _ => None,
        };
        model.turns.extend(carried.map(|(line, before)| {
            let run = run(raw, part.lines[line]);
            let sd =
                (run * network.trails[l.trail].turn_spread).hypot(precision.anchor_m).max(1e-6);
            let reading = Observation::new(Kind::Turn, 0.0, sd).scaled(run).assumed();
            ModelTurn { line, before, reading }
        }));
    }
    model
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
            for east in [true, false] {
                read(Observation::new(Kind::Plumb { east }, 0.0, precision.plumb_m).stated());
            }
            if let Some((rise, sd)) = plumb_rise(network, l, precision) {
                read(Observation::new(Kind::Rise, rise, sd));
            }
            return;
        }
        Course::Profile => {
            let sd = across(scale, precision.bearing_deg, precision.anchor_m);
            read(Observation::new(Kind::Bearing, 0.0, sd).scaled(scale).assumed());
        }
        Course::Free if network.turned.get(&network.tree[l.from].root) == Some(&Turned::Freely) => {
            let sd = across(scale, HELD_DEG, 0.0);
            read(Observation::new(Kind::Bearing, azimuth, sd).scaled(scale).assumed());
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

/// Sideways standard deviation at the far end of a line with this horizontal `run`:
/// (run × σ) ⊕ `anchor_m`, so that a steep leg never rests on its compass.
fn across(run: f64, degrees: f64, anchor_m: f64) -> f64 {
    (run * radians(degrees)).hypot(anchor_m).max(1e-6)
}

fn radians(degrees: f64) -> f64 {
    Turn::from_degrees(degrees).to_radians()
}
