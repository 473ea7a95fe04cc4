//! The room each animal takes over all its trails: home area, distances, refuges, captures, overlap.
//!
//! In: an [`Analysis`]. Out: one [`AnimalSpace`] an animal, and the area each pair shares. Everything
//! between trails is in plan, and of those trails alone whose plan, north and place are known: they lie
//! in one frame, and any other at its own release. Assumes that a position stands for where the animal
//! was; positions are turning points of the thread, no fixes at regular times.
//! Left out: outlines by density, which need independent fixes; intervals of what two animals share,
//! since each pair would have to be clipped anew in every draw.

mod draws;
mod extent;
mod history;
mod pairs;
mod placed;

use super::Analysis;
use super::comparison::roster;
use super::usage::all_stays;
use crate::survey::names::Name;
use std::collections::{BTreeMap, BTreeSet};

pub use extent::{Extent, Growth};
pub use history::{Captures, Moves, mean_and_greatest};
pub use pairs::{MOST_ANIMALS, Overlap, overlaps};
pub use placed::{Placed, Unplaced};

/// One animal over all its trails.
#[derive(Clone, Debug)]
pub struct AnimalSpace {
    /// The animal.
    pub animal: Name,
    /// How many of its trails were asked for.
    pub trails: usize,
    /// Those that lie in the survey's frame.
    pub placed: Vec<Placed>,
    /// Why others do not, with how many.
    pub unplaced: BTreeMap<Unplaced, usize>,
    /// Its home area and what goes with it.
    pub extent: Extent,
    /// From release to release.
    pub moves: Moves,
    /// Its refuges.
    pub refuges: Refuges,
    /// When it was caught.
    pub captures: Captures,
}

/// How faithful an animal is to its refuges, over all its trails: these need no place.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Refuges {
    /// Uses of a refuge with a name.
    pub uses: usize,
    /// Different refuges among them.
    pub distinct: usize,
}

impl Refuges {
    /// The share of uses that are of a refuge this animal has used before; whatever their order, that
    /// is all but the first use of each. `None` of fewer than two uses.
    ///
    /// ```text
    /// (uses − distinct) / uses
    /// ```
    ///
    /// Common practice, no source.
    pub fn reuse(&self) -> Option<f64> {
        (self.uses > 1).then(|| (self.uses - self.distinct) as f64 / self.uses as f64)
    }
}

impl AnimalSpace {
    /// Why trails are left out of what lies between trails; blank where none are.
    pub fn left_out(&self) -> String {
        let words = |(why, count): (&Unplaced, &usize)| format!("{count} {}", why.words(*count));
        let found: Vec<String> = self.unplaced.iter().map(words).collect();
        if found.is_empty() { String::new() } else { format!("left out: {}", found.join(", ")) }
    }
}

/// All animals with trails, in the order of the animals table; computed once, since tables, methods and
/// answer all rest on it.
pub fn spaces(analysis: &Analysis) -> &[AnimalSpace] {
    analysis.space.get_or_init(|| compute(analysis))
}

fn compute(analysis: &Analysis) -> Vec<AnimalSpace> {
    let animals = roster(analysis).animals;
    let roots = placed::placed_roots(&analysis.network);
    let sorted: Vec<(Vec<Placed>, BTreeMap<Unplaced, usize>)> =
        animals.iter().map(|(_, rows)| placed::sorted(analysis, rows, &roots)).collect();
    let own: Vec<&[Placed]> = sorted.iter().map(|(placed, _)| placed.as_slice()).collect();
    let drawn = draws::draws(analysis, &own);
    let refuges = refuges(analysis);
    let of = |(((animal, rows), (placed, unplaced)), drawn): (((Name, Vec<usize>), _), _)| {
        let placed: Vec<Placed> = placed;
        AnimalSpace {
            animal,
            trails: rows.len(),
            extent: Extent::of(analysis, &placed, &drawn),
            moves: Moves::of(analysis, animal, &placed),
            refuges: refuges.get(&animal).copied().unwrap_or_default(),
            captures: Captures::of(analysis, animal),
            placed,
            unplaced,
        }
    };
    animals.into_iter().zip(sorted).zip(drawn).map(of).collect()
}

/// Uses of refuges with a name, by animal.
fn refuges(analysis: &Analysis) -> BTreeMap<Name, Refuges> {
    let mut uses: BTreeMap<Name, Vec<Name>> = BTreeMap::new();
    for stay in all_stays(analysis) {
        let listed = analysis.listed(&analysis.paths[stay.trail]);
        let animal = listed.and_then(|row| analysis.survey.trails[row].animal);
        if let Some((animal, refuge)) = animal.zip(stay.refuge) {
            uses.entry(animal).or_default().push(refuge);
        }
    }
    let count = |refuges: Vec<Name>| Refuges {
        uses: refuges.len(),
        distinct: refuges.into_iter().collect::<BTreeSet<_>>().len(),
    };
    uses.into_iter().map(|(animal, refuges)| (animal, count(refuges))).collect()
}
