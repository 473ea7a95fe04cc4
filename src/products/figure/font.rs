//! The one font, and how wide a text is in it.

use crate::products::fonts::{self, Weight};
use resvg::usvg::fontdb;
use std::sync::{Arc, OnceLock};

/// What a reader's program looks for; the first is the embedded one.
pub(super) const FAMILY: &str = "'DejaVu Sans Condensed','DejaVu Sans','Arial Narrow',sans-serif";

/// One point in millimetres.
pub(super) const POINT: f64 = 25.4 / 72.0;

/// The smallest text of a figure, points: what journals ask for.
pub(super) const SMALLEST: f64 = 7.0;

/// The embedded fonts and no others, so that every machine gives the same picture.
pub(super) fn database() -> Arc<fontdb::Database> {
    static FONTS: OnceLock<Arc<fontdb::Database>> = OnceLock::new();
    let fonts = FONTS.get_or_init(|| {
        let mut fonts = fontdb::Database::new();
        for weight in Weight::ALL {
            fonts.load_font_data(weight.bytes().to_vec());
        }
        Arc::new(fonts)
    });
    Arc::clone(fonts)
}

/// How wide a text of so many points is, millimetres.
pub(super) fn width(text: &str, points: f64, bold: bool) -> f64 {
    let weight = if bold { Weight::Bold } else { Weight::Regular };
    fonts::width(text, weight) * points * POINT
}

/// The text, with `…` in its middle where it is wider than `room` millimetres: names differ at their
/// ends.
pub(super) fn fitted(text: &str, points: f64, bold: bool, room: f64) -> String {
    if width(text, points, bold) <= room {
        return text.to_owned();
    }
    let letters: Vec<char> = text.chars().collect();
    let shorter = |kept: usize| {
        let (head, tail) = (kept.div_ceil(2), kept / 2);
        let [head, tail] = [&letters[..head], &letters[letters.len() - tail..]];
        let text = |letters: &[char]| letters.iter().collect::<String>();
        format!("{}…{}", text(head).trim_end(), text(tail).trim_start())
    };
    let (mut fits, mut too_wide) = (0, letters.len());
    while too_wide - fits > 1 {
        let kept = fits.midpoint(too_wide);
        let side =
            if width(&shorter(kept), points, bold) <= room { &mut fits } else { &mut too_wide };
        *side = kept;
    }
    shorter(fits)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_weights_are_there() {
        assert_eq!(database().len(), 2);
    }

    #[test]
    fn a_text_is_cut_to_its_room() {
        let whole = "Bramble of Long Hollow";
        let cut = fitted(whole, 7.0, false, 15.0);
        assert!(
            cut.starts_with("Br") && cut.ends_with("ow") && width(&cut, 7.0, false) <= 15.0,
            "{cut}"
        );
        assert_eq!(fitted(whole, 7.0, false, 100.0), whole);
    }
}
