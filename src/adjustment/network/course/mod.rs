//! How the direction in plan of each leg of a trail is known: by the needle, by a turn from a leg
//! that is known, by standing plumb, or not at all.
//!
//! In: the rows of one trail. Out: the [`Course`] of each leg, which names other legs by the place
//! of their row in the trail, and whether the trail has a plan at all. A leg without any direction
//! keeps that of the leg before, with the spread of the trail's own turns, as long as such legs are
//! few; a blank is missing for its own leg only.

use super::Course;
use super::upright::stands_up;
use crate::survey::Survey;
use crate::survey::names::{ByName, Name};
use crate::survey::rows::AnchorRow;
use crate::survey::settings::MissingBearing;

/// A leg as its row tells it.
#[derive(Clone, Copy, Debug)]
struct Leg {
    reading: Reading,
    /// Whether a turn was read at its start.
    turned: bool,
    /// The leg by which the walk last came to its start; where that one stands plumb, the one
    /// before it.
    before: Option<usize>,
}

/// What a leg's row says of its direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Reading {
    Needle,
    Blank,
    Plumb,
    /// Nothing that could place its far end was measured.
    Unmeasured,
}

/// The legs of one trail with their directions.
#[derive(Clone, Debug)]
pub(super) struct Courses {
    legs: Vec<Leg>,
    /// The course of each row's leg; `None` where its far end cannot be placed by it.
    pub(super) of_row: Vec<Option<Course>>,
    /// Whether the trail has a profile only.
    pub(super) profile_only: bool,
}

/// One leg in so many may lack a direction of its own, and the trail still has a plan.
const UNDIRECTED: usize = 5;

impl Courses {
    /// The courses of the trail whose anchors stand in `rows`.
    pub(super) fn of(survey: &Survey, rows: &[usize]) -> Self {
        let legs = legs(survey, rows);
        let of_row = legs.iter().map(own_course).collect();
        let mut courses = Self { legs, of_row, profile_only: false };
        courses.hang_together();
        courses.profile_only = courses.is_profile_only(survey.settings.missing_bearing);
        if courses.profile_only {
            let directed = courses.of_row.iter_mut().flatten().filter(|c| **c != Course::Plumb);
            directed.for_each(|course| *course = Course::Profile);
        }
        courses
    }

    /// The leg from whose direction the turn at the start of a row's leg was read, if one was.
    pub(super) fn turned_from(&self, row: usize) -> Option<usize> {
        self.legs[row].before.filter(|_| self.legs[row].turned)
    }

    /// Hands directions on from leg to leg: what was measured first, then what must be assumed.
    fn hang_together(&mut self) {
        self.forward(false);
        self.backward(false);
        self.forward(false);
        if !self.of_row.contains(&Some(Course::Needle)) {
            self.free_first();
        }
        loop {
            self.forward(true);
            self.backward(true);
            if !self.free_first() {
                return;
            }
        }
    }

    fn is_missing(&self, row: usize) -> bool {
        self.of_row[row].is_none() && self.legs[row].reading == Reading::Blank
    }

    fn is_known(&self, row: usize) -> bool {
        self.of_row[row].is_some_and(|course| course != Course::Plumb)
    }

    /// From each known leg to those that follow it: by their turns, or straight on where that may be
    /// assumed.
    fn forward(&mut self, assume: bool) {
        for row in 0..self.legs.len() {
            let before = self.legs[row].before.filter(|&before| self.is_known(before));
            if let (true, Some(before)) = (self.is_missing(row), before) {
                self.of_row[row] = if self.legs[row].turned {
                    Some(Course::Turn(before))
                } else {
                    assume.then_some(Course::StraightOn(before))
                };
            }
        }
    }

    /// From each known leg back to the one that it was turned from.
    fn backward(&mut self, assume: bool) {
        for row in (0..self.legs.len()).rev() {
            let before = self.legs[row].before.filter(|&before| self.is_missing(before));
            if let (true, Some(before)) = (self.is_known(row), before) {
                self.of_row[before] = if self.legs[row].turned {
                    Some(Course::TurnBack(row))
                } else {
                    assume.then_some(Course::StraightBack(row))
                };
            }
        }
    }

    /// Takes the direction of the first leg that nothing tells as given; `false` where there is none.
    fn free_first(&mut self) -> bool {
        let first = (0..self.legs.len()).find(|&row| self.is_missing(row));
        first.inspect(|&row| self.of_row[row] = Some(Course::Free)).is_some()
    }

    /// How many legs lack a direction of their own. Where no needle was read, that of one leg is
    /// free: it says no more than where the page's top is.
    fn undirected(&self) -> usize {
        let count = |what: fn(Course) -> bool| {
            self.of_row.iter().flatten().filter(|course| what(**course)).count()
        };
        let free = count(|course| course == Course::Free);
        let given = usize::from(count(|course| course == Course::Needle) == 0).min(free);
        count(Course::is_assumed) + free - given
    }

    fn is_profile_only(&self, setting: MissingBearing) -> bool {
        let directed = |course: &Course| {
            matches!(course, Course::Needle | Course::Turn(_) | Course::TurnBack(_))
        };
        let turns = self.legs.iter().any(|leg| leg.turned && leg.before.is_some());
        let any = self.of_row.iter().flatten().any(directed);
        let (undirected, legs) = (self.undirected(), self.of_row.iter().flatten().count());
        let free = self.of_row.contains(&Some(Course::Free));
        match setting {
            MissingBearing::StraightOn => false,
            MissingBearing::Blank => undirected > 0 || (free && !any),
            MissingBearing::Few => (free && !any) || (UNDIRECTED * undirected > legs && !turns),
        }
    }
}

fn own_course(leg: &Leg) -> Option<Course> {
    match leg.reading {
        Reading::Needle => Some(Course::Needle),
        Reading::Plumb => Some(Course::Plumb),
        Reading::Blank | Reading::Unmeasured => None,
    }
}

/// The legs of a trail; that of the first row is none.
fn legs(survey: &Survey, rows: &[usize]) -> Vec<Leg> {
    let row = |place: usize| &survey.anchors[rows[place]];
    let starts = starts(survey, rows);
    let directed =
        (1..rows.len()).any(|place| has_direction(row(place)) && starts[place].is_some());
    let mut last: ByName<Name, usize> = ByName::default();
    let mut legs: Vec<Leg> = Vec::with_capacity(rows.len());
    for (place, &start) in starts.iter().enumerate() {
        let reading = start.map_or(Reading::Unmeasured, |start| {
            reading(survey, [row(start), row(place)], directed)
        });
        let came = start.and_then(|start| last.get(&row(start).anchor).copied());
        let before = came.and_then(|came| match legs[came].reading {
            Reading::Plumb => legs[came].before,
            Reading::Unmeasured => None,
            Reading::Needle | Reading::Blank => Some(came),
        });
        // A first leg has no leg before it: what stands there as a turn is none.
        let turned = row(place).readings.turn.is_some() && before.is_some();
        legs.push(Leg { reading, turned, before });
        last.insert(row(place).anchor, place);
    }
    legs
}

fn has_direction(row: &AnchorRow) -> bool {
    let readings = &row.readings;
    readings.bearing.is_some() || readings.back_bearing.is_some() || readings.turn.is_some()
}

/// The row at which the leg to each row starts.
fn starts(survey: &Survey, rows: &[usize]) -> Vec<Option<usize>> {
    let mut named: ByName<Name, usize> = ByName::default();
    let mut starts = Vec::with_capacity(rows.len());
    for (place, &row) in rows.iter().enumerate() {
        let row = &survey.anchors[row];
        starts.push(match row.from {
            Some(name) => named.get(&name).copied(),
            None => place.checked_sub(1),
        });
        named.entry(row.anchor).or_insert(place);
    }
    starts
}

/// What the leg between the anchors of two rows says of its direction. Without a bearing it stands
/// plumb where it stands up, and either the trail has directions elsewhere, so that the blank says
/// something, or one end lies on what stands up.
fn reading(survey: &Survey, [from, to]: [&AnchorRow; 2], directed: bool) -> Reading {
    let readings = &to.readings;
    if readings.tape.is_none() {
        return Reading::Unmeasured;
    }
    if readings.bearing.is_some() || readings.back_bearing.is_some() {
        return Reading::Needle;
    }
    let turned = readings.turn.is_some();
    if readings.tape.is_some_and(|tape| tape.to_metres() <= 0.0) {
        return Reading::Plumb; // it has no length, and wants no direction
    }
    if !turned && stands_up(survey, [from, to], directed) {
        return Reading::Plumb;
    }
    if !turned && to.gap.is_some() { Reading::Unmeasured } else { Reading::Blank }
}

#[cfg(test)]
mod tests;
