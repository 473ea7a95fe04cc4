//! Draws of all paths, in fixed pieces on as many threads as there are cores.

use super::progress::Progress;
use super::subjects::TrailSubjects;
use crate::adjustment::draws::{Deviations, Origin};
use crate::adjustment::path::Path;
use crate::adjustment::{Adjusted, Part};
use crate::maths::ground::Ground;
use crate::maths::parallel;
use crate::maths::quantity::{LANES, Lanes, Number};
use crate::measures::metrics::{Drawn, Shape};
use std::sync::Mutex;

/// What one batch gives: each of its lanes and their mirror images.
const BATCH: usize = 2 * LANES;
/// Draws that one piece of work makes.
const PIECE: usize = 16 * BATCH;

/// What each subject's draws gave: one pair (whole, after the escape run) a trail.
pub(super) type DrawnTrail = [Drawn; 2];

/// The draws of one piece, in the order of its part's trails.
struct DrawnPiece {
    first: usize,
    drawn: Vec<DrawnTrail>,
}

/// One piece of work: batches of one connected part.
#[derive(Clone, Copy)]
struct Piece {
    part: usize,
    first: usize,
    end: usize,
}

/// Draws every path `draws` times and measures it. What a trail's draws gave is handed to `finish`
/// as soon as they are all there, and then let go of: of many trails few are held at a time.
pub(super) fn draw_all<R: Send>(
    task: &Task<'_>,
    draws: usize,
    progress: &Progress,
    finish: impl Fn(usize, &DrawnTrail) -> R + Sync,
) -> Vec<R> {
    let pieces = pieces(task.adjusted, draws);
    progress.set_total(pieces.len());
    let of_parts: Vec<Mutex<Vec<DrawnPiece>>> =
        task.trails.iter().map(|_| Mutex::new(Vec::new())).collect();
    // The trails that a piece is the last of, finished.
    let work = |&piece: &Piece| {
        let drawn = task.draw(piece);
        progress.step();
        // A poisoned lock means that another thread has panicked, and so will this one.
        let Ok(mut of_part) = of_parts[piece.part].lock() else { return Vec::new() };
        of_part.push(DrawnPiece { first: piece.first, drawn });
        if of_part.len() < draws.div_ceil(PIECE) {
            return Vec::new();
        }
        let all = joined(std::mem::take(&mut *of_part));
        drop(of_part);
        let trails = task.trails[piece.part].iter().zip(&all);
        trails.map(|(&trail, drawn)| (trail, finish(trail, drawn))).collect()
    };
    let mut finished: Vec<Option<R>> = task.paths.iter().map(|_| None).collect();
    for (trail, result) in parallel::each(&pieces, work).into_iter().flatten() {
        finished[trail] = Some(result);
    }
    let undrawn = |(trail, result): (usize, Option<R>)| {
        result.unwrap_or_else(|| finish(trail, &DrawnTrail::default()))
    };
    finished.into_iter().enumerate().map(undrawn).collect()
}

/// The draws of each trail of a part, in the order in which they were numbered.
fn joined(mut pieces: Vec<DrawnPiece>) -> Vec<DrawnTrail> {
    pieces.sort_by_key(|piece| piece.first);
    let mut pieces = pieces.into_iter().map(|piece| piece.drawn);
    let mut joined = pieces.next().unwrap_or_default();
    for mut piece in pieces {
        for (joined, piece) in joined.iter_mut().zip(&mut piece) {
            joined.iter_mut().zip(piece).for_each(|(joined, piece)| joined.append(piece));
        }
    }
    joined
}

fn pieces(adjusted: &Adjusted, draws: usize) -> Vec<Piece> {
    let of_part = |part| {
        (0..draws.div_ceil(PIECE)).map(move |piece| Piece {
            part,
            first: piece * PIECE,
            end: ((piece + 1) * PIECE).min(draws),
        })
    };
    (0..adjusted.parts.len()).flat_map(of_part).collect()
}

/// The paths whose release lies in each part. A later piece of a path in two pieces keeps its
/// place in the draws: what compares its ends is blank anyway.
fn trails_of_parts(adjusted: &Adjusted, paths: &[Path]) -> Vec<Vec<usize>> {
    adjusted
        .parts
        .iter()
        .map(|part| {
            let here = |path: &&Path| {
                path.points.first().is_some_and(|p| part.nodes.binary_search(&p.node).is_ok())
            };
            paths.iter().filter(here).map(|path| path.trail).collect()
        })
        .collect()
}

/// Everything that draws rest on.
pub(super) struct Task<'a> {
    adjusted: &'a Adjusted,
    ground: &'a Ground,
    paths: &'a [Path],
    subjects: &'a [TrailSubjects],
    seed: u64,
    /// The trails of each part.
    trails: Vec<Vec<usize>>,
}

impl<'a> Task<'a> {
    pub(super) fn new(
        adjusted: &'a Adjusted,
        ground: &'a Ground,
        paths: &'a [Path],
        subjects: &'a [TrailSubjects],
        seed: u64,
    ) -> Self {
        Self { adjusted, ground, paths, subjects, seed, trails: trails_of_parts(adjusted, paths) }
    }

    fn draw(&self, piece: Piece) -> Vec<DrawnTrail> {
        let part = &self.adjusted.parts[piece.part];
        let trails = &self.trails[piece.part];
        let mut drawn: Vec<DrawnTrail> = trails.iter().map(|_| DrawnTrail::default()).collect();
        let mut shapes: Vec<[Shape<'_, Lanes>; 2]> =
            trails.iter().map(|&trail| self.subjects[trail].shapes()).collect();
        let estimates: Vec<[Option<Shape<'_>>; 2]> =
            trails.iter().map(|&trail| self.subjects[trail].estimates()).collect();
        let local: Vec<Vec<Option<usize>>> = trails.iter().map(|&t| self.local(t, part)).collect();
        let mut deviations = Deviations::default();
        for first in (piece.first..piece.end).step_by(LANES) {
            let second = !first.is_multiple_of(BATCH);
            // Batch by batch: errors of readings, then of what is stated.
            let even = (first / BATCH).is_multiple_of(2);
            let origin = if even { Origin::Read } else { Origin::Stated };
            if !second {
                let batch = (origin, (first / BATCH) as u64);
                part.sampler.draw(self.seed, piece.part as u64, batch, &mut deviations);
            }
            let count = LANES.min(piece.end - first);
            for (at, (&trail, drawn)) in trails.iter().zip(&mut drawn).enumerate() {
                self.deviate(trail, &local[at], (&deviations, second), &mut shapes[at]);
                let subjects = &self.subjects[trail];
                for (which, drawn) in drawn.iter_mut().enumerate() {
                    let part = subjects.parts[which].as_ref();
                    if let Some((part, estimate)) = part.zip(estimates[at][which].as_ref()) {
                        drawn.push(
                            &part.subject,
                            &mut shapes[at][which],
                            estimate,
                            (origin, count),
                        );
                    }
                }
            }
        }
        drawn
    }

    /// Where the nodes of a trail's points stand in the draws of `part`.
    fn local(&self, trail: usize, part: &Part) -> Vec<Option<usize>> {
        let at = |node: usize| part.nodes.binary_search(&node).ok();
        self.paths[trail].points.iter().map(|point| at(point.node)).collect()
    }

    /// Moves the points and heights of a trail's shapes to the draws of half a batch.
    fn deviate(
        &self,
        trail: usize,
        local: &[Option<usize>],
        (deviations, second): (&Deviations, bool),
        shapes: &mut [Shape<'_, Lanes>; 2],
    ) {
        for (at, point) in self.paths[trail].points.iter().enumerate() {
            let Some(local) = local[at] else { continue };
            let [e, n, u] = deviations.positions[local].map(|axis| axis.mirrored(second));
            let adjusted = self.adjusted.positions[point.node].map(Lanes::of);
            let position = [adjusted[0] + e, adjusted[1] + n, adjusted[2] + u];
            let height = &self.adjusted.heights[point.node];
            let above = u - self.ground_beyond(height.ground, position);
            let own = deviations.own[local].mirrored(second);
            let mut deviated = Lanes::of(height.height) + Lanes::of(height.follows) * above + own;
            if let Some(read) = deviations.heights.get(local) {
                deviated = deviated + Lanes::of(1.0 - height.follows) * read.mirrored(second);
            }
            for shape in &mut *shapes {
                shape.points[at] = position;
                shape.heights[at] = deviated;
            }
        }
    }

    /// How far the ground at each `position` lies above `adjusted`, metres; nothing where the ground
    /// is not known there.
    fn ground_beyond(&self, adjusted: f64, [east, north, _]: [Lanes; 3]) -> Lanes {
        if self.ground.is_flat() {
            return Lanes::default();
        }
        Lanes::lanes(|lane| {
            let ground = self.ground.at(east.lane(lane), north.lane(lane));
            ground.map_or(0.0, |spot| spot.elevation - adjusted)
        })
    }
}
