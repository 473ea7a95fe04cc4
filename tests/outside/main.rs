//! Tests of the wing `outside`.

#![expect(
    clippy::disallowed_methods,
    clippy::panic,
    clippy::print_stderr,
    clippy::unwrap_used,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

#[path = "../shared/browser.rs"]
mod browser;
#[path = "../shared/run.rs"]
#[expect(dead_code, reason = "each wing uses its part")]
mod run;

mod examples;
mod report_in_browser;
mod round_trip;
