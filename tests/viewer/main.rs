//! Tests of the wing `viewer`.

#![cfg(feature = "viewer")]
#![expect(
    clippy::disallowed_methods,
    clippy::print_stderr,
    clippy::unwrap_used,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

#[path = "../../examples/coverage/made_up/mod.rs"]
#[expect(dead_code, reason = "other tests look at the truth")]
mod made_up;
#[path = "../shared/run.rs"]
#[expect(dead_code, reason = "each wing uses its part")]
mod run;
#[path = "../shared/seen.rs"]
mod seen;

mod hand;
mod picture;
mod space;
mod window;
