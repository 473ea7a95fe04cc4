//! What is measured on a path: each metric with its estimate, standard error and interval.
//!
//! In: a [`Path`](crate::adjustment::path::Path), its adjusted geometry, and draws of it. Out: one
//! [`Measured`] a metric and part (`whole`, `after_escape`), with a bound flag where the path is
//! known to be cut short, and a reason where there is no value.
//! The formulas stand in one file a subject and read a [`Shape`], the same for estimate and draw;
//! how draws become an interval stands in `estimate`. Assumes right precisions and no slips.
//! Left out: what the animal moved on (`measures/support`), and animals (`measures/compare`).

mod bend;
mod catalogue;
pub mod climb;
mod drawn;
mod estimate;
mod explained;
mod formulas;
pub mod height;
mod hull;
pub mod length;
mod level;
mod polygon;
mod rates;
mod shape;
pub mod space;
mod subject;
pub mod tortuosity;
pub mod turning;

pub use catalogue::{Bound, Entry, METRICS, Metric, Needs, Rule};
pub use drawn::Drawn;
pub use estimate::{Measured, by_draws, measured};
pub use explained::{Explained, SYMBOLS};
pub use formulas::{Values, measure};
pub use hull::{hull_area, hull_volume};
pub use level::Noise;
pub use polygon::{Polygon, centre, nearest_share};
pub use rates::Times;
pub use shape::Shape;
pub use subject::Subject;
