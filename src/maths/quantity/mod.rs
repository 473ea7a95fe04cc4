//! Measured quantities as types: angles, lengths, heights, elevations, and how a number is printed.
//!
//! In: plain numbers with the unit named by the constructor. Out: plain numbers with the unit
//! named by the reader. Between the two, only arithmetic that means something: a bearing minus a
//! bearing is a turn; a height above ground never mixes with an elevation.
//! Assumes finite numbers; readers of files refuse NaN and infinity before they come here.
//! Left out: arithmetic inside solver loops, which works on plain metres and radians; of such
//! numbers [`Number`] is one, or one for each of several draws.

mod angle;
mod lanes;
mod length;
mod print;

pub use angle::{Bearing, Incline, Latitude, Longitude, Turn, wrap_half_turn};
pub use lanes::{LANES, Lanes, Number, norm, square};
pub use length::{Elevation, Height, Length};
pub use print::{count_of, degrees, metres, percent, plain, short, significant};
