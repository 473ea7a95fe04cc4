//! A page in millimetres, from its upper left corner, and the SVG that comes of it.
//!
//! In: lines, shapes, symbols and texts, each with its place and look. Out: one SVG, the letters it
//! uses, and where texts and lines stand, so that labels keep clear of them.
//! Left out: what any mark means.

mod area;
mod looks;
mod svg;

use super::Letters;
use super::font::{FAMILY, POINT};
use crate::products::scene::palette::{Colour, PAPER, Symbol};
use crate::products::xml::escaped;
pub(super) use area::{Area, Spot};
pub(super) use looks::{Side, Stroke, TEXT, Type};
use std::fmt::Write;
pub(super) use svg::{ADJUST, LENGTH};
use svg::{look, mm, oval, path};

/// A page that is being drawn on.
pub(in crate::products::figure) struct Canvas {
    body: String,
    /// The letters of all texts.
    pub(in crate::products::figure) letters: Letters,
    /// What labels must not cover: texts.
    pub(in crate::products::figure) texts: Vec<Area>,
    /// What labels should not cover: lines.
    pub(in crate::products::figure) lines: Vec<[Spot; 2]>,
}

impl Canvas {
    pub(in crate::products::figure) fn new() -> Self {
        Self {
            body: String::new(),
            letters: Letters::default(),
            texts: Vec::new(),
            lines: Vec::new(),
        }
    }

    /// A line through all the places.
    pub(in crate::products::figure) fn line(&mut self, places: &[Spot], stroke: Stroke) {
        if places.len() < 2 {
            return;
        }
        let path = path(places);
        let look = look(stroke);
        let _ = writeln!(self.body, "<path d=\"{path}\"{look}/>");
    }

    /// Straight lines of one look.
    pub(in crate::products::figure) fn lines(&mut self, lines: &[[Spot; 2]], stroke: Stroke) {
        if lines.is_empty() {
            return;
        }
        let paths: String = lines.iter().map(|line| path(line)).collect();
        let look = look(stroke);
        let _ = writeln!(self.body, "<path d=\"{paths}\"{look}/>");
    }

    /// A line that labels keep clear of.
    pub(in crate::products::figure) fn obstacle(&mut self, places: &[Spot], stroke: Stroke) {
        self.line(places, stroke);
        self.lines.extend(places.windows(2).map(|pair| [pair[0], pair[1]]));
    }

    /// A filled outline.
    pub(in crate::products::figure) fn fill(&mut self, places: &[Spot], colour: Colour) {
        let path = path(places);
        let _ = writeln!(self.body, "<path d=\"{path}Z\" fill=\"{}\"/>", colour.hex());
    }

    /// Filled ellipses of one colour, each by its middle and its half axes as vectors of the page.
    pub(in crate::products::figure) fn ovals(
        &mut self,
        ovals: &[(Spot, [Spot; 2])],
        colour: Colour,
    ) {
        if ovals.is_empty() {
            return;
        }
        let paths: String = ovals.iter().map(|(at, axes)| oval(*at, *axes)).collect();
        let _ = writeln!(self.body, "<path d=\"{paths}\" fill=\"{}\"/>", colour.hex());
    }

    /// A filled box.
    pub(in crate::products::figure) fn block(&mut self, area: Area, colour: Colour) {
        let (x, y) = (mm(area.left), mm(area.top));
        let (wide, high) = (mm(area.width()), mm(area.height()));
        let _ = writeln!(
            self.body,
            "<rect x=\"{x}\" y=\"{y}\" width=\"{wide}\" height=\"{high}\" fill=\"{}\"/>",
            colour.hex()
        );
    }

    /// A symbol about a place; `size` is its height.
    pub(in crate::products::figure) fn symbol(
        &mut self,
        at: Spot,
        symbol: Symbol,
        size: f64,
        colour: Colour,
    ) {
        let r = 0.5 * size;
        let [x, y] = at;
        let edge = Stroke::new(PAPER, 0.15);
        match symbol {
            Symbol::Circle => self.disc(at, r, Some(colour), edge),
            Symbol::Ring => self.disc(at, 0.85 * r, Some(PAPER), Stroke::new(colour, 0.3)),
            Symbol::Triangle => {
                let (w, up, down) = (1.1 * r, 1.15 * r, 0.8 * r);
                self.shape(&[[x, y - up], [x + w, y + down], [x - w, y + down]], colour, edge);
            }
            Symbol::Square => {
                let s = 0.88 * r;
                let corners = [[x - s, y - s], [x + s, y - s], [x + s, y + s], [x - s, y + s]];
                self.shape(&corners, colour, edge);
            }
            Symbol::Diamond => {
                let s = 1.2 * r;
                let corners = [[x, y - s], [x + s, y], [x, y + s], [x - s, y]];
                self.shape(&corners, colour, edge);
            }
            Symbol::Cross => {
                let s = 0.8 * r;
                let stroke = Stroke::new(colour, 0.35);
                self.line(&[[x - s, y - s], [x + s, y + s]], stroke);
                self.line(&[[x - s, y + s], [x + s, y - s]], stroke);
            }
        }
    }

    /// A filled outline with an edge of its own.
    pub(in crate::products::figure) fn shape(
        &mut self,
        places: &[Spot],
        colour: Colour,
        edge: Stroke,
    ) {
        let (path, look) = (path(places), look(edge));
        let _ = writeln!(self.body, "<path d=\"{path}Z\" fill=\"{}\"{look}/>", colour.hex());
    }

    /// A circle.
    pub(in crate::products::figure) fn disc(
        &mut self,
        at: Spot,
        radius: f64,
        fill: Option<Colour>,
        edge: Stroke,
    ) {
        let fill = fill.map_or_else(|| "none".to_owned(), Colour::hex);
        let (x, y, r, look) = (mm(at[0]), mm(at[1]), mm(radius), look(edge));
        let _ =
            writeln!(self.body, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"{fill}\"{look}/>");
    }

    /// A text on one line.
    pub(in crate::products::figure) fn text(&mut self, at: Spot, text: &str, set: Type) {
        if text.trim().is_empty() {
            return;
        }
        self.texts.push(set.area(at, text));
        let place = format!("x=\"{}\" y=\"{}\"", mm(at[0]), mm(at[1]));
        self.write_text(&place, text, set);
    }

    /// A text whose line is centred on `at`, up and down as well.
    pub(in crate::products::figure) fn text_level(&mut self, at: Spot, text: &str, set: Type) {
        self.text([at[0], at[1] + 0.36 * set.points * POINT], text, set);
    }

    /// A text that reads upwards, centred on `at`.
    pub(in crate::products::figure) fn text_upward(&mut self, at: Spot, text: &str, set: Type) {
        let half = 0.5 * set.width(text);
        self.texts.push(Area {
            left: at[0] - set.rise(),
            right: at[0] + 0.2 * set.rise(),
            top: at[1] - half,
            bottom: at[1] + half,
        });
        let (x, y) = (mm(at[0]), mm(at[1]));
        let place = format!("transform=\"translate({x} {y}) rotate(-90)\"");
        self.write_text(&place, text, set.side(Side::Middle));
    }

    fn write_text(&mut self, place: &str, text: &str, set: Type) {
        let anchor = match set.side {
            Side::Start => "",
            Side::Middle => " text-anchor=\"middle\"",
            Side::End => " text-anchor=\"end\"",
        };
        self.letters[usize::from(set.bold)].extend(text.chars());
        let weight = if set.bold { " font-weight=\"bold\"" } else { "" };
        let size = mm(set.points * POINT + 0.0005);
        let (colour, words, wide) = (set.colour.hex(), escaped(text), mm(set.width(text)));
        let _ = writeln!(
            self.body,
            "<text {place} font-size=\"{size}\"{anchor}{weight} fill=\"{colour}\"\
             {LENGTH}{wide}{ADJUST}>{words}</text>"
        );
    }

    /// The whole page as SVG, with a title for those who cannot see it.
    pub(in crate::products::figure) fn svg(&self, wide: f64, high: f64, title: &str) -> String {
        let (w, h, title) = (mm(wide), mm(high), escaped(title));
        let (paper, body) = (PAPER.hex(), &self.body);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" \
             viewBox=\"0 0 {w} {h}\" role=\"img\">\n<title>{title}</title>\n\
             <g font-family=\"{FAMILY}\" font-stretch=\"condensed\" fill=\"none\" \
             stroke-linejoin=\"round\" stroke-linecap=\"round\">\n\
             <rect width=\"{w}\" height=\"{h}\" fill=\"{paper}\"/>\n{body}</g>\n</svg>\n"
        )
    }
}
