//! Differences between animals: by group, by covariate, between two states of the same animals,
//! and whether they head one way.
//!
//! In: one value a trail, and the survey's factors. Out: one value an animal, summaries of groups,
//! and tests. The animal is the unit: its trails are averaged first, each with the same weight, and
//! n is a number of animals throughout. What is missing stays missing.
//! Every difference comes with its size and an interval; where there are too few animals for a test,
//! a sentence stands in its place.
//! Left out: which metrics are compared, and what is said of it (`results`).

pub mod animals;
pub mod censored;
pub mod covariate;
pub mod directions;
pub mod factors;
pub mod family;
pub mod groups;
pub mod pairs;
pub mod repeated;
pub mod summary;
mod test_row;

pub use test_row::TestRow;
