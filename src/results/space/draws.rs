//! Draws of all placed trails of an animal at once, for the intervals of its home area.
//!
//! The draws are those of the single trails, by the same seed. Trails that start at one control and have
//! no other position are moved together by its error: the animal was let go twice at the same place,
//! wherever that is.

use super::extent::{MEASURES, measures};
use super::placed::Placed;
use crate::adjustment::draws::{Deviations, Origin};
use crate::maths::parallel;
use crate::maths::quantity::{LANES, Lanes, Number};
use crate::measures::metrics::Shape;
use crate::results::Analysis;
use crate::results::subjects::{TrailSubjects, subjects};
use crate::survey::names::Name;
use std::collections::{BTreeMap, BTreeSet};

/// What the draws of one animal gave, by the origin of their errors: readings, then what is stated.
pub(super) type Drawn = [[Vec<f64>; MEASURES]; 2];

/// What one batch gives: each of its lanes and their mirror images.
const BATCH: usize = 2 * LANES;

/// One placed trail, ready to be drawn.
struct Ready<'a> {
    placed: &'a Placed,
    part: usize,
    /// Where its points stand in the draws of its part.
    local: Vec<Option<usize>>,
    /// The control it starts at, where nothing else places it.
    release: Option<Name>,
    subjects: TrailSubjects,
}

/// Draws every animal's trails, as often as single trails are drawn; nothing where no draws were asked
/// for or the method has none.
pub(super) fn draws(analysis: &Analysis, animals: &[&[Placed]]) -> Vec<Drawn> {
    let mut drawn: Vec<Drawn> = animals.iter().map(|_| Drawn::default()).collect();
    let wanted = &analysis.wanted;
    let draws = if wanted.method.has_covariance() { wanted.draws } else { 0 };
    let ready: Vec<Vec<Ready<'_>>> =
        animals.iter().map(|trails| ready(analysis, trails, draws > 0)).collect();
    let batches: Vec<usize> = (0..draws).step_by(BATCH).collect();
    let of_batches = parallel::each(&batches, |&first| batch(analysis, &ready, first, draws));
    for (first, values) in batches.iter().zip(of_batches) {
        let origin = origin(first / BATCH);
        for (drawn, values) in drawn.iter_mut().zip(values) {
            for (column, values) in drawn[origin as usize].iter_mut().zip(values) {
                column.extend(values);
            }
        }
    }
    drawn
}

/// Batch by batch: errors of readings, then of what is stated.
fn origin(batch: usize) -> Origin {
    if batch.is_multiple_of(2) { Origin::Read } else { Origin::Stated }
}

/// The trails of one animal; none where there are no draws.
fn ready<'a>(analysis: &'a Analysis, trails: &'a [Placed], drawn: bool) -> Vec<Ready<'a>> {
    let parts = &analysis.adjusted.parts;
    let of = |placed: &'a Placed| {
        let path = &analysis.paths[placed.trail];
        let start = path.points.first()?.node;
        let part = parts.iter().position(|part| part.nodes.binary_search(&start).is_ok())?;
        let at = |node: usize| parts[part].nodes.binary_search(&node).ok();
        let local = path.points.iter().map(|point| at(point.node)).collect();
        let release = release(analysis, placed, &parts[part].nodes);
        let subjects = subjects(&analysis.survey, path, &analysis.adjusted, false);
        Some(Ready { placed, part, local, release, subjects })
    };
    let trails = if drawn { trails } else { &[] };
    trails.iter().filter_map(of).collect()
}

/// The control at which a trail starts, where that is the one position among the nodes of its part.
fn release(analysis: &Analysis, placed: &Placed, part: &[usize]) -> Option<Name> {
    let nodes = &analysis.network.nodes;
    let mut known =
        part.iter().filter(|&&node| nodes[node].known.is_some_and(|known| known.in_plan));
    let first = analysis.paths[placed.trail].points.first()?.node;
    let alone = known.next() == Some(&first) && known.next().is_none();
    analysis.survey.trails[placed.listed].release.filter(|_| alone)
}

/// What one batch makes of each animal, column by column.
fn batch(
    analysis: &Analysis,
    animals: &[Vec<Ready<'_>>],
    first: usize,
    draws: usize,
) -> Vec<[Vec<f64>; MEASURES]> {
    let parts: BTreeSet<usize> = animals.iter().flatten().map(|trail| trail.part).collect();
    let number = first / BATCH;
    let draw = |part: usize| {
        let mut deviations = Deviations::default();
        let sampler = &analysis.adjusted.parts[part].sampler;
        let batch = (origin(number), number as u64);
        sampler.draw(analysis.wanted.seed, part as u64, batch, &mut deviations);
        (part, deviations)
    };
    let deviations: BTreeMap<usize, Deviations> = parts.into_iter().map(draw).collect();
    let of_animal = |trails: &Vec<Ready<'_>>| {
        let mut columns: [Vec<f64>; MEASURES] = Default::default();
        if trails.is_empty() {
            return columns;
        }
        for (half, second) in [(first, false), (first + LANES, true)] {
            let count = LANES.min(draws.saturating_sub(half));
            let moved = positions(trails, &deviations, second);
            for lane in 0..count {
                let positions: Vec<[f64; 2]> =
                    moved.iter().map(|point| point.map(|axis| axis.lane(lane))).collect();
                for (column, value) in columns.iter_mut().zip(measures(&positions)) {
                    column.push(value);
                }
            }
        }
        columns
    };
    animals.iter().map(of_animal).collect()
}

/// All positions of an animal in half a batch.
fn positions(
    trails: &[Ready<'_>],
    deviations: &BTreeMap<usize, Deviations>,
    second: bool,
) -> Vec<[Lanes; 2]> {
    let mut found = Vec::new();
    // How far each control is off.
    let mut off: BTreeMap<Name, [Lanes; 2]> = BTreeMap::new();
    for trail in trails {
        let Some(part) = &trail.subjects.parts[0] else { continue };
        let Some(deviations) = deviations.get(&trail.part) else { continue };
        let estimate = part.estimate();
        let mut shape: Shape<'_, Lanes> = estimate.in_lanes();
        for (point, local) in shape.points.iter_mut().zip(&trail.local) {
            let Some(local) = *local else { continue };
            for (axis, deviation) in point.iter_mut().zip(&deviations.positions[local]) {
                *axis = *axis + deviation.mirrored(second);
            }
        }
        shape.retract(&estimate);
        let by =
            trail.release.zip(shape.points.first()).map_or_else(Default::default, |(at, to)| {
                let from = estimate.points[0];
                let own = [0, 1].map(|k| to[k] - Lanes::of(from[k]));
                let shared = *off.entry(at).or_insert(own);
                [0, 1].map(|k| shared[k] - own[k])
            });
        let points = trail.placed.points.iter().map(|&point| shape.points[point]);
        found.extend(points.map(|[east, north, _]| [east + by[0], north + by[1]]));
    }
    found
}
