//! What is drawn, before it is known on what: marks in metres, and the one palette.
//!
//! In: an [`Analysis`](crate::results::Analysis). Out: the paths that were asked for as points and
//! pieces in the survey's frame, cut where they cross the edge of a stratum, and the colours, dashes
//! and symbols in which everything is told apart. [`space()`] adds what an onlooker may ask: the ground
//! below, the raw traverse, trunks, misclosures, and the row of each anchor.
//! Figures, report and viewer draw from this alone, so that one thing looks the same everywhere.
//! Left out: pages, millimetres, files.

mod about;
pub mod palette;
mod space;
mod trails;

pub use about::{about, supports, supports_of};
pub use space::{LegInSpace, Misclosure, PointInSpace, Space, TrailInSpace, Trunk, space};
pub use trails::{Kind, Piece, Scene, SceneLeg, ScenePoint, TrailScene, scene};
