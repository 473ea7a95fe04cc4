//! Tests of the wing `results`.

#![expect(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

#[path = "../shared/field.rs"]
#[expect(dead_code, reason = "each wing uses its part")]
mod field;
#[path = "../shared/reference.rs"]
mod reference;

mod asked;
mod load;
mod methods;
