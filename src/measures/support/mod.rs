//! What the animal used: supports, plants, diameters, inclines and heights along its path, the
//! places where it perched or hid, and what it chose of what was on offer.
//!
//! In: paths with their geometry, and the survey's rows. Out: metres, visits and anchors by class,
//! perches and refuges, and selection with the animal as the unit.
//! Each counted leg is two halves of its length, and each half falls into exactly one class of each
//! division: what its end or its leg says, a crossing, or not recorded. So the classes of a division
//! add up to the counted length. Metres of one animal are never counted as independent.
//! Left out: differences between groups of animals (`measures/compare`).

pub mod availability;
pub mod classes;
pub mod perches;
pub mod selection;
pub mod visits;
