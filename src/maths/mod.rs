//! Numbers that know nothing of animals.

pub mod earth;
pub mod ground;
pub mod parallel;
pub mod quantity;
pub mod statistics;
