//! The whole computation in one place: from a checked survey to result tables.
//!
//! In: a [`Survey`](crate::survey::Survey) without errors, and what the user asked for. Out: an
//! [`Analysis`], and every result table with one description of its columns, which feeds the CSV,
//! its metadata, the JSON and the report alike.
//! Work is spread over threads in fixed pieces, so that their number changes no byte.
//! Left out: writing anything anywhere (`cli`).

mod analyse;
pub mod answer;
pub mod cell;
pub mod comparison;
mod drawing;
pub mod findings;
mod ground;
pub mod guide;
mod headlines;
pub mod hiding;
pub mod instruments;
pub mod methods;
mod microhabitat;
mod names;
pub mod orientation;
pub mod overview;
mod part;
mod places;
pub mod precisions;
pub mod printed;
pub mod progress;
pub mod question;
pub mod rules;
mod shortfall;
pub mod space;
mod subjects;
pub mod tables;
mod trail;
pub mod usage;

pub use analyse::{Analysis, ByMethod, NothingSettled, Wanted, analyse, unsettled};
pub use ground::ground;
pub use trail::{MetricRow, PART_NAMES, TrailResult};
