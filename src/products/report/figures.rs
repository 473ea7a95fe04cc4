//! Figures as they stand in a paper, each with its caption and its words for who cannot see it.

use super::html::{Html, held_together};
use crate::products::figure::{Drawing, Letters, NotDrawn, encode};

/// One kind of figure by its name: drawn, or why not.
pub type Figure = (&'static str, Result<Drawing, NotDrawn>);

pub(super) fn all(figures: &[Figure], html: &mut Html) {
    let drawn = figures.iter().filter_map(|(name, drawn)| Some((name, drawn.as_ref().ok()?)));
    for (at, (name, drawing)) in drawn.enumerate() {
        let id = format!("figure-{name}");
        html.raw("\n");
        html.within("figure", &[("id", &id)], |html| {
            let picture = [("class", "picture"), ("role", "img"), ("aria-label", &drawing.alt)];
            html.within("div", &picture, |html| html.raw(&element(&drawing.svg)));
            html.within("figcaption", &[], |html| {
                html.element("strong", &[], &format!("Figure {}.", at + 1));
                html.text(&format!(" {}", held_together(&drawing.caption)));
            });
        });
    }
    let missing = figures.iter().filter_map(|(name, drawn)| Some((name, drawn.as_ref().err()?)));
    let missing: Vec<String> =
        missing.map(|(name, why)| format!("{name}: {}", why.reason)).collect();
    if !missing.is_empty() {
        html.element("h3", &[], "Figures that this survey has no data for");
        html.list("quiet", &missing);
    }
}

/// The typeface of all figures, as rules of the page's style.
pub(super) fn faces(figures: &[Figure]) -> String {
    let mut letters = Letters::default();
    for drawing in figures.iter().filter_map(|(_, drawn)| drawn.as_ref().ok()) {
        letters.iter_mut().zip(&drawing.letters).for_each(|(all, own)| all.extend(own));
    }
    // Without it a browser fits another typeface to the same widths.
    encode::faces(&letters).unwrap_or_default()
}

/// What a file needs to say of itself and a page knows.
const NAMESPACE: &str = " xmlns=\"http://www.w3.org/2000/svg\"";

/// The `<svg>` element alone, as it may stand in a page: without what comes before it, and without
/// its title, which a browser would show over the figure and the page says itself.
fn element(svg: &str) -> String {
    let Some(start) = svg.find("<svg") else { return String::new() };
    let svg = svg[start..].trim_end().replacen(NAMESPACE, "", 1);
    match svg.split_once("<title>").and_then(|(head, rest)| {
        let (_, body) = rest.split_once("</title>")?;
        Some(format!("{head}{}", body.trim_start()))
    }) {
        Some(untitled) => untitled,
        None => svg,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_has_a_number_a_caption_and_words() {
        let drawing = Drawing {
            svg: "<?xml version=\"1.0\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\">\
                  \n<title>Three</title>\n<path d=\"M0 0\"/></svg>\n"
                .into(),
            caption: "All <paths>, n = 3.".into(),
            letters: Letters::default(),
            alt: "Three \"paths\"".into(),
            width_mm: 85.0,
            height_mm: 60.0,
        };
        let mut html = Html::default();
        let missing = NotDrawn { reason: "no <bearing>".into() };
        all(&[("turns", Err(missing)), ("plan", Ok(drawing))], &mut html);
        let expected = "\n<figure id=\"figure-plan\"><div class=\"picture\" role=\"img\" \
                        aria-label=\"Three &quot;paths&quot;\"><svg>\n<path d=\"M0 0\"/></svg></div>\
                        <figcaption><strong>Figure 1.</strong> All &lt;paths&gt;, \
                        n\u{a0}=\u{a0}3.</figcaption></figure>\
                        <h3>Figures that this survey has no data for</h3>\
                        <ul class=\"quiet\"><li>turns: no &lt;bearing&gt;</li></ul>";
        assert_eq!(html.finish(), expected);
    }
}
