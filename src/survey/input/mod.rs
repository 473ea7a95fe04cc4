//! A survey from disk: files into tables of text, then into the rows of `survey`.
//!
//! In: the path of a survey's folder or workbook and the settings given by hand. Out: a survey with
//! every fault found so far. Whatever a user can cause is a fault; only a failure of the machine is
//! an `Err`. [`source`] is the only reader of files, and refuses what is too large before it reads
//! it; [`stamp`] tells whether one has changed; the others know bytes only.
//! Assumes that no file changes while it is read. Left out: what rows mean together (`results/rules`).

pub mod csv;
mod file_names;
mod raster;
pub mod source;
pub mod stamp;
mod table;
pub mod workbook;
