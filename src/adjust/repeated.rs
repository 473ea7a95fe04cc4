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
use crate::network::{Line, Network};
use crate::quantity::{Turn, wrap_half_turn};
use crate::statistics::describe::median;
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

/// One kind along the lines between two nodes; `None` where it was not read twice.
fn again(graded: Graded, precision: &Precision, run: f64, lines: &[&Line]) -> Option<Again> {
    let mut read: Vec<(f64, Option<Name>)> = Vec::new();
    let angle = |degrees: f64| Turn::from_degrees(degrees).to_radians();
    let mut sd = angle(precision.incline_deg);
    for line in lines {
        let onward = line.from < line.to;
        match graded {
            Graded::Tape => read.extend(line.tape.map(|tape| (tape, line.observer))),
            Graded::Incline => {
                let upward = |incline: f64| if onward { incline } else { -incline };
                read.extend(line.incline.map(|incline| (upward(incline), line.observer)));
            }
            _ => {
                let fore = line.bearing.filter(|_| !line.named_point);
                let turned = |bearing: f64| if onward { bearing } else { bearing + PI };
                let needles = fore.into_iter().chain(line.back_bearing);
                read.extend(needles.map(|bearing| (turned(bearing), line.observer)));
            }
        }
    }
    let &(first, observer) = read.first()?;
    if graded == Graded::Tape {
        sd = precision.tape(first);
    } else if graded == Graded::Bearing {
        sd = angle(precision.bearing_deg);
        // Nearer by, standing a little beside the mark turns the needle more than it errs.
        if run * sd < precision.anchor_m {
            return None;
        }
    }
    let off = |value: f64| {
        if graded == Graded::Bearing { wrap_half_turn(value - first) } else { value - first }
    };
    let mean = read.iter().map(|(value, _)| off(*value)).sum::<f64>() / read.len() as f64;
    let squares = read.iter().map(|(value, _)| ((off(*value) - mean) / sd).powi(2)).sum();
    let alone = read.iter().all(|(_, by)| *by == observer);
    let again = Again { observer: observer.filter(|_| alone), readings: read.len(), squares };
    (read.len() > 1).then_some(again)
}

/// The scatter of all, and of each observer where several are named.
fn estimates(graded: Graded, all: &[Again]) -> Vec<Estimate> {
    let sizes: Vec<f64> = all.iter().map(Again::size).collect();
    let middle = median(&sizes).unwrap_or(0.0) / NORMAL_MEDIAN;
    let limit = SUSPECT * middle.max(1.0);
    let observers: BTreeSet<Name> = all.iter().filter_map(|again| again.observer).collect();
    let several = (2..=MOST_OBSERVERS).contains(&observers.len());
    let whose = std::iter::once(None).chain(observers.into_iter().filter(|_| several).map(Some));
    let one = |observer: Option<Name>| {
        let own = || all.iter().filter(move |a| observer.is_none() || a.observer == observer);
        let sound = || own().filter(|again| again.size() <= limit);
        let freedom: f64 = sound().map(Again::freedom).sum();
        let squares: f64 = sound().map(|again| again.squares).sum();
        let readings = |some: &mut dyn Iterator<Item = &Again>| some.map(|a| a.readings).sum();
        let kept: usize = readings(&mut sound());
        let any: usize = readings(&mut own());
        let estimate = Estimate {
            graded,
            observer,
            readings: kept,
            left_out: any - kept,
            redundancy: freedom,
            freedom,
            factor: None,
        };
        let factor = if freedom > 0.0 { (squares / freedom).sqrt() } else { 0.0 };
        if freedom >= LEAST_FREEDOM && factor > 0.0 {
            estimate.with(freedom, factor)
        } else {
            estimate
        }
    };
    if all.is_empty() { Vec::new() } else { whose.map(one).collect() }
}
