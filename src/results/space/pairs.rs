//! What the home areas of two animals share.

use super::{AnimalSpace, spaces};
use crate::results::Analysis;

/// Of more animals than this with a home area no pairs are made: they would be some 20 000 rows.
pub const MOST_ANIMALS: usize = 200;

/// Two animals with home areas.
#[derive(Clone, Copy, Debug)]
pub struct Overlap<'a> {
    /// The two, in the order of the animals table.
    pub animals: [&'a AnimalSpace; 2],
    /// The home area of each, m².
    pub areas: [f64; 2],
    /// The area of the polygon that both share, m².
    pub shared: f64,
    /// Distance between the centres of both, metres.
    pub centres: f64,
}

impl Overlap<'_> {
    /// The shared area as a share of each one's own.
    pub fn shares(&self) -> [f64; 2] {
        self.areas.map(|area| (self.shared / area).min(1.0))
    }
}

/// The animals that have a home area.
pub(super) fn with_area(analysis: &Analysis) -> Vec<(&AnimalSpace, f64)> {
    let area = |animal: &AnimalSpace| animal.extent.area.map(|area| area.value);
    let all = spaces(analysis).iter().filter_map(|animal| Some((animal, area(animal)?)));
    all.filter(|(_, area)| *area > 0.0).collect()
}

/// Every pair of animals with home areas; how many such animals there are where they are more than
/// [`MOST_ANIMALS`].
///
/// # Errors
/// Of more animals no pairs are made.
pub fn overlaps(analysis: &Analysis) -> Result<Vec<Overlap<'_>>, usize> {
    let animals = with_area(analysis);
    if animals.len() > MOST_ANIMALS {
        return Err(animals.len());
    }
    let mut found = Vec::new();
    for (at, &(one, area)) in animals.iter().enumerate() {
        for &(other, other_area) in &animals[at + 1..] {
            let Some((a, b)) = one.extent.centre.zip(other.extent.centre) else { continue };
            found.push(Overlap {
                animals: [one, other],
                areas: [area, other_area],
                shared: one.extent.outline.shared(&other.extent.outline).area(),
                centres: (b[0] - a[0]).hypot(b[1] - a[1]),
            });
        }
    }
    Ok(found)
}
