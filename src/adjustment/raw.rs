//! How the network lies before the adjustment: the raw traverse, its steep legs laid out, and how any
//! one line would lie.

use super::steep::{Steep, SteepLeg, is_loose, readings};
use crate::adjustment::network::traverse::{RawLine, Traverse, walk};
use crate::adjustment::network::{Course, HeightReading, Line, Network};
use crate::maths::ground::Ground;
use crate::survey::names::Name;
use crate::survey::settings::Precision;
use nalgebra::Vector3;

/// A control stated better than this, metres, is held rather than weighed.
pub(super) const EXACT_M: f64 = 1e-6;

/// The network as it lies before the adjustment.
#[derive(Clone, Debug)]
pub(super) struct Raw {
    /// The raw traverse.
    pub(super) traverse: Traverse,
    /// The same with steep legs laid at their mean horizontal length.
    pub(super) start: Traverse,
    pub(super) steep: Vec<Option<Steep>>,
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
    pub(super) steep: Option<Steep>,
    pub(super) loose: bool,
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

/// The share that each height read at a node has in their mean, and who read it.
pub(super) fn height_shares(
    network: &Network,
    precision: &Precision,
    node: usize,
) -> impl Iterator<Item = (Option<Name>, f64)> {
    let weight = |read: &HeightReading| precision.height(read.height, read.by).max(1e-3).powi(-2);
    let all = network.heights_at(node);
    let sum: f64 = all.iter().map(weight).sum();
    all.iter().map(move |read| (read.observer, weight(read) / sum))
}

fn sd_of_height(network: &Network, precision: &Precision, node: usize) -> Option<f64> {
    height(network, precision, node).map(|(_, sd)| sd.hypot(precision.ground_m))
}

/// Whether heights or elevations at both ends tell a line's rise.
pub(super) fn rise_known(network: &Network, line: &Line) -> bool {
    [line.from, line.to].iter().all(|&node| {
        let known = network.nodes[node].known.and_then(|known| known.elevation);
        network.height_at(node).is_some() || known.is_some()
    })
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

#[cfg(test)]
mod tests {
    use super::super::written::survey;
    use super::*;
    use crate::maths::quantity::Turn;
    use crate::survey::settings::HeightPrecision;

    /// A leg by heights, one by a clinometer, two of which nothing tells the rise; the last comes back
    /// to the release, whose height is told again.
    const ANCHORS: &str = "trail,anchor,tape_m,bearing_deg,incline_deg,height_m,height_by
Bor,0,,,,0,
Bor,1,5,30,,3,pole
Bor,2,4,60,30,,
Bor,4,3,90,,,
Bor,0,5,200,,0.5,eye";
    /// By its rise alone; by its length alone.
    const TIES: &str = "trail,from,to,tape_m,bearing_deg,rise_m\nBor,2,4,5,10,4\nBor,1,2,2,,";

    fn precision() -> Precision {
        Precision { tape_per_m: 0.0, height_per_m: 0.0, ..Precision::default() }
    }

    fn near(found: f64, known: f64) {
        assert!((found - known).abs() < 1e-9, "{found} for {known}");
    }

    /// Tape, height differences, clinometers and rises each make run and rise; what nothing tells is
    /// taken from the 1 m and 2 radians given.
    #[test]
    fn a_line_lies_as_it_is_read() {
        let (_, network) = survey(ANCHORS, TIES);
        let precision = precision();
        let radians = |degrees: f64| Turn::from_degrees(degrees).to_radians();
        let lies = |at: usize, [run, rise, azimuth]: [f64; 3], given: [f64; 2]| {
            let laid = laid_as(&network, &precision, &network.lines[at], given);
            near(laid.raw.horizontal, run);
            near(laid.raw.rise, rise);
            near(laid.raw.azimuth, azimuth);
        };
        let declined = network.lines[0].bearing.unwrap() - radians(30.0);
        let north = |degrees: f64| radians(degrees) + declined;
        // The heights at both ends have been taken for the rise by whoever asks.
        lies(0, [4.0, 3.0, north(30.0)], [3.0, 2.0]);
        lies(1, [12.0_f64.sqrt(), 2.0, north(60.0)], [1.0, 2.0]);
        lies(2, [8.0_f64.sqrt(), 1.0, north(90.0)], [1.0, 2.0]);
        let by_rise = network.lines.iter().position(|l| l.rise.is_some()).unwrap();
        lies(by_rise, [3.0, 4.0, north(10.0)], [1.0, 2.0]);
        let by_length = by_rise + 1;
        assert_eq!(network.lines[by_length].course, Course::Open);
        lies(by_length, [3.0_f64.sqrt(), 1.0, 2.0], [1.0, 2.0]);
        // Two metres cannot rise three.
        lies(by_length, [0.0, 3.0, 2.0], [3.0, 2.0]);
        // Heights go before the clinometer for the rise, not for the run; a plumb leg has none.
        let leg = network.lines[0];
        let of = |l: &Line| laid_as(&network, &precision, l, [3.0, 2.0]);
        let raw = of(&Line { incline: Some(0.5), ..leg }).raw;
        near(raw.horizontal, 5.0 * 0.5_f64.cos());
        near(raw.rise, 3.0);
        near(of(&Line { course: Course::Plumb, ..leg }).raw.horizontal, 0.0);
        // √16 m of run are firm; of 3.2 m of tape over a rise of 3 the mean that the noise implies.
        assert!(!of(&leg).loose && of(&leg).steep.is_none());
        let steep = of(&Line { tape: Some(3.2), ..leg });
        near(steep.raw.horizontal, steep.steep.unwrap().mean);
        assert!(steep.loose && steep.raw.horizontal > 0.1);
    }

    /// Of two steep legs beside one that is not, each by itself reads as it would alone.
    #[test]
    fn steep_legs_may_stand_each_by_itself() {
        let rows = "trail,anchor,tape_m,bearing_deg,height_m\nBor,0,,,0\nBor,1,3.1,0,3\n\
                    Bor,2,3.2,0,6\nBor,3,5,90,6";
        let (_, network) = survey(rows, "");
        let together = raw(&network, &precision(), &Ground::flat());
        let even = together.with_even_legs();
        assert!(together.any_steep(&[2, 1]) && !together.any_steep(&[2]));
        for line in 0..3 {
            let alone = laid_as(&network, &precision(), &network.lines[line], [3.0, 0.0]).steep;
            let alone = alone.filter(|_| line < 2);
            assert_eq!(even.laid(line).steep, alone);
            assert_eq!(together.laid(line).steep == alone, line == 2);
        }
    }

    /// 0 m by default ± 0.05 and 0.5 m by eye ± 0.2 weigh 16 to 1: 0.5 / 17, ± √(1 / 425).
    #[test]
    fn heights_of_one_node_are_weighed() {
        let (_, network) = survey(ANCHORS, "");
        let mut precision = precision();
        let eye = HeightPrecision { height_m: Some(0.2), height_per_m: None };
        precision.height_by.insert("eye".into(), eye);
        let (mean, sd) = height(&network, &precision, 0).unwrap();
        near(mean, 0.5 / 17.0);
        near(sd, (1.0_f64 / 425.0).sqrt());
        assert_eq!(height(&network, &precision, 2), None);
        // Without any error it is known to a millimetre.
        let exact = Precision { height_m: 0.0, ..precision.clone() };
        near(height(&network, &exact, 1).unwrap().1, 1e-3);
        // On ground rough by 0.1 m the node stands as well as both together tell.
        near(sd_of_height(&network, &precision, 0).unwrap(), (1.0_f64 / 425.0 + 0.01).sqrt());
    }

    /// Tape ± 0.03; each height ± 0.05, that of the release twice, over ground ± 0.1 at
    /// either end, which makes the rise ± √(0.00125 + 0.0025 + 0.02); a rise by
    /// itself ± 0.05. A clinometer, or no direction, and the run rests on something else.
    #[test]
    fn a_run_may_rest_on_tape_and_rise() {
        let (_, network) = survey(ANCHORS, TIES);
        let precision = precision();
        let of = |at: usize| climb_of(&network, &precision, &network.lines[at]);
        let (tape, [sd_tape, sd_rise]) = of(0).unwrap();
        [tape, sd_tape, sd_rise]
            .into_iter()
            .zip([5.0, 0.03, 0.023_75_f64.sqrt()])
            .for_each(|(a, b)| near(a, b));
        assert_eq!((of(1), of(2)), (None, None));
        let by_rise = network.lines.iter().position(|l| l.rise.is_some()).unwrap();
        assert_eq!(of(by_rise), Some((5.0, [0.03, 0.05])));
        assert_eq!(of(by_rise + 1), None);
        let leg = network.lines[0];
        for other in [Line { incline: Some(0.5), ..leg }, Line { course: Course::Open, ..leg }] {
            assert_eq!(climb_of(&network, &precision, &other), None);
        }
    }
}
