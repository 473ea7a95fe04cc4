//! Readings taken twice: how well an observer reads the same thing again.
//!
//! In: a network and where its nodes lie. Out: for each kind that was read more than once along a
//! line (a needle forward and back, a tape or clinometer there and back, by legs and ties alike) the
//! scatter of these readings about their own mean, by observer where several are named. It needs no
//! adjustment; it holds nothing that both readings share.
//!
//! ```text
//! σ² = Σ (x − mean)² / Σ (k − 1),   of two readings (x₂ − x₁)² / 2
//! ```

use super::common::MOST_OBSERVERS;
use super::outcome::Adjusted;
use super::precisions::{Estimate, Graded, LEAST_FREEDOM};
use super::suspects::SUSPECT;
use crate::adjustment::network::{Line, Network};
use crate::maths::quantity::{Turn, wrap_half_turn};
use crate::maths::statistics::describe::median;
use crate::survey::names::Name;
use crate::survey::settings::Precision;
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::PI;

/// Median of the size of a standard normal number.
const NORMAL_MEDIAN: f64 = 0.674_489_750_196_082;

/// One thing read so often, by one observer or by several (`None`).
struct Again {
    observer: Option<Name>,
    readings: usize,
    /// Sum of squares about the mean, in stated standard deviations.
    squares: f64,
}

impl Again {
    fn freedom(&self) -> f64 {
        (self.readings - 1) as f64
    }

    fn size(&self) -> f64 {
        (self.squares / self.freedom()).sqrt()
    }
}

/// What repeated readings of the trails that are `shown` tell, kind by kind: all, then by observer.
pub fn repeated(
    network: &Network,
    precision: &Precision,
    adjusted: &Adjusted,
    shown: &[bool],
) -> Vec<Estimate> {
    let mut lines: BTreeMap<[usize; 2], Vec<&Line>> = BTreeMap::new();
    for line in network.lines.iter().filter(|line| shown[line.trail]) {
        let ends = [line.from.min(line.to), line.from.max(line.to)];
        lines.entry(ends).or_default().push(line);
    }
    let mut found = Vec::new();
    for graded in [Graded::Tape, Graded::Bearing, Graded::Incline] {
        let of_ends = |(ends, lines): (&[usize; 2], &Vec<&Line>)| {
            let run = run(adjusted, *ends);
            again(graded, precision, run, lines)
        };
        found.extend(estimates(graded, &lines.iter().filter_map(of_ends).collect::<Vec<_>>()));
    }
    found
}

/// Horizontal distance between two nodes, metres.
fn run(adjusted: &Adjusted, [a, b]: [usize; 2]) -> f64 {
    let [a, b] = [adjusted.positions[a], adjusted.positions[b]];
    (b[0] - a[0]).hypot(b[1] - a[1])
}

/// What was read of one kind along a line, as from its lower to its higher node.
fn along(graded: Graded, line: &Line) -> impl Iterator<Item = f64> {
    let onward = line.from < line.to;
    let upward = |incline: f64| if onward { incline } else { -incline };
    let turned = |bearing: f64| if onward { bearing } else { bearing + PI };
    let fore = line.bearing.filter(|_| !line.named_point).map(turned);
    let read = match graded {
        Graded::Tape => [line.tape, None],
        Graded::Incline => [line.incline.map(upward), None],
        _ => [fore, line.back_bearing.map(turned)],
    };
    read.into_iter().flatten()
}

/// The standard deviation stated for a reading of this size; `None` for a needle where standing a
/// little beside the mark turns it more than it errs.
fn stated(graded: Graded, precision: &Precision, value: f64, run: f64) -> Option<f64> {
    let angle = |degrees: f64| Turn::from_degrees(degrees).to_radians();
    match graded {
        Graded::Tape => Some(precision.tape(value)),
        Graded::Incline => Some(angle(precision.incline_deg)),
        _ => Some(angle(precision.bearing_deg)).filter(|sd| run * sd >= precision.anchor_m),
    }
}

/// One kind along the lines between two nodes; `None` where it was not read twice.
fn again(graded: Graded, precision: &Precision, run: f64, lines: &[&Line]) -> Option<Again> {
    let of_line = |line: &&Line| {
        let observer = line.observer;
        along(graded, line).map(move |value| (value, observer)).collect::<Vec<_>>()
    };
    let read: Vec<(f64, Option<Name>)> = lines.iter().flat_map(of_line).collect();
    let &(first, observer) = read.first().filter(|_| read.len() > 1)?;
    let sd = stated(graded, precision, first, run).filter(|sd| *sd > 0.0)?;
    let off = |value: f64| {
        if graded == Graded::Bearing { wrap_half_turn(value - first) } else { value - first }
    };
    let mean = read.iter().map(|(value, _)| off(*value)).sum::<f64>() / read.len() as f64;
    let squares = read.iter().map(|(value, _)| ((off(*value) - mean) / sd).powi(2)).sum();
    let alone = read.iter().all(|(_, by)| *by == observer);
    Some(Again { observer: observer.filter(|_| alone), readings: read.len(), squares })
}

/// The scatter of all, and of each observer where several are named; what stands out from the middle
/// is left out.
fn estimates(graded: Graded, all: &[Again]) -> Vec<Estimate> {
    if all.is_empty() {
        return Vec::new();
    }
    let sizes: Vec<f64> = all.iter().map(Again::size).collect();
    let middle = median(&sizes).unwrap_or(0.0) / NORMAL_MEDIAN;
    let limit = SUSPECT * middle.max(1.0);
    let observers: BTreeSet<Name> = all.iter().filter_map(|again| again.observer).collect();
    let several = (2..=MOST_OBSERVERS).contains(&observers.len());
    let whose = std::iter::once(None).chain(observers.into_iter().filter(|_| several).map(Some));
    whose.map(|observer| estimate(graded, observer, all, limit)).collect()
}

/// The scatter of an observer, or of all.
fn estimate(graded: Graded, observer: Option<Name>, all: &[Again], limit: f64) -> Estimate {
    let own = || all.iter().filter(|again| observer.is_none() || again.observer == observer);
    let sound = || own().filter(|again| again.size() <= limit);
    let freedom: f64 = sound().map(Again::freedom).sum();
    let squares: f64 = sound().map(|again| again.squares).sum();
    let readings: usize = sound().map(|again| again.readings).sum();
    let any: usize = own().map(|again| again.readings).sum();
    let estimate = Estimate {
        graded,
        observer,
        readings,
        left_out: any - readings,
        redundancy: freedom,
        freedom,
        factor: None,
    };
    let tells = freedom >= LEAST_FREEDOM && squares > 0.0;
    if tells { estimate.with(freedom, (squares / freedom).sqrt()) } else { estimate }
}
