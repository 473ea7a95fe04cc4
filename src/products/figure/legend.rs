//! Keys to marks, in rows that break at the edge of the page.

use super::canvas::{Area, Canvas, Spot, Stroke, TEXT};
use super::font::fitted;
use crate::products::scene::palette::{Colour, INK, Look, Symbol};

/// What stands before the words of a key.
#[derive(Clone, Copy)]
pub(super) enum Mark {
    Line(Stroke),
    Block(Colour),
    Symbol(Symbol, Colour),
    /// A line with its symbol.
    Dashed(Look),
    /// An arrow up: at least.
    Arrow,
    /// A start, as on the plan.
    Start,
    /// A start with a line up from it: a trail without a north.
    Upward,
    /// A refuge, as on the plan.
    Refuge,
    /// A mean and its interval.
    Mean,
}

/// One key.
pub(super) struct Key {
    pub(super) mark: Mark,
    pub(super) words: String,
}

impl Key {
    pub(super) fn new(mark: Mark, words: impl Into<String>) -> Self {
        Self { mark, words: words.into() }
    }
}

const MARK_MM: f64 = 5.0;
const GAP_MM: f64 = 3.2;

/// Draws keys from `at` on, no further right than `right`; gives the height they take.
pub(super) fn legend(canvas: &mut Canvas, at: Spot, right: f64, keys: &[Key]) -> f64 {
    let line = TEXT.leading() * 1.08;
    let [mut x, mut y] = at;
    for key in keys {
        let room = right - at[0] - MARK_MM - 1.4;
        let words = fitted(&key.words, TEXT.points, false, room);
        let mark = MARK_MM + 1.2;
        let wide = mark + TEXT.width(&words);
        if x > at[0] && x + wide > right {
            x = at[0];
            y += line;
        }
        let middle = y + 0.5 * line;
        draw(canvas, [x, middle], key.mark);
        canvas.text_level([x + mark, middle], &words, TEXT);
        x += wide + GAP_MM;
    }
    if keys.is_empty() { 0.0 } else { y + line - at[1] }
}

fn draw(canvas: &mut Canvas, [x, y]: Spot, mark: Mark) {
    let middle = [x + 0.5 * MARK_MM, y];
    match mark {
        Mark::Line(stroke) => canvas.line(&[[x, y], [x + MARK_MM, y]], stroke),
        Mark::Block(colour) => canvas.block(Area::new(x, y - 1.0, MARK_MM, 2.0), colour),
        Mark::Symbol(symbol, colour) => canvas.symbol(middle, symbol, 1.7, colour),
        Mark::Dashed(look) => {
            let stroke = Stroke::new(look.colour, 0.3).dashed(look.dash);
            canvas.line(&[[x, y], [x + MARK_MM, y]], stroke);
            canvas.symbol([x + MARK_MM, y], look.symbol, 1.5, look.colour);
        }
        Mark::Arrow => at_least(canvas, [middle[0], y + 1.2]),
        Mark::Start => super::marks::start(canvas, middle),
        Mark::Upward => {
            canvas.line(&[[middle[0], y + 0.4], [middle[0], y - 1.5]], Stroke::new(INK, 0.4));
            super::marks::start(canvas, [middle[0], y + 0.6]);
        }
        Mark::Refuge => super::marks::refuge(canvas, middle),
        Mark::Mean => {
            mean(canvas, middle[0], y, Some([y - 1.3, y + 1.3]));
        }
    }
}

/// A mean at a height of the page, and its interval.
pub(super) fn mean(canvas: &mut Canvas, x: f64, y: f64, ends: Option<[f64; 2]>) {
    canvas.line(&[[x - 1.2, y], [x + 1.2, y]], Stroke::new(INK, 0.5));
    if let Some([low, high]) = ends {
        canvas.line(&[[x, low], [x, high]], Stroke::new(INK, 0.3));
    }
}

/// How far an arrow up reaches over its value, millimetres.
pub(super) const ARROW_MM: f64 = 2.4;

/// An arrow up from a value that may be greater.
pub(super) fn at_least(canvas: &mut Canvas, [x, y]: Spot) {
    canvas.line(&[[x, y - 0.4], [x, y - 2.2]], Stroke::new(INK, 0.25));
    canvas.line(&[[x - 0.6, y - 1.6], [x, y - 2.4], [x + 0.6, y - 1.6]], Stroke::new(INK, 0.25));
}
