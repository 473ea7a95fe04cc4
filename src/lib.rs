//! Perchline rebuilds the path of a climbing animal from the thread it trailed behind it.
//!
//! The rooms, in the order data flows through them; a room knows only rooms above it (the exact
//! list is tested in `tests/book/arrows.rs`). Nothing is re-exported here: every path names its room.

pub mod adjust;
pub mod analysis;
pub mod check;
pub mod cli;
pub mod compare;
pub mod cores;
pub mod dots;
pub mod earth;
pub mod export;
pub mod fault;
pub mod figure;
pub mod ground;
pub mod input;
pub mod load;
pub mod markup;
pub mod metrics;
pub mod network;
pub mod path;
pub mod planning;
pub mod quantity;
pub mod report;
pub mod scene;
pub mod sources;
pub mod statistics;
pub mod support;
pub mod survey;
pub mod template;
pub mod typeface;
#[cfg(feature = "viewer")]
pub mod viewer;
