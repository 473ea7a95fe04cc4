//! The colours of the page, once for light and once for dark; style and drawing read these.
//!
//! The hues and their order are those of `scene::palette`; pale ones are darker here, since a line
//! of two pixels on a screen needs more contrast than a band on paper.

use serde_json::{Value, json};

/// The colours of one scheme.
#[derive(Debug)]
pub(super) struct Palette {
    /// What text stands on, and what stands out from it a little.
    pub(super) paper: &'static str,
    pub(super) raised: &'static str,
    /// Text, quieter text, and lines.
    pub(super) ink: &'static str,
    pub(super) quiet: &'static str,
    pub(super) line: &'static str,
    /// What can be acted upon, and the ring around what has the focus.
    pub(super) accent: &'static str,
    /// Verdicts; a word always stands beside the colour.
    pub(super) good: &'static str,
    pub(super) doubtful: &'static str,
    pub(super) bad: &'static str,
    /// Names told apart, in this order.
    pub(super) names: [&'static str; 9],
    /// Sizes, from small to large.
    pub(super) sizes: [&'static str; 6],
}

pub(super) const LIGHT: Palette = Palette {
    paper: "#fbfaf6",
    raised: "#f1efe7",
    ink: "#1e2622",
    quiet: "#59635d",
    line: "#d6d3c6",
    accent: "#1f5e4b",
    good: "#1f6b3a",
    doubtful: "#8a5300",
    bad: "#a3221b",
    names: [
        "#14326e", "#c95f0d", "#2c8c78", "#4a90bd", "#7a1f52", "#6f757d", "#7a6a12", "#5b3a9e",
        "#b03a4e",
    ],
    sizes: ["#a8791a", "#6d8a35", "#2f836d", "#2d6a88", "#2a4678", "#241840"],
};

pub(super) const DARK: Palette = Palette {
    paper: "#151a18",
    raised: "#1f2623",
    ink: "#e8ebe6",
    quiet: "#a5afa8",
    line: "#38423d",
    accent: "#7fcbb0",
    good: "#7fd093",
    doubtful: "#edb45a",
    bad: "#ff9a8c",
    names: [
        "#8fb2f2", "#f39a5c", "#62cba6", "#e48fc8", "#d6c35a", "#b9a0f5", "#f58a9b", "#74c8e0",
        "#c7b49f",
    ],
    sizes: ["#a5803a", "#8fae5e", "#6fc3ab", "#8fd0ea", "#c5dcff", "#f3eeff"],
};

impl Palette {
    fn named(&self) -> [(&'static str, &'static str); 9] {
        [
            ("paper", self.paper),
            ("raised", self.raised),
            ("ink", self.ink),
            ("quiet", self.quiet),
            ("line", self.line),
            ("accent", self.accent),
            ("good", self.good),
            ("doubtful", self.doubtful),
            ("bad", self.bad),
        ]
    }

    fn variables(&self) -> String {
        let named = self.named().map(|(name, colour)| format!("--{name}:{colour};"));
        let names = self.names.iter().enumerate();
        let told_apart = names.map(|(at, colour)| format!("--name-{at}:{colour};"));
        named.concat() + &told_apart.collect::<String>()
    }

    fn json(&self) -> Value {
        let mut colours = json!({"names": self.names, "sizes": self.sizes});
        for (name, colour) in self.named() {
            colours[name] = Value::from(colour);
        }
        colours
    }
}

/// The colours for the style sheet. Paper is always light.
pub(super) fn css() -> String {
    let (light, dark) = (LIGHT.variables(), DARK.variables());
    format!(
        ":root{{color-scheme:light dark;{light}}}\n\
         @media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
    )
}

/// The colours for the drawing.
pub(super) fn json() -> Value {
    json!({"light": LIGHT.json(), "dark": DARK.json()})
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast as WCAG 2.1 defines them.
    fn luminance(colour: &str) -> f64 {
        let part = |at: usize| {
            let value = u8::from_str_radix(&colour[at..at + 2], 16).unwrap_or(0);
            let share = f64::from(value) / 255.0;
            if share <= 0.03928 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn contrast_is_as_its_definition_says() {
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
    }

    /// WCAG 2.1, 1.4.3 and 1.4.11: 4.5 for text, 3 for what is drawn.
    #[test]
    fn text_and_marks_stand_out_from_what_they_stand_on() {
        for palette in [&LIGHT, &DARK] {
            let texts = [
                palette.ink,
                palette.quiet,
                palette.accent,
                palette.good,
                palette.doubtful,
                palette.bad,
            ];
            for ground in [palette.paper, palette.raised] {
                for text in texts {
                    assert!(contrast(text, ground) >= 4.5, "{text} on {ground}");
                }
            }
            for mark in palette.names.iter().chain(&palette.sizes) {
                assert!(contrast(mark, palette.paper) >= 3.0, "{mark} on {}", palette.paper);
            }
        }
    }

    /// A ramp that is printed in grey still goes one way: away from the paper.
    #[test]
    fn sizes_stand_out_more_and_more() {
        for palette in [&LIGHT, &DARK] {
            let sizes: Vec<f64> =
                palette.sizes.iter().map(|colour| contrast(colour, palette.paper)).collect();
            assert!(sizes.is_sorted_by(|a, b| a < b), "{sizes:?}");
        }
    }
}
