//! Tests of the wing `book`.

#![expect(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

mod arrows;
mod demo;
mod first_survey;
mod pages;
