//! Sections: from one place the animal was seen to the next, as a rule one night.

use super::legs::{Leg, Path};

/// One section, as ranges of its path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Section {
    /// Its number, from 1.
    pub number: usize,
    /// The point it starts at.
    pub start: usize,
    /// The point it ends at.
    pub end: usize,
    /// Its first leg.
    pub first_leg: usize,
    /// One after its last leg.
    pub end_leg: usize,
}

impl Section {
    /// Its legs.
    pub fn legs<'a>(&self, path: &'a Path) -> &'a [Leg] {
        &path.legs[self.first_leg..self.end_leg]
    }
}

/// The sections of a path; a path of one point is one section without legs.
pub fn sections(path: &Path) -> Vec<Section> {
    let mut found: Vec<Section> = Vec::new();
    for (at, leg) in path.legs.iter().enumerate() {
        match found.last_mut() {
            Some(section) if section.number == leg.section => {
                section.end = leg.to;
                section.end_leg = at + 1;
            }
            _ => found.push(Section {
                number: leg.section,
                start: leg.from,
                end: leg.to,
                first_leg: at,
                end_leg: at + 1,
            }),
        }
    }
    if found.is_empty() && !path.points.is_empty() {
        found.push(Section { number: 1, start: 0, end: 0, first_leg: 0, end_leg: 0 });
    }
    found
}
