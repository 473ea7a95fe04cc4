//! The trails as their rows give them, and which of their names a reader would take for one.

use crate::survey::Survey;
use crate::survey::fault::Place;
use crate::survey::names::{ByName, Name};
use crate::survey::rows::AnchorRow;
use crate::survey::twins::{Met, Numbering};

/// A trail as its rows give it.
pub(super) struct Walked<'a> {
    pub(super) name: Name,
    pub(super) first: &'a AnchorRow,
    rows: usize,
    /// The first trail that its name is a near-twin of.
    pub(super) twin: Option<usize>,
}

impl Walked<'_> {
    /// The tape of the first row, which no anchor stands before. 0 is what many write at a release.
    pub(super) fn first_tape(&self) -> Option<f64> {
        let tape = self.first.readings.tape.filter(|_| self.first.from.is_none());
        tape.map(|tape| tape.to_metres()).filter(|tape| *tape > 0.0)
    }

    /// Why the name may be no trail of its own.
    pub(super) fn doubt(&self) -> Option<&'static str> {
        match (self.first_tape(), self.rows) {
            (Some(_), 1) => Some("a trail of one anchor, whose tape leads from nowhere"),
            (Some(_), _) => Some("a trail that begins with a tape, which leads from nowhere"),
            (None, 1) => Some("a trail of one anchor"),
            (None, _) => None,
        }
    }

    pub(super) fn place(&self, survey: &Survey) -> Place {
        survey.anchor_place(self.first.row, "trail")
    }
}

/// The trails that have anchors, in the order of their first rows.
pub(super) struct Trails<'a> {
    pub(super) walked: Vec<Walked<'a>>,
    met: Met<()>,
}

impl<'a> Trails<'a> {
    pub(super) fn of(survey: &'a Survey) -> Self {
        let mut walked = by_rows(survey);
        let mut met = Met::default();
        if walked.iter().any(|trail| survey.twins.has(trail.name)) {
            let numbering = Numbering::of(walked.iter().map(|trail| ((), trail.name)));
            for (at, trail) in walked.iter_mut().enumerate() {
                let name = trail.name;
                let ordinary = |other| numbering.is_ordinary(&survey.names, (), [name, other]);
                trail.twin = met.meet(&survey.twins, ((), name), at, ordinary).map(|twin| twin.1);
            }
        }
        Self { walked, met }
    }

    /// The first trail with anchors that `name`, which has none, is a near-twin of.
    pub(super) fn twin_of(&self, survey: &Survey, name: Name) -> Option<&Walked<'a>> {
        let (_, at) = self.met.near(&survey.twins, ((), name), |_| false)?;
        self.walked.get(at)
    }
}

fn by_rows(survey: &Survey) -> Vec<Walked<'_>> {
    let mut place: ByName<Name, usize> = ByName::default();
    let mut trails: Vec<Walked<'_>> = Vec::new();
    for rows in survey.anchors.chunk_by(|above, row| above.trail == row.trail) {
        let Some(first) = rows.first() else { continue };
        let at = *place.entry(first.trail).or_insert(trails.len());
        if at == trails.len() {
            trails.push(Walked { name: first.trail, first, rows: 0, twin: None });
        }
        trails[at].rows += rows.len();
    }
    trails
}
