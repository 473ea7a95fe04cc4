//! The picture of a view that is wanted: its size and its file.

use super::endings::ending_of;
use crate::cli::Failure;
use std::ops::RangeInclusive;
use std::path::Path;

/// Fewest and most pixels of a picture: below, words run into each other; above, drivers refuse.
const PIXELS: RangeInclusive<u32> = 200..=8192;

/// Pixels across and down of a picture, as `1600x1000`.
pub(in crate::cli) fn pixels(typed: &str) -> Result<[u32; 2], Failure> {
    let parse = |text: &str| text.trim().parse().ok().filter(|n| PIXELS.contains(n));
    let size = typed.split_once(['x', 'X', '×']).and_then(|(w, h)| Some([parse(w)?, parse(h)?]));
    size.ok_or_else(|| {
        Failure::Usage(format!(
            "--size wants pixels across and down, like 1600x1000, {} to {} each; not {typed}",
            PIXELS.start(),
            PIXELS.end()
        ))
    })
}

/// A picture's file ends in `.png`.
pub(in crate::cli) fn is_png(out: &Path) -> Result<(), Failure> {
    if ending_of(out) == "png" {
        return Ok(());
    }
    Err(Failure::Usage(format!("{}: the ending must be .png", out.display())))
}
