//! Surveys of the tests in this room, from the text of their tables.

pub(super) use crate::adjustment::network::written::{grid, survey};
