//! Tests of the wing `survey`.

#![expect(
    clippy::disallowed_methods,
    clippy::shadow_unrelated,
    clippy::unwrap_used,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

#[path = "../shared/disk.rs"]
mod disk;
#[path = "../shared/run.rs"]
mod run;
#[path = "../shared/within.rs"]
mod within;
#[path = "../shared/workbook.rs"]
mod workbook;

mod bad_input;
mod cells;
mod faults;
mod input;
mod near_twins;
mod rasters;
mod spoilt_workbooks;
mod workbook_cells;
mod workbooks;
