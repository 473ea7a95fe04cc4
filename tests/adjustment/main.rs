//! Tests of the wing `adjustment`.

#![expect(
    clippy::disallowed_methods,
    clippy::print_stderr,
    clippy::unwrap_used,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

#[path = "../shared/field.rs"]
mod field;
#[path = "../../examples/coverage/main.rs"]
#[expect(dead_code, reason = "the example prints tables, these tests read its counts")]
mod measuring;
#[path = "../shared/reference.rs"]
mod reference;

mod adjustment;
mod advice;
mod closures;
mod common_errors;
mod coverage;
mod exact_surveys;
mod invariance;
mod precisions;
mod propagation;
mod protocols;
mod suspects;
mod trunks;
mod worked;
