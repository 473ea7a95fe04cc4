//! Tests of the wing `maths`.

#![expect(
    clippy::panic,
    clippy::unwrap_used,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

#[path = "../shared/numbers.rs"]
mod numbers;
#[path = "../shared/reference.rs"]
mod reference;

mod declination;
mod differences;
mod directions;
mod earth;
mod ground;
mod resamples;
mod statistics;
