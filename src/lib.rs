//! Perchline rebuilds the path of a climbing animal from the thread it trailed behind it.
//!
//! The nine wings, in the order data flows through them; a wing knows only wings above it (the exact
//! list is tested in `tests/book/arrows.rs`). Nothing is re-exported here: every path names its wing.

pub mod maths;

pub mod survey;

pub mod adjustment;

pub mod measures;

pub mod results;

pub mod planning;

pub mod products;

#[cfg(feature = "viewer")]
pub mod viewer;

pub mod cli;
