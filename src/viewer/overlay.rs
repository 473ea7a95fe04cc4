//! What is written over the picture: legend, scale bar, arrow to the north, what must be said, and
//! the names (`names`). In pixels from the left and from the top; how wide a text is, whoever draws it tells.

use super::camera::{Look, round_step};
use super::colouring::Colouring;
use super::marks::{Marks, Shown};
use super::paths::{TRACE, TRUNK};
use super::reading::times;
use super::view::ColourBy;
use crate::maths::quantity::short;
use crate::products::scene::LegInSpace;
use crate::products::scene::palette::{ALERT, Colour, INK, QUIET};

/// Which point of a text stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is its name")]
pub enum Align {
    Left,
    Middle,
    Right,
}

/// A text whose middle line lies at its place, with a halo of paper.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Pixels right and down.
    pub at: [f64; 2],
    /// What it says.
    pub text: String,
    /// Whether it is set off.
    pub bold: bool,
    /// Its colour.
    pub colour: Colour,
    /// How it stands to its place.
    pub align: Align,
}

/// A straight line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Its ends.
    pub ends: [[f64; 2]; 2],
    /// Its width.
    pub width: f64,
    /// Its colour.
    pub colour: Colour,
}

/// All that is written over a picture.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Overlay {
    /// Texts.
    pub texts: Vec<Text>,
    /// Lines.
    pub strokes: Vec<Stroke>,
}

/// Pixels of a text of this size, whether bold, across.
pub type Width<'a> = &'a dyn Fn(&str, bool) -> f64;

/// Metres of the scale bar, and pixels it may take at the most.
const BAR_PX: f64 = 180.0;
const MARGIN: f64 = 18.0;
/// How a text is set: its pixels high, and how wide each is.
#[derive(Clone, Copy)]
pub struct Setting<'a> {
    /// Pixels from line to line.
    pub line: f64,
    /// How wide a text is.
    pub width: Width<'a>,
    /// Pixels that a panel takes at the left.
    pub left: f64,
}

impl Shown<'_> {
    /// All that is written over these marks.
    pub fn overlay(&self, marks: &Marks, setting: Setting<'_>) -> Overlay {
        let mut overlay = Overlay::default();
        self.legend(&mut overlay, setting);
        self.bar(&mut overlay, setting);
        self.arrow(&mut overlay, setting);
        self.notes(marks, &mut overlay, setting);
        self.height_labels(marks, &mut overlay, setting);
        self.names(&mut overlay, setting);
        overlay
    }

    fn legend(&self, overlay: &mut Overlay, setting: Setting<'_>) {
        let Setting { line, left, .. } = setting;
        let Colouring { title, mut keys, .. } = Colouring::of(self.space, self.view.colour);
        if self.view.colour == ColourBy::Trail {
            // Of trails each key is a name.
            keys.retain(|(_, name)| self.view.shows(name));
        }
        let x = left + MARGIN;
        let mut y = MARGIN + 0.5 * line;
        overlay.write([x, y], &title, true, INK);
        let mut key = |colour: Colour, width: f64, words: &str, ink: Colour| {
            y += line;
            let ends = [[x, y], [x + 1.6 * line, y]];
            overlay.strokes.push(Stroke { ends, width: width * line, colour });
            overlay.write([x + 2.1 * line, y], words, false, ink);
        };
        for (colour, words) in keys {
            key(colour, 0.3, &words, INK);
        }
        if !self.suspicions.is_empty() {
            key(ALERT, 0.3, "a reading to look at", INK);
        }
        for (_, colour, words) in self.thin().into_iter().filter(|(there, ..)| *there) {
            key(colour, 0.13, words, QUIET);
        }
        for (_, words) in self.kinds().into_iter().filter(|(there, _)| *there) {
            y += line;
            overlay.write([x, y], words, false, QUIET);
        }
    }

    /// Letters across in the widest row of the legend, a line before words as so many.
    pub(super) fn widest_of_legend(&self) -> usize {
        const LINE: usize = 6;
        let letters = |words: &str| words.chars().count();
        let Colouring { title, keys, .. } = Colouring::of(self.space, self.view.colour);
        let keys = keys.iter().map(|(_, words)| LINE + letters(words));
        let thin = self.thin().into_iter().filter(|(there, ..)| *there);
        let kinds = self.kinds().into_iter().filter(|(there, _)| *there);
        let rows = keys.chain(thin.map(|(.., words)| LINE + letters(words)));
        rows.chain(kinds.map(|(_, words)| letters(words))).fold(letters(&title), usize::max)
    }

    /// Thin lines beside a path: whether there are any, their colour, what they are.
    fn thin(&self) -> [(bool, Colour, &'static str); 2] {
        let layers = &self.view.layers;
        let has_trunks = self.trails().any(|trail| {
            self.space.scene.trails[trail].has_plan && !self.space.trails[trail].trunks.is_empty()
        });
        let has_drops = self.weights().drops && self.trails().next().is_some();
        [
            (layers.trunks && has_trunks, TRUNK, "tree trunk"),
            (layers.drops && has_drops, TRACE, "plumb line, ground trace"),
        ]
    }

    /// What a path's strokes and dots say by their shape: whether there are any, and what they are.
    fn kinds(&self) -> [(bool, &'static str); 4] {
        [
            (self.trails().next().is_some(), "black dots: release, found, end"),
            (self.has(|leg| leg.escape), "thin: escape run"),
            (self.has(|leg| !leg.counted), "dashed grey: a gap, not counted"),
            (self.has(|leg| leg.assumed && leg.counted), "dashed: no direction read, carried on"),
        ]
    }

    fn has(&self, is: impl Fn(&LegInSpace) -> bool) -> bool {
        self.trails().any(|trail| self.space.trails[trail].legs.iter().any(&is))
    }

    /// A bar of round metres; heights that are stretched have none of their own.
    fn bar(&self, overlay: &mut Overlay, setting: Setting<'_>) {
        let metres_per_pixel = self.view.eye.metres_per_pixel(self.size);
        let metres = round_step(BAR_PX * metres_per_pixel);
        let length = metres / metres_per_pixel;
        let [x, y] = [setting.left + MARGIN, self.size[1] - MARGIN - 0.3 * setting.line];
        let tick = 0.3 * setting.line;
        for ends in [
            [[x, y], [x + length, y]],
            [[x, y - tick], [x, y + tick]],
            [[x + length, y - tick], [x + length, y + tick]],
        ] {
            overlay.strokes.push(Stroke { ends, width: 2.0, colour: INK });
        }
        let words = format!("{} m", short(metres, 2));
        let at = [x + 0.5 * length, y - 0.8 * setting.line];
        overlay.add(Text { at, text: words, bold: false, colour: INK, align: Align::Middle });
    }

    /// An arrow to the north as it lies in the picture; where it lies into it, words. Where no trail
    /// has a north, an arrow ahead of the release; without a plan, none.
    fn arrow(&self, overlay: &mut Overlay, setting: Setting<'_>) {
        const LENGTH: f64 = 42.0;
        let axes = self.view.eye.axes();
        let [right, up] = [axes.across[1], axes.up[1]];
        let length = right.hypot(up);
        let middle = [self.size[0] - MARGIN - LENGTH, self.size[1] - MARGIN - LENGTH];
        if !self.trails().any(|trail| self.space.scene.trails[trail].has_plan) {
            return;
        }
        let has_north = self.view.has_north(self.space);
        if length < 0.2 {
            let nearest = Look::ALL.into_iter().min_by(|a, b| {
                let off = |look: &Look| {
                    let other = self.view.eye.turned_to(*look).axes().into;
                    (0..3).map(|k| (other[k] - axes.into[k]).powi(2)).sum::<f64>()
                };
                off(a).total_cmp(&off(b))
            });
            let words = nearest.map_or("", |look| look.words(has_north)).to_owned();
            let at = [self.size[0] - MARGIN, middle[1] + LENGTH];
            overlay.add(Text { at, text: words, bold: true, colour: INK, align: Align::Right });
            return;
        }
        let tip = |times: f64, aside: f64| {
            let [x, y] = [right / length, -up / length];
            [
                middle[0] + LENGTH * (times * right - aside * y),
                middle[1] + LENGTH * (-times * up + aside * x),
            ]
        };
        let mut stroke = |a: [f64; 2], b: [f64; 2]| {
            overlay.strokes.push(Stroke { ends: [a, b], width: 2.0, colour: INK });
        };
        stroke(tip(-0.6, 0.0), tip(0.6, 0.0));
        stroke(tip(0.6, 0.0), tip(0.25, 0.14));
        stroke(tip(0.6, 0.0), tip(0.25, -0.14));
        let at = tip(0.6, 0.0);
        let at = [at[0] + 0.3 * LENGTH * right / length, at[1] - 0.3 * LENGTH * up / length];
        overlay.add(Text {
            at,
            text: if has_north { "N" } else { "ahead" }.to_owned(),
            bold: true,
            colour: INK,
            align: Align::Middle,
        });
        let _ = setting;
    }

    /// What must be said of the picture, from the lower edge up.
    fn notes(&self, marks: &Marks, overlay: &mut Overlay, setting: Setting<'_>) {
        let bar = 2.6 * setting.line;
        for (up, note) in self.told(marks.grid_m).into_iter().enumerate() {
            let y = self.size[1] - MARGIN - bar - up as f64 * setting.line;
            overlay.write([setting.left + MARGIN, y], &note, false, QUIET);
        }
    }

    /// Pixels at the lower edge that scale bar and notes take, with lines this high.
    pub(super) fn foot(&self, line: f64) -> f64 {
        MARGIN + (2.6 + self.told(1.0).len() as f64) * line
    }

    /// The notes, the lowest first; `grid_m` metres between lines of the grid, 0 without one.
    fn told(self, grid_m: f64) -> Vec<String> {
        let mut notes = Vec::new();
        if grid_m > 0.0 {
            notes.push(format!("grid {} m, level with the lowest ground", short(grid_m, 2)));
        }
        if self.laid.apart && self.trails().count() > 1 {
            notes.push("trails stand side by side, all at one scale".to_owned());
        }
        if (self.view.stretch - 1.0).abs() > 1e-9 {
            notes.push(format!("heights drawn {} taller", times(self.view.stretch)));
        }
        let layers = &self.view.layers;
        if layers.misclosures {
            let magnified = self.magnified();
            notes.push(if self.not_closing().next().is_none() {
                "nothing closes: there is no misclosure to draw".to_owned()
            } else if magnified > 1.0 {
                format!("misclosures drawn {} longer", times(magnified))
            } else {
                "misclosures drawn as long as they are".to_owned()
            });
        }
        if layers.ellipsoids {
            notes.push("ellipsoids: 95 %, against the release".to_owned());
        }
        if layers.raw {
            notes.push("thin grey: the raw traverse".to_owned());
        }
        if self.view.tried.is_some() {
            notes.push("dashed: the path as it would be".to_owned());
        }
        if layers.drops && !self.weights().drops {
            notes.push("too many anchors for plumb lines".to_owned());
        }
        notes.extend(self.plan_notes());
        for name in &self.space.scene.unsettled {
            notes.push(format!("{name} is not drawn: its adjustment did not settle"));
        }
        if self.stale {
            notes.push("greyed: the last path without errors".to_owned());
        }
        notes
    }

    fn height_labels(&self, marks: &Marks, overlay: &mut Overlay, setting: Setting<'_>) {
        for (metres, left) in &marks.heights {
            let [x, y, _] = self.view.eye.project(*left, self.size);
            let text = format!("{} m", short(*metres, 3));
            let at = [x - 0.4 * setting.line, y];
            overlay.add(Text { at, text, bold: false, colour: QUIET, align: Align::Right });
        }
    }
}

impl Overlay {
    pub(super) fn add(&mut self, text: Text) {
        self.texts.push(text);
    }

    fn write(&mut self, at: [f64; 2], text: &str, bold: bool, colour: Colour) {
        self.add(Text { at, text: text.to_owned(), bold, colour, align: Align::Left });
    }
}
