//! A picture without a display.

use super::colouring::Colouring;
use super::lay::Laid;
use super::marks::Shown;
use super::overlay::Setting;
use super::stage::{Camera, Stage, dress, paint, width};
use super::view::View;
use super::{Rebuilt, eye::Size};
use crate::scene::palette::PAPER;
use kiss3d::pollster::block_on;
use kiss3d::window::{NumSamples, OffscreenSurface};
use resvg::tiny_skia::{IntSize, Pixmap};
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
/// Pixels kept free around what is framed.
const FREE: f64 = 40.0;

/// A picture of a survey, as the bytes of a PNG, of so many pixels across and down. The same view
/// gives the same bytes on one machine.
///
/// # Errors
/// No driver that can draw, or a picture too large for one.
pub fn snapshot(rebuilt: &Rebuilt, view: &View, size: [u32; 2]) -> Result<Vec<u8>, Refused> {
    // Without any driver the library panics; its words would only frighten. What it keeps for a
    // thread cannot be set up twice, so that each picture has a thread of its own.
    let draw =
        || thread::scope(|scope| scope.spawn(|| block_on(picture(rebuilt, view, size))).join());
    let pixels = quietly(draw).and_then(Result::ok).ok_or(Refused::NoDriver)?;
    encode(&pixels, size)
}

/// Does `work`; `None` where it panics.
pub(super) fn quietly<T>(work: impl FnOnce() -> T) -> Option<T> {
    let hook = take_hook();
    set_hook(Box::new(|_| {}));
    let done = catch_unwind(AssertUnwindSafe(work));
    set_hook(hook);
    done.ok()
}

/// The pixels of a picture, three bytes each, from the lower left.
pub(super) async fn picture(rebuilt: &Rebuilt, view: &View, size: [u32; 2]) -> Vec<u8> {
    let mut surface = OffscreenSurface::new(size[0], size[1]).await;
    surface.set_samples(NumSamples::Four);
    dress(surface.window_mut());
    let mut stage = Stage::new();
    let laid = Laid::of(&rebuilt.space, view);
    let pixels = size.map(f64::from);
    let shown = Shown {
        space: &rebuilt.space,
        laid: &laid,
        view,
        suspicions: &rebuilt.suspicions,
        stale: false,
        size: pixels,
    };
    let marks = shown.marks();
    stage.show(&marks);
    stage.light_for(&view.eye);
    let mut camera = Camera::new(view.eye, size);
    camera.reach = stage.reach;
    let points = letters(pixels);
    surface.draw_ui(|context| {
        let setting = Setting {
            line: 1.3 * f64::from(points),
            width: &|text, bold| width(context, points, text, bold),
            left: 0.0,
        };
        paint(context, &shown.overlay(&marks, setting), points);
    });
    surface.render_3d(&mut stage.root, &mut camera).await;
    let mut out = Vec::new();
    surface.snap(&mut out);
    out
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
    let shown =
        Shown { space: &rebuilt.space, laid: &laid, view, suspicions: &[], stale: false, size };
    let letter = f64::from(letters(size));
    let Colouring { title, keys, .. } = Colouring::of(&rebuilt.space, view.colour);
    let longest = keys.iter().map(|(_, words)| words.chars().count()).max().unwrap_or(0);
    // Letters of this font are about half as wide as high.
    let legend =
        (0.5 * letter * (longest + 6).max(title.chars().count()) as f64).min(0.3 * size[0]);
    let margins = [left + legend + FREE, FREE, FREE, FREE + 3.0 * letter];
    View { eye: view.eye.framing(shown.points(), size, margins), ..view.clone() }
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
    let rgba = rows.flat_map(|row| row.chunks_exact(3)).flat_map(|p| [p[0], p[1], p[2], 255]);
    let size = IntSize::from_wh(wide, high).ok_or(Refused::NotEncoded)?;
    let map = Pixmap::from_vec(rgba.collect(), size).ok_or(Refused::NotEncoded)?;
    map.encode_png().map_err(|_| Refused::NotEncoded)
}

/// Whether hardly any pixel is paper: a driver that cannot draw the space leaves it black, and
/// writes words on it.
pub fn is_black(pixels: &[u8]) -> bool {
    let paper = [PAPER.0, PAPER.1, PAPER.2];
    let found = pixels.chunks_exact(3).filter(|pixel| *pixel == paper).count();
    100 * found < pixels.len() / 3
}
