//! A picture without a display.

use super::layout::Laid;
use super::marks::{Marks, Shown};
use super::offscreen::Sheet;
use super::overlay::{Overlay, Setting};
use super::view::View;
use super::{Rebuilt, camera::Size};
use crate::products::png;
use kiss3d::pollster::block_on;
use std::fmt;
use std::panic::{AssertUnwindSafe, catch_unwind, set_hook, take_hook};
use std::thread;

/// Why there is no picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refused {
    /// No graphics driver of the kind that is needed.
    NoDriver,
    /// No display to open a window on.
    NoDisplay,
    /// The picture could not be put into a file.
    NotEncoded,
}

impl fmt::Display for Refused {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(match self {
            Self::NoDriver => {
                "there is no Vulkan driver to draw with; install one (on Debian and Ubuntu \
                 mesa-vulkan-drivers, which draws without a graphics card too). Figures and the \
                 report need none: perchline figure, perchline rebuild"
            }
            Self::NoDisplay => {
                "there is no display to open a window on; start it in a desktop session, or have a \
                 picture with --snapshot FILE.png, which needs no display. Figures and the report \
                 need neither: perchline figure, perchline rebuild"
            }
            Self::NotEncoded => "the picture is too large to be put into a file",
        })
    }
}

/// Height of letters over height of the picture, and no less than can be read.
const LETTERS: f64 = 0.0165;
const SMALLEST: f64 = 13.0;
/// Letters' height from line to line.
pub(super) const LINE: f64 = 1.3;
/// Pixels kept free around what is framed.
const FREE: f64 = 40.0;

/// A picture of a survey, as the bytes of a PNG, of so many pixels across and down. The same view
/// gives the same bytes on one machine.
///
/// # Errors
/// No driver that can draw, or a picture too large for one.
pub fn snapshot(rebuilt: &Rebuilt, view: &View, size: [u32; 2]) -> Result<Vec<u8>, Refused> {
    let pixels = by_itself(|| block_on(picture(rebuilt, view, size))).ok_or(Refused::NoDriver)?;
    encode(&pixels, size)
}

/// Draws in a thread of its own, since what the library keeps for a thread cannot be set up twice;
/// `None` without any driver, where it panics.
fn by_itself<T: Send>(draw: impl FnOnce() -> T + Send) -> Option<T> {
    quietly(|| thread::scope(|scope| scope.spawn(draw).join())).and_then(Result::ok)
}

/// Does `work`; `None` where it panics, whose words would only frighten.
pub(super) fn quietly<T>(work: impl FnOnce() -> T) -> Option<T> {
    let hook = take_hook();
    set_hook(Box::new(|_| {}));
    let done = catch_unwind(AssertUnwindSafe(work));
    set_hook(hook);
    done.ok()
}

/// The pixels of a picture, three bytes each, from the lower left.
pub(super) async fn picture(rebuilt: &Rebuilt, view: &View, size: [u32; 2]) -> Vec<u8> {
    let mut sheet = Sheet::of(size).await;
    let laid = Laid::of(&rebuilt.space, view);
    let shown = shown(rebuilt, view, &laid, size.map(f64::from));
    let marks = shown.marks();
    sheet.put(&marks);
    sheet.draw(view.eye, &|setting| shown.overlay(&marks, setting)).await;
    sheet.pixels()
}

/// For measuring alone: pictures one after another on one surface while the onlooker turns, as a
/// window draws them, until `next` says no. Of the marks those are drawn that `keep` leaves; words
/// only if `words`.
///
/// # Errors
/// No driver that can draw.
pub fn turning(
    rebuilt: &Rebuilt,
    view: &View,
    size: [u32; 2],
    (keep, words): (fn(&mut Marks), bool),
    mut next: impl FnMut() -> bool + Send,
) -> Result<(), Refused> {
    const STEP_PX: f64 = 6.0;
    let pixels = size.map(f64::from);
    let mut draw = async || {
        let mut sheet = Sheet::of(size).await;
        let laid = Laid::of(&rebuilt.space, view);
        let mut marks = shown(rebuilt, view, &laid, pixels).marks();
        keep(&mut marks);
        sheet.put(&marks);
        let mut view = view.clone();
        while next() {
            view.eye = view.eye.orbited([STEP_PX, 0.0], pixels);
            let shown = shown(rebuilt, &view, &laid, pixels);
            let over = |setting: Setting<'_>| {
                if words { shown.overlay(&marks, setting) } else { Overlay::default() }
            };
            sheet.draw(view.eye, &over).await;
            sheet.wait();
        }
    };
    by_itself(|| block_on(draw())).ok_or(Refused::NoDriver)
}

fn shown<'a>(rebuilt: &'a Rebuilt, view: &'a View, laid: &'a Laid, size: Size) -> Shown<'a> {
    let suspicions = &rebuilt.suspicions;
    Shown { space: &rebuilt.space, laid, view, suspicions, stale: false, size }
}

/// Height of letters in a picture, pixels.
pub(super) fn letters(size: Size) -> f32 {
    #[expect(clippy::cast_possible_truncation, reason = "tens of pixels")]
    let letters = (LETTERS * size[1]).max(SMALLEST).round() as f32;
    letters
}

/// The view with everything that it shows in a picture of this size, beside the legend.
#[must_use]
pub fn framed(rebuilt: &Rebuilt, view: &View, size: Size, left: f64) -> View {
    let laid = Laid::of(&rebuilt.space, view);
    let shown = shown(rebuilt, view, &laid, size);
    let margins = margins(&shown, left);
    View { eye: view.eye.framing(shown.points(), size, margins), ..view.clone() }
}

/// Pixels that panel and legend take at the left, and what is kept free at the top, at the right and
/// for notes at the bottom.
pub(super) fn margins(shown: &Shown<'_>, left: f64) -> [f64; 4] {
    let letter = f64::from(letters(shown.size));
    // Letters of this font are about half as wide as high.
    let legend = (0.5 * letter * shown.widest_of_legend() as f64).min(0.3 * shown.size[0]);
    let foot = shown.foot(LINE * letter).max(FREE + 3.0 * letter).min(0.4 * shown.size[1]);
    [left + legend + FREE, FREE, FREE, foot]
}

/// A PNG of pixels from the lower left.
///
/// # Errors
/// Where they are no picture: nothing was drawn but words.
pub(super) fn encode(pixels: &[u8], [wide, high]: [u32; 2]) -> Result<Vec<u8>, Refused> {
    if is_black(pixels) {
        return Err(Refused::NoDriver);
    }
    let row = 3 * wide as usize;
    let rows = pixels.chunks_exact(row.max(1)).rev();
    png::png(rows, [wide, high], None).map_err(|_| Refused::NotEncoded)
}

/// Whether more than a fifth of the pixels is black, which no mark is: a driver that cannot draw the
/// space leaves it so, and writes words with paper around them on it.
pub fn is_black(pixels: &[u8]) -> bool {
    let black = pixels.chunks_exact(3).filter(|pixel| *pixel == [0; 3]).count();
    5 * black > pixels.len() / 3
}
