//! The wood: trees, and where an animal really was.

use crate::chance::Chance;

/// How the animal came to an anchor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Way {
    Ground,
    Trunk,
    Branch,
    Liana,
}

/// Where the animal really was, and what it did there.
#[derive(Clone, Debug)]
pub(crate) struct Anchor {
    pub(crate) east: f64,
    pub(crate) north: f64,
    /// How much the ground here is above the plane.
    pub(crate) rough: f64,
    pub(crate) height: f64,
    pub(crate) way: Way,
    pub(crate) support: &'static str,
    pub(crate) plant: &'static str,
    pub(crate) tree: String,
    pub(crate) diameter_cm: Option<f64>,
    pub(crate) slope_deg: Option<f64>,
    pub(crate) perch: &'static str,
    pub(crate) refuge: &'static str,
    pub(crate) seen: bool,
    pub(crate) escape: bool,
    pub(crate) gap: &'static str,
}

impl Anchor {
    pub(crate) fn up(&self) -> f64 {
        self.rough + self.height
    }

    pub(crate) fn horizontal_to(&self, other: &Self) -> f64 {
        (other.east - self.east).hypot(other.north - self.north)
    }

    pub(crate) fn distance_to(&self, other: &Self) -> f64 {
        self.horizontal_to(other).hypot(other.up() - self.up())
    }

    /// True bearing towards `other`, degrees.
    pub(crate) fn azimuth_to(&self, other: &Self) -> f64 {
        (other.east - self.east).atan2(other.north - self.north).to_degrees()
    }

    pub(crate) fn incline_to(&self, other: &Self) -> f64 {
        (other.up() - self.up()).atan2(self.horizontal_to(other)).to_degrees()
    }
}

/// A tree of the wood; a crevice is a tree without a trunk.
#[derive(Clone)]
pub(crate) struct Tree {
    pub(crate) east: f64,
    pub(crate) north: f64,
    pub(crate) rough: f64,
    pub(crate) number: String,
    pub(crate) plant: &'static str,
    pub(crate) diameter_cm: f64,
}

impl Tree {
    pub(crate) fn grown(
        chance: &mut Chance,
        (east, north): (f64, f64),
        plant: &'static str,
    ) -> Self {
        let (rough, diameter_cm) = (chance.error(0.10), chance.between(14.0, 62.0));
        Self { east, north, rough, number: String::new(), plant, diameter_cm }
    }

    /// A tree that several trails meet: number `of` of those tagged `tag`, always the same.
    pub(crate) fn known(tag: char, of: usize, at: (f64, f64), plant: &'static str) -> Self {
        let mut chance = Chance::new(900 + 50 * usize::from(tag == 'H') + of);
        Self { number: format!("{tag}{of}"), ..Self::grown(&mut chance, at, plant) }
    }
}
