//! What is drawn, before it is known on what: marks in metres, and the one palette.
//!
//! In: an [`Analysis`](crate::analysis::Analysis). Out: the paths that were asked for as points and
//! pieces in the survey's frame, cut where they cross the edge of a stratum, and the colours, dashes
//! and symbols in which everything is told apart.
//! Figures, report and viewer draw from this alone, so that one thing looks the same everywhere.
//! Left out: pages, millimetres, files.

pub mod palette;
mod trails;

pub use trails::{Kind, Piece, Scene, SceneLeg, ScenePoint, TrailScene, scene};
