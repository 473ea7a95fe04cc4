//! A drawing as the bytes of a file: SVG, PDF with real text, PNG at 300 dots an inch.

use super::canvas::{ADJUST, LENGTH};
use super::pdf::pdf;
use super::{Drawing, Letters, font};
use crate::typeface::web::address;
use crate::typeface::{NAME, Weight};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};

/// Dots an inch of a PNG.
pub const DOTS: f64 = 300.0;
/// Units an inch of an SVG (CSS).
const UNITS: f64 = 96.0;

/// A way to write a figure down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Scalable, editable.
    Svg,
    /// Scalable, for print; text stays text and brings its font.
    Pdf,
    /// Dots.
    Png,
}

impl Format {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Svg, Self::Pdf, Self::Png];

    /// How a file of it ends.
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Svg => "svg",
            Self::Pdf => "pdf",
            Self::Png => "png",
        }
    }

    /// The format of a file by the ending of its name.
    pub fn of_ending(ending: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|format| ending.eq_ignore_ascii_case(format.ending()))
    }
}

/// The bytes of a drawing.
///
/// # Errors
/// Where the drawing is no SVG that the renderer takes, or too large for it, in words.
pub fn encode(drawing: &Drawing, format: Format) -> Result<Vec<u8>, String> {
    if format == Format::Svg {
        return with_letters(drawing).map(String::into_bytes);
    }
    let tree = tree(&drawing.svg)?;
    if format == Format::Pdf {
        return pdf(&tree, &drawing.alt);
    }
    png(&tree)
}

/// The SVG with the letters that it uses in it: a browser shows it in its own typeface.
fn with_letters(drawing: &Drawing) -> Result<String, String> {
    let faces = faces(&drawing.letters)?;
    let style = format!("<style>{faces}</style>\n<title>");
    Ok(drawing.svg.replacen("<title>", &style, 1))
}

/// Letters of both weights as rules of a style sheet, with the fonts in them.
///
/// # Errors
/// Where the letters cannot be taken out of the typeface, in words.
pub fn faces(letters: &Letters) -> Result<String, String> {
    let mut rules = String::new();
    for (weight, letters) in Weight::ALL.into_iter().zip(letters) {
        if !letters.is_empty() {
            let heavy = if weight == Weight::Bold { "bold" } else { "normal" };
            rules += &format!(
                "@font-face{{font-family:'{NAME}';font-weight:{heavy};src:url({})}}",
                address(letters, weight)?
            );
        }
    }
    Ok(rules)
}

/// The SVG as the renderer sees it, set in the embedded font. The widths of texts are for programs
/// that lack it: they would part the letters of a PDF.
///
/// # Errors
/// Where it is no SVG, in words.
pub fn tree(svg: &str) -> Result<Tree, String> {
    let options = Options { fontdb: font::database(), ..Options::default() };
    Tree::from_str(&without_widths(svg), &options).map_err(|error| error.to_string())
}

fn without_widths(svg: &str) -> String {
    let mut kept = String::with_capacity(svg.len());
    let mut rest = svg;
    while let Some(at) = rest.find(LENGTH) {
        kept.push_str(&rest[..at]);
        rest = &rest[at..];
        rest = rest.find(ADJUST).map_or("", |end| &rest[end + ADJUST.len()..]);
    }
    kept + rest
}

fn png(tree: &Tree) -> Result<Vec<u8>, String> {
    #[expect(clippy::cast_possible_truncation, reason = "about three")]
    let scale = (DOTS / UNITS) as f32;
    let size = tree.size();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a page's dots")]
    let dots = |units: f32| (units * scale).round().max(1.0) as u32;
    let mut map = Pixmap::new(dots(size.width()), dots(size.height()))
        .ok_or_else(|| "the figure is too large for a picture".to_owned())?;
    resvg::render(tree, Transform::from_scale(scale, scale), &mut map.as_mut());
    let png = map.encode_png().map_err(|error| error.to_string())?;
    Ok(with_resolution(png))
}

/// Notes the dots a metre behind the header of a PNG, so that a page sets it at its size.
fn with_resolution(mut png: Vec<u8>) -> Vec<u8> {
    const HEADER_END: usize = 8 + 25;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "11,811")]
    let dots_a_metre = (DOTS / 0.0254).round() as u32;
    let mut chunk = b"pHYs".to_vec();
    chunk.extend(dots_a_metre.to_be_bytes());
    chunk.extend(dots_a_metre.to_be_bytes());
    chunk.push(1); // the unit is the metre
    let mut whole = 9_u32.to_be_bytes().to_vec();
    whole.extend(&chunk);
    whole.extend(crc(&chunk).to_be_bytes());
    if png.len() >= HEADER_END {
        png.splice(HEADER_END..HEADER_END, whole);
    }
    png
}

/// The check sum of a chunk, by the PNG specification (ISO 3309).
fn crc(bytes: &[u8]) -> u32 {
    let step = |crc: u32, byte: &u8| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            if crc & 1 == 1 { 0xedb8_8320 ^ (crc >> 1) } else { crc >> 1 }
        })
    };
    !bytes.iter().fold(u32::MAX, step)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The check value of this sum for the digits 1 to 9, as its catalogues print it.
    #[test]
    fn check_sum() {
        assert_eq!(crc(b"123456789"), 0xcbf4_3926);
    }
}
