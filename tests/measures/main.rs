//! Tests of the wing `measures`.

#![expect(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

#[path = "../shared/reference.rs"]
mod reference;
#[path = "../shared/walks.rs"]
mod walks;

mod animal_space;
mod animals;
mod comparison;
mod groups;
mod metrics;
mod paths;
mod selection;
mod shapes;
mod shapes_kept;
mod supports;
