//! How far each closure misses, against what the stated instruments lead one to expect.

use super::axes::{Axis, Scale, below, foot_room};
use super::canvas::{Area, Canvas, Side, Stroke, TEXT};
use super::font::fitted;
use super::legend::{Key, Mark, legend};
use super::{Drawing, NotDrawn, Width};
use crate::adjustment::closure::{Closure, Verdict};
use crate::maths::quantity::{count_of, metres};
use crate::products::scene::palette::{ALERT, CATEGORIES, Colour, FAINT, INK, QUIET, Symbol};
use crate::results::Analysis;
use crate::results::tables::closure_name;

/// What stands over the numbers at the right.
const LONG_HEAD: &str = "misclosure of expected, walk";
const SHORT_HEAD: &str = "misclosure";
/// As many rows find room on a page.
const MOST: usize = 48;

pub(super) fn draw(analysis: &Analysis, width: Width) -> Result<Drawing, NotDrawn> {
    let shown = |closure: &&Closure| closure.trails.iter().any(|&trail| analysis.shown[trail]);
    let mut rows: Vec<&Closure> = analysis.adjusted.closures.iter().filter(shown).collect();
    rows.retain(|closure| closure.total().is_finite() && closure.expected > 0.0);
    if rows.is_empty() {
        return Err(NotDrawn::because(
            "no check measurement: no loop, no tie, no line between controls",
        ));
    }
    let all = rows.len();
    if all > MOST {
        rows.sort_by(|a, b| ratio(b).total_cmp(&ratio(a)));
        rows.truncate(MOST);
    }
    let wide = width.mm();
    let names: Vec<String> = rows.iter().map(|closure| name(analysis, closure)).collect();
    let name_room = names.iter().map(|name| TEXT.width(name)).fold(12.0, f64::max).min(0.42 * wide);
    let words: Vec<String> = rows.iter().map(|closure| numbers(closure, wide > 100.0)).collect();
    let head = if wide > 100.0 { LONG_HEAD } else { SHORT_HEAD };
    let word_room = words.iter().map(|words| TEXT.width(words)).fold(TEXT.width(head), f64::max);
    let pitch = (190.0 / rows.len() as f64).clamp(3.4, 4.6);
    let left = name_room + 2.0;
    let high = rows.len() as f64 * pitch + 1.0;
    let plot = Area::new(left, 5.0, (wide - left - word_room - 3.0).max(12.0), high);
    let most = rows.iter().map(|closure| ratio(closure)).fold(1.0, f64::max);
    let scale = Scale::whole([0.0, most * 1.02], [plot.left, plot.right], 14.0);
    let mut canvas = Canvas::new();
    let one = scale.at(1.0);
    canvas.line(&[[one, plot.top], [one, plot.bottom]], Stroke::new(INK, 0.25).dashed(&[1.2, 0.7]));
    canvas.text([wide - 0.5, plot.top - 1.2], head, TEXT.side(Side::End));
    for ((closure, name), (at, words)) in rows.iter().zip(&names).zip(words.iter().enumerate()) {
        let y = plot.top + (at as f64 + 0.5) * pitch;
        let x = scale.at(ratio(closure));
        canvas.line(&[[plot.left, y], [plot.right, y]], Stroke::new(FAINT, 0.12));
        let (symbol, colour) = mark(closure.verdict);
        canvas.line(&[[plot.left, y], [x, y]], Stroke::new(colour, 0.4));
        canvas.symbol([x, y], symbol, 1.8, colour);
        let name = fitted(name, TEXT.points, false, name_room);
        canvas.text_level([plot.left - 1.0, y], &name, TEXT.side(Side::End));
        canvas.text_level([wide - 0.5, y], words, TEXT.side(Side::End));
    }
    let title = "misclosure / expected misclosure";
    below(&mut canvas, plot, Axis { scale: &scale, title, numbers: true });
    let top = plot.bottom + foot_room(true) + 1.5;
    let high = top + legend(&mut canvas, [0.5, top], wide - 0.5, &keys(&rows)) + 0.5;
    let alt = format!("Misclosure against what was expected, of {}.", count_of(all, "closure"));
    Ok(Drawing::new(&canvas, [wide, high], caption(all, rows.len()), alt))
}

fn ratio(closure: &Closure) -> f64 {
    closure.total() / closure.expected
}

fn name(analysis: &Analysis, closure: &Closure) -> String {
    let trail = |&trail: &usize| analysis.survey.text(analysis.network.trails[trail].name);
    let trails: Vec<&str> = closure.trails.iter().map(trail).collect();
    format!("{}: {}", trails.join(", "), closure_name(analysis, closure))
}

fn numbers(closure: &Closure, long: bool) -> String {
    let missed = metres(closure.total());
    if long {
        let expected = metres(closure.expected);
        format!("{missed} of {expected}, {}", metres(closure.length))
    } else {
        missed
    }
}

fn mark(verdict: Verdict) -> (Symbol, Colour) {
    match verdict {
        Verdict::Closes => (Symbol::Circle, CATEGORIES[0].colour),
        Verdict::Doubtful => (Symbol::Triangle, CATEGORIES[1].colour),
        Verdict::Fails => (Symbol::Diamond, ALERT),
        Verdict::TooCoarse => (Symbol::Ring, QUIET),
    }
}

fn keys(rows: &[&Closure]) -> Vec<Key> {
    let words = [
        (Verdict::Closes, "closes"),
        (Verdict::Doubtful, "doubtful (p < 0.05)"),
        (Verdict::Fails, "a slip is likely (p < 0.001)"),
        (Verdict::TooCoarse, "positions too coarse to check"),
    ];
    let met = |verdict: Verdict| rows.iter().any(|closure| closure.verdict == verdict);
    words
        .into_iter()
        .filter(|(verdict, _)| met(*verdict))
        .map(|(verdict, words)| {
            let (symbol, colour) = mark(verdict);
            Key::new(Mark::Symbol(symbol, colour), words)
        })
        .collect()
}

fn caption(all: usize, shown: usize) -> String {
    let mut text = format!(
        "Misclosure of {} over the root mean squared misclosure that the stated instruments lead \
         one to expect (dashed: as expected). Beside each: the misclosure in space, what was \
         expected, and the taped length of the walk.",
        count_of(all, "closure")
    );
    if shown < all {
        text += &format!(" The {shown} largest are shown.");
    }
    text
}
