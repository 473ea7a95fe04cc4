//! Statistics that know nothing of animals: samples, directions, intervals, draws.
//!
//! In: plain numbers. Out: plain numbers; `None` where a statistic is not defined.
//! Assumes finite input. Left out: tests between groups, which come with the comparison.

pub mod circular;
pub mod describe;
pub mod interval;
