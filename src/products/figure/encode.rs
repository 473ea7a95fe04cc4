//! A drawing as the bytes of a file: SVG, PDF with real text, PNG at 300 dots an inch.

use super::canvas::{ADJUST, LENGTH};
use super::pdf::pdf;
use super::{Drawing, Letters, font};
use crate::products::fonts::web::address;
use crate::products::fonts::{NAME, Weight};
use crate::products::png;
use resvg::tiny_skia::{Color, Pixmap, Transform};
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

/// The bytes of a drawing in one format.
///
/// # Errors
/// Where the drawing is no SVG that the renderer takes, or too large for it, in words.
pub fn encode(drawing: &Drawing, format: Format) -> Result<Vec<u8>, String> {
    match format {
        Format::Svg => with_letters(drawing).map(String::into_bytes),
        Format::Pdf => pdf(&tree(&drawing.svg)?, &drawing.alt),
        Format::Png => png(&tree(&drawing.svg)?),
    }
}

/// The bytes of a drawing in every format.
///
/// # Errors
/// As of one.
pub fn encode_all(drawing: &Drawing) -> Result<[(Format, Vec<u8>); 3], String> {
    let tree = tree(&drawing.svg)?;
    let svg = with_letters(drawing)?.into_bytes();
    let pdf = pdf(&tree, &drawing.alt)?;
    Ok([(Format::Svg, svg), (Format::Pdf, pdf), (Format::Png, png(&tree)?)])
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
    let across = |units: f32| (units * scale).round().max(1.0) as u32;
    let mut map = Pixmap::new(across(size.width()), across(size.height()))
        .ok_or_else(|| "the figure is too large for a picture".to_owned())?;
    map.fill(Color::WHITE); // paper: nothing is seen through what is drawn on it
    resvg::render(tree, Transform::from_scale(scale, scale), &mut map.as_mut());
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "11,811")]
    let dots_a_metre = (DOTS / 0.0254).round() as u32;
    let size = [map.width(), map.height()];
    let rows = map.data().chunks_exact(4 * size[0] as usize).map(without_transparency);
    png::png(rows, size, Some(dots_a_metre)).map_err(|error| error.to_string())
}

/// A row of dots in red, green and blue, of opaque ones in red, green, blue and opacity.
fn without_transparency(row: &[u8]) -> Vec<u8> {
    let (dots, _) = row.as_chunks();
    let paint = |&[red, green, blue, _]: &[u8; 4]| [red, green, blue];
    dots.iter().map(paint).collect::<Vec<_>>().into_flattened()
}
