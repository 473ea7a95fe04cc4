//! What a paper counts: metrics of a path, use of supports, comparison of animals.

pub mod compare;
pub mod metrics;
pub mod support;
