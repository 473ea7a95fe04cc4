//! How far animals head from a bearing that was stated for each: of home, of water, downhill.
//!
//! In: heading and stated bearing of each animal, radians, and a seed. Out: [`Deviations`]. Assumes that the
//! bearing was known before the heading. Left out: how far the place stated was.

use super::{MeanVector, interval_of_direction, wrapped};

/// Headings less bearings, radians.
#[derive(Clone, Debug, PartialEq)]
pub struct Deviations {
    /// Of each animal, in the order given, in (−π, π]: of bearings, positive to the right.
    pub each: Vec<f64>,
    /// Their mean direction; `None` of none or where they cancel.
    pub mean: Option<f64>,
    /// Its 95 % interval: see [`interval_of_direction`]. Animals head elsewhere where it leaves out 0.
    pub interval: Option<[f64; 2]>,
    /// Their mean vector: its [`v_test`](MeanVector::v_test) about 0 asks whether they head there.
    pub vector: MeanVector,
}

/// Deviations of `[heading, stated]` of each animal.
pub fn deviations(animals: &[[f64; 2]], seed: u64) -> Deviations {
    let each: Vec<f64> =
        animals.iter().map(|[heading, stated]| wrapped(heading - stated)).collect();
    let mut sorted = each.clone();
    sorted.sort_by(f64::total_cmp);
    let vector = MeanVector::of(sorted.iter().copied());
    let interval = interval_of_direction(&sorted, seed);
    Deviations { each, mean: vector.direction(), interval, vector }
}
