//! The only writer of paths: a file or a folder, wholly old or wholly new.
//!
//! In: what a command made. Out: files, each written beside its place and then put there at once,
//! so that a run that fails or is killed leaves what was there. A pipe or a device has no beside: it
//! is written through (`door`).
//! Left out: how two folders are exchanged (`replace`), and the bytes themselves.

mod door;
mod file;
mod place;
mod results;
mod survey;

pub(super) use door::{Door, door};
#[cfg(feature = "viewer")]
pub(super) use file::write_whole;
pub(super) use file::{files_below, named, scratch};
#[cfg(feature = "viewer")]
pub(super) use place::picture;
pub(super) use place::{new_target, target};
pub(super) use results::write_results;
pub(super) use survey::{write_made, write_new};
