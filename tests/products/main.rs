//! Tests of the wing `products`.

#![expect(
    clippy::disallowed_methods,
    clippy::unwrap_used,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

#[path = "../shared/computed.rs"]
mod computed;
#[path = "../shared/exported.rs"]
mod exported;
#[path = "../shared/run.rs"]
mod run;

mod archive;
mod export;
mod export_binary;
mod figure_files;
mod figures;
mod orientation;
mod palette;
mod report;
