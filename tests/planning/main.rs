//! Tests of the wing `planning`.

#![expect(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

mod forecast;
mod forecast_of_animals;
