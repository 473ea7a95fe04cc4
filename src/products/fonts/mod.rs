//! The one typeface of figures, sheets and pages: how wide a text is in it, and the letters that a
//! file must carry so that it looks alike on a machine without it.
//!
//! In: texts. Out: widths, and the letters that are used as objects of a PDF ([`letters`]) or as a
//! font of the web ([`web`]). Left out: shaping, which the renderer of figures does.
//! Source of the letters: `DejaVu` fonts 2.37, which may be embedded.

pub mod letters;
pub mod web;

use dejavu::sans_condensed;
use std::sync::OnceLock;
use ttf_parser::Face;

/// What the typeface is called.
pub const NAME: &str = "DejaVu Sans Condensed";

/// How heavy letters are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// For running text.
    Regular,
    /// For what heads it.
    Bold,
}

impl Weight {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Regular, Self::Bold];

    /// The whole font file.
    pub fn bytes(self) -> &'static [u8] {
        match self {
            Self::Regular => sans_condensed::regular(),
            Self::Bold => sans_condensed::bold(),
        }
    }

    /// Its name by PostScript.
    const fn name(self) -> &'static str {
        match self {
            Self::Regular => "DejaVuSansCondensed",
            Self::Bold => "DejaVuSansCondensed-Bold",
        }
    }

    /// Units of its own to the em.
    pub fn units_per_em(self) -> u16 {
        self.face().map_or(1000, |face| face.units_per_em())
    }

    /// `None` where the bytes are no font, which a test rules out.
    fn face(self) -> Option<&'static Face<'static>> {
        static FACES: OnceLock<[Option<Face<'static>>; 2]> = OnceLock::new();
        let faces =
            FACES.get_or_init(|| Self::ALL.map(|weight| Face::parse(weight.bytes(), 0).ok()));
        faces[self as usize].as_ref()
    }
}

/// How wide a text is in ems. Letters that the typeface lacks count as an em: a reader's program
/// takes them from elsewhere.
pub fn width(text: &str, weight: Weight) -> f64 {
    let Some(face) = weight.face() else { return text.chars().count() as f64 };
    let em = f64::from(face.units_per_em());
    let advance = |c: char| {
        let advance = face.glyph_index(c).and_then(|glyph| face.glyph_hor_advance(glyph));
        advance.map_or(1.0, |advance| f64::from(advance) / em)
    };
    text.chars().map(advance).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_faces_are_there() {
        assert!(Weight::ALL.iter().all(|weight| weight.face().is_some()));
        assert!(width("Bramble", Weight::Bold) > width("Bramble", Weight::Regular));
    }
}
