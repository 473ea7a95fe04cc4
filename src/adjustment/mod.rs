//! The adjustment: positions that fit all readings best, and how well they are known.
//!
//! In: a [`Network`](crate::adjustment::network::Network), the precisions of the instruments and the ground.
//! Out: [`Adjusted`]: positions, heights, their covariances, residuals with redundancy, closures,
//! and what is needed to draw paths that the readings allow.
//! Each connected part is solved by itself: weighted nonlinear least squares, damped leg by leg,
//! with a sparse factor of 3 × 3 blocks whose pattern is found once. Standard deviations are
//! evaluated at the raw observed geometry and held. Assumes independent readings without slips.
//! Beside it: robust weights, the compass rule and the raw traverse, so that they can be compared;
//! and suspects, with what may have happened to them. Left out: words for a reader.
//! Source: [`Source::Baarda1968`](crate::survey::sources::Source::Baarda1968) for redundancy.

mod adjust;
pub mod advice;
#[cfg(test)]
mod agreement;
mod border;
#[cfg(test)]
mod bordered;
mod cell;
pub mod closure;
pub mod common;
pub mod compass_rule;
mod covariance;
pub mod draws;
mod errors;
mod factor;
mod heights;
#[cfg(test)]
mod independent;
mod leave_one_out;
mod left_out;
mod length_prior;
mod linear;
#[cfg(test)]
mod misread;
pub mod network;
mod normal;
pub mod observation;
mod outcome;
pub mod path;
mod piecewise_start;
pub mod precisions;
mod prior;
mod raw;
pub mod repeated;
mod restarts;
pub mod robust;
mod same_trunk;
mod shared;
mod shared_tilt;
pub mod slip;
mod solve;
mod steep;
mod study;
pub mod suspects;
mod trial_readings;
mod turn_prior;
mod weights;
#[cfg(test)]
mod written;

pub use adjust::adjust;
pub use outcome::{Adjusted, Fit, Method, Part, Residual, Unsettled};
