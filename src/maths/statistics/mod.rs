//! Statistics that know nothing of animals: samples, directions, intervals, shuffles, resamples.
//!
//! In: plain numbers. Out: plain numbers; `None` where a statistic is not defined.
//! Assumes finite input. Left out: what a number is a measure of, and of whom.

pub mod bootstrap;
pub mod censored;
pub mod chance;
pub mod circular;
pub mod describe;
pub mod interval;
pub mod matched;
pub mod means;
pub mod permutation;
pub mod power;
pub mod rank;
pub mod repeated;
