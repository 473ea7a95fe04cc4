//! The path of one thread: its points and legs in walking order, and how it divides.
//!
//! In: the adjusted network and the survey's rows. Out: a [`Path`]: which legs count, which are
//! escape run, which section each belongs to, what each lies on; strata, bouts and equal steps of
//! its [`Geometry`]. The layout of a path is the same for every draw; only the geometry changes.
//! Assumes straight legs and heights that change evenly along them. Left out: what is measured on
//! a path (`measures/metrics`).

pub mod bouts;
pub mod equal_steps;
mod escape;
pub mod legs;
pub mod moving_steps;
pub mod sections;
pub mod strata;

pub use escape::EscapeFound;
pub use legs::{Geometry, Leg, LegClass, Path, Point, paths};
