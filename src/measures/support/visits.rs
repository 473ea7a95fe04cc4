//! Metres, visits and anchors of each class, along one part of a path.

use super::classes::{Class, Division, band, of_leg, of_row};
use crate::adjustment::path::strata::{LengthByHeight, Stretch};
use crate::adjustment::path::{Geometry, Leg, Path};
use crate::survey::Survey;
use crate::survey::names::Name;
use std::collections::BTreeMap;

/// How much one class was used.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ClassUse {
    /// Metres of counted path.
    pub length: f64,
    /// Unbroken stretches on it.
    pub visits: usize,
    /// Anchors on it.
    pub anchors: usize,
}

impl ClassUse {
    /// Adds another use of the same class.
    pub fn add(&mut self, other: &Self) {
        self.length += other.length;
        self.visits += other.visits;
        self.anchors += other.anchors;
    }
}

/// What one part of a path used.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PathUse {
    /// Each division's classes.
    pub classes: BTreeMap<(Division, Class), ClassUse>,
    /// The whole part: visits are those of supports.
    pub total: ClassUse,
    /// Changes from one support to another.
    pub changes: usize,
    /// Counted legs from one tree or plant straight to another, above ground.
    pub crossings: usize,
    /// Their metres, whatever class these lie in.
    pub crossing_m: f64,
    /// Metres that count for a support by halves of legs whose ends differ or of which one is blank.
    pub halves_m: f64,
    /// Legs that could not be followed.
    pub gaps: usize,
}

impl PathUse {
    /// Adds what another path of the same animal used.
    pub fn add(&mut self, other: &Self) {
        for (class, used) in &other.classes {
            self.classes.entry(*class).or_default().add(used);
        }
        self.total.add(&other.total);
        self.changes += other.changes;
        self.crossings += other.crossings;
        self.crossing_m += other.crossing_m;
        self.halves_m += other.halves_m;
        self.gaps += other.gaps;
    }

    /// The classes of one division.
    pub fn of(&self, division: Division) -> impl Iterator<Item = (Class, &ClassUse)> {
        let own = self.classes.iter().filter(move |((own, _), _)| *own == division);
        own.map(|((_, class), used)| (*class, used))
    }
}

/// One part of a path: its legs and the point it starts at.
#[derive(Clone, Copy, Debug)]
pub struct Stage<'a> {
    /// The survey.
    pub survey: &'a Survey,
    /// The path.
    pub path: &'a Path,
    /// Where it lies.
    pub geometry: &'a Geometry,
    /// The legs of the part.
    pub legs: &'a [Leg],
    /// The point at which the part starts.
    pub start: usize,
}

/// What a part of a path used.
pub fn used(stage: &Stage<'_>) -> PathUse {
    let mut used = PathUse::default();
    for (division, _) in Division::ALL {
        count_anchors(stage, division, &mut used);
        if division == Division::Stratum {
            strata(stage, &mut used);
        } else {
            count_legs(stage, division, &mut used);
        }
    }
    let supports = || used.of(Division::Support);
    used.total = ClassUse {
        length: supports().map(|(_, class)| class.length).sum(),
        visits: supports().map(|(_, class)| class.visits).sum(),
        anchors: stage.path.points.len() - stage.start,
    };
    used.changes = changes(stage.legs);
    for leg in stage.legs.iter().filter(|leg| leg.counted) {
        let metres = stage.geometry.length(leg);
        used.crossings += usize::from(leg.support.crosses);
        used.crossing_m += if leg.support.crosses { metres } else { 0.0 };
        used.halves_m += metres * leg.support.share_in_halves();
    }
    used.gaps = stage.legs.iter().filter(|leg| leg.gap.is_some()).count();
    used
}

fn count_anchors(stage: &Stage<'_>, division: Division, used: &mut PathUse) {
    let edges = division.edges(&stage.survey.settings);
    for point in stage.start..stage.path.points.len() {
        let row = &stage.survey.anchors[stage.path.points[point].row];
        let class = match division {
            Division::Stratum => Class::Band(band(stage.geometry.heights[point], edges)),
            _ => of_row(division, stage.survey, row),
        };
        used.classes.entry((division, class)).or_default().anchors += 1;
    }
}

fn length(geometry: &Geometry, leg: &Leg) -> f64 {
    if leg.counted { geometry.length(leg) } else { 0.0 }
}

/// Whether a leg goes on where the one before it in the list ended, without a gap.
fn goes_on(path: &Path, legs: &[Leg], at: usize) -> bool {
    let before = at.checked_sub(1).map(|before| &legs[before]);
    before.is_some_and(|before| {
        let node = |point: usize| path.points[point].node;
        before.counted && legs[at].counted && node(before.to) == node(legs[at].from)
    })
}

/// Metres and visits half leg by half leg.
fn count_legs(stage: &Stage<'_>, division: Division, used: &mut PathUse) {
    let mut before = None;
    for (at, leg) in stage.legs.iter().enumerate().filter(|(_, leg)| leg.counted) {
        if !goes_on(stage.path, stage.legs, at) {
            before = None;
        }
        let half = 0.5 * length(stage.geometry, leg);
        for class in of_leg(division, stage.survey, stage.path, leg) {
            let entry = used.classes.entry((division, class)).or_default();
            entry.length += half;
            entry.visits += usize::from(before != Some(class));
            before = Some(class);
        }
    }
}

/// Metres by cutting legs at the edges; a visit begins at the start and at each edge crossed.
fn strata(stage: &Stage<'_>, used: &mut PathUse) {
    let edges = &stage.survey.settings.strata_edges_m;
    let height = |point: usize| stage.geometry.heights[point];
    let mut visits = vec![0; edges.len() + 1];
    let mut heights = LengthByHeight::default();
    for (at, leg) in stage.legs.iter().enumerate().filter(|(_, leg)| leg.counted) {
        let (from, to) = (height(leg.from), height(leg.to));
        let (first, last) = (band(from, edges), band(to, edges));
        visits[first] += usize::from(!goes_on(stage.path, stage.legs, at));
        let entered = if first < last { first + 1..last + 1 } else { last..first };
        for band in &mut visits[entered] {
            *band += 1;
        }
        heights.push(Stretch { length: length(stage.geometry, leg), from, to });
    }
    for (at, metres) in heights.by_stratum(edges).enumerate() {
        let entry = used.classes.entry((Division::Stratum, Class::Band(at))).or_default();
        entry.length = metres;
        entry.visits = visits[at];
    }
}

/// How often the support changes, crossings counted by their ends; what nobody wrote down neither
/// makes a change nor hides one.
fn changes(legs: &[Leg]) -> usize {
    let counted = legs.iter().filter(|leg| leg.counted);
    let met: Vec<Name> = counted.flat_map(|leg| leg.support.halves).flatten().collect();
    met.windows(2).filter(|pair| pair[0] != pair[1]).count()
}
