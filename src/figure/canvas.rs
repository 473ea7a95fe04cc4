//! A page in millimetres, from its upper left corner, and the SVG that comes of it.

use super::Letters;
use super::font::{FAMILY, POINT, SMALLEST, width};
use crate::quantity::Turn;
use crate::scene::palette::{Colour, INK, PAPER, Symbol};
use std::fmt::Write;

/// A place on the page: right, down.
pub(super) type Spot = [f64; 2];

/// A box on the page, its upper left and lower right corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Area {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) right: f64,
    pub(super) bottom: f64,
}

impl Area {
    pub(super) fn new(left: f64, top: f64, width: f64, height: f64) -> Self {
        Self { left, top, right: left + width, bottom: top + height }
    }

    pub(super) fn width(&self) -> f64 {
        self.right - self.left
    }

    pub(super) fn height(&self) -> f64 {
        self.bottom - self.top
    }

    pub(super) fn middle(&self) -> Spot {
        [0.5 * (self.left + self.right), 0.5 * (self.top + self.bottom)]
    }

    pub(super) fn meets(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    pub(super) fn holds(&self, other: &Self) -> bool {
        self.left <= other.left
            && other.right <= self.right
            && self.top <= other.top
            && other.bottom <= self.bottom
    }

    pub(super) fn grown(&self, by: f64) -> Self {
        Self {
            left: self.left - by,
            top: self.top - by,
            right: self.right + by,
            bottom: self.bottom + by,
        }
    }
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stroke {
    pub(super) colour: Colour,
    pub(super) width: f64,
    pub(super) dash: &'static [f64],
}

impl Stroke {
    pub(super) const fn new(colour: Colour, width: f64) -> Self {
        Self { colour, width, dash: &[] }
    }

    pub(super) const fn dashed(self, dash: &'static [f64]) -> Self {
        Self { dash, ..self }
    }
}

/// Where a text stands against its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    Start,
    Middle,
    End,
}

/// How a text is set.
#[derive(Clone, Copy, Debug)]
pub(super) struct Type {
    pub(super) points: f64,
    pub(super) bold: bool,
    pub(super) colour: Colour,
    pub(super) side: Side,
}

/// The usual text.
pub(super) const TEXT: Type =
    Type { points: SMALLEST, bold: false, colour: INK, side: Side::Start };

impl Type {
    pub(super) const fn bold(self) -> Self {
        Self { bold: true, ..self }
    }

    pub(super) const fn side(self, side: Side) -> Self {
        Self { side, ..self }
    }

    pub(super) const fn colour(self, colour: Colour) -> Self {
        Self { colour, ..self }
    }

    /// How wide a text is, millimetres.
    pub(super) fn width(self, text: &str) -> f64 {
        width(text, self.points, self.bold)
    }

    /// How far its letters rise over the line, millimetres.
    pub(super) fn rise(self) -> f64 {
        0.76 * self.points * POINT
    }

    /// From one line to the next, millimetres.
    pub(super) fn leading(self) -> f64 {
        1.22 * self.points * POINT
    }

    /// The box of a text whose line begins, is centred or ends at `at`.
    pub(super) fn area(self, at: Spot, text: &str) -> Area {
        let wide = self.width(text);
        let left = match self.side {
            Side::Start => at[0],
            Side::Middle => at[0] - 0.5 * wide,
            Side::End => at[0] - wide,
        };
        let fall = 0.22 * self.points * POINT;
        Area::new(left, at[1] - self.rise(), wide, self.rise() + fall)
    }
}

/// A page that is being drawn on.
pub(super) struct Canvas {
    body: String,
    /// The letters of all texts.
    pub(super) letters: Letters,
    /// What labels must not cover: texts.
    pub(super) texts: Vec<Area>,
    /// What labels should not cover: lines.
    pub(super) lines: Vec<[Spot; 2]>,
}

impl Canvas {
    pub(super) fn new() -> Self {
        Self {
            body: String::new(),
            letters: Letters::default(),
            texts: Vec::new(),
            lines: Vec::new(),
        }
    }

    /// A line through all the places.
    pub(super) fn line(&mut self, places: &[Spot], stroke: Stroke) {
        if places.len() < 2 {
            return;
        }
        let path = path(places);
        let look = look(stroke);
        let _ = writeln!(self.body, "<path d=\"{path}\"{look}/>");
    }

    /// Straight lines of one look.
    pub(super) fn lines(&mut self, lines: &[[Spot; 2]], stroke: Stroke) {
        if lines.is_empty() {
            return;
        }
        let paths: String = lines.iter().map(|line| path(line)).collect();
        let look = look(stroke);
        let _ = writeln!(self.body, "<path d=\"{paths}\"{look}/>");
    }

    /// A line that labels keep clear of.
    pub(super) fn obstacle(&mut self, places: &[Spot], stroke: Stroke) {
        self.line(places, stroke);
        self.lines.extend(places.windows(2).map(|pair| [pair[0], pair[1]]));
    }

    /// A filled outline.
    pub(super) fn fill(&mut self, places: &[Spot], colour: Colour) {
        let path = path(places);
        let _ = writeln!(self.body, "<path d=\"{path}Z\" fill=\"{}\"/>", colour.hex());
    }

    /// Filled ellipses of one colour, each by its middle and its half axes as vectors of the page.
    pub(super) fn ovals(&mut self, ovals: &[(Spot, [Spot; 2])], colour: Colour) {
        if ovals.is_empty() {
            return;
        }
        let paths: String = ovals.iter().map(|(at, axes)| oval(*at, *axes)).collect();
        let _ = writeln!(self.body, "<path d=\"{paths}\" fill=\"{}\"/>", colour.hex());
    }

    /// A filled box.
    pub(super) fn block(&mut self, area: Area, colour: Colour) {
        let (x, y) = (mm(area.left), mm(area.top));
        let (wide, high) = (mm(area.width()), mm(area.height()));
        let _ = writeln!(
            self.body,
            "<rect x=\"{x}\" y=\"{y}\" width=\"{wide}\" height=\"{high}\" fill=\"{}\"/>",
            colour.hex()
        );
    }

    /// A symbol about a place; `size` is its height.
    pub(super) fn symbol(&mut self, at: Spot, symbol: Symbol, size: f64, colour: Colour) {
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
    pub(super) fn shape(&mut self, places: &[Spot], colour: Colour, edge: Stroke) {
        let (path, look) = (path(places), look(edge));
        let _ = writeln!(self.body, "<path d=\"{path}Z\" fill=\"{}\"{look}/>", colour.hex());
    }

    /// A circle.
    pub(super) fn disc(&mut self, at: Spot, radius: f64, fill: Option<Colour>, edge: Stroke) {
        let fill = fill.map_or_else(|| "none".to_owned(), Colour::hex);
        let (x, y, r, look) = (mm(at[0]), mm(at[1]), mm(radius), look(edge));
        let _ =
            writeln!(self.body, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"{fill}\"{look}/>");
    }

    /// A text on one line.
    pub(super) fn text(&mut self, at: Spot, text: &str, set: Type) {
        if text.trim().is_empty() {
            return;
        }
        self.texts.push(set.area(at, text));
        let place = format!("x=\"{}\" y=\"{}\"", mm(at[0]), mm(at[1]));
        self.write_text(&place, text, set);
    }

    /// A text whose line is centred on `at`, up and down as well.
    pub(super) fn text_level(&mut self, at: Spot, text: &str, set: Type) {
        self.text([at[0], at[1] + 0.36 * set.points * POINT], text, set);
    }

    /// A text that reads upwards, centred on `at`.
    pub(super) fn text_upward(&mut self, at: Spot, text: &str, set: Type) {
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
    pub(super) fn svg(&self, wide: f64, high: f64, title: &str) -> String {
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

/// Where a text says how wide it is, so that another font cannot push it over its neighbours.
pub(super) const LENGTH: &str = " textLength=\"";
/// What follows the width.
pub(super) const ADJUST: &str = "\" lengthAdjust=\"spacingAndGlyphs\"";

/// Numbers are rounded here and nowhere else: to a hundredth of a millimetre.
pub(super) fn mm(value: f64) -> String {
    let mut text = format!("{value:.2}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".to_owned() } else { text }
}

fn path(places: &[Spot]) -> String {
    let mut path = String::new();
    for (at, [x, y]) in places.iter().enumerate() {
        let _ = write!(path, "{}{} {}", if at == 0 { "M" } else { "L" }, mm(*x), mm(*y));
    }
    path
}

/// An ellipse as two arcs, from one end of its first axis to the other and back.
fn oval([x, y]: Spot, [a, b]: [Spot; 2]) -> String {
    let turned = mm(Turn::from_radians(a[1].atan2(a[0])).to_degrees());
    let arc = |sign: f64| {
        let [long, wide] = [a, b].map(|axis| mm(axis[0].hypot(axis[1])));
        let [right, down] = [2.0 * sign * a[0], 2.0 * sign * a[1]].map(mm);
        format!("a{long} {wide} {turned} 1 0 {right} {down}")
    };
    format!("M{} {}{}{}Z", mm(x + a[0]), mm(y + a[1]), arc(-1.0), arc(1.0))
}

fn look(stroke: Stroke) -> String {
    let dash: Vec<String> = stroke.dash.iter().map(|length| mm(*length)).collect();
    let dash = if dash.is_empty() {
        String::new()
    } else {
        format!(" stroke-dasharray=\"{}\" stroke-linecap=\"butt\"", dash.join(" "))
    };
    format!(" stroke=\"{}\" stroke-width=\"{}\"{dash}", stroke.colour.hex(), mm(stroke.width))
}

/// Text as it stands in XML; a control character has no place in it.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}
