//! Figures a journal prints: axes and marks in millimetres, as SVG, PDF and PNG.
//!
//! In: an [`Analysis`] and one of a closed list of kinds. Out: a [`Drawing`]: the figure as SVG, its
//! caption and the text for those who cannot see it; [`encode`] makes PDF and PNG of the same SVG.
//! Text is at least 7 pt, in one embedded open font; nothing depends on the fonts of a machine.
//! Left out: writing files (`cli`).

mod axes;
mod canvas;
mod closure;
mod covariate;
mod cumulative;
mod directions;
pub mod encode;
mod font;
mod frames;
mod grid;
mod groups;
mod labels;
mod legend;
mod maps;
mod marks;
mod oblique;
mod panel;
mod pdf;
mod plan;
mod profile;
mod rose;
mod selection;
mod steps;
mod strata;
mod supports;
mod swarm;
mod turns;
mod values;

use crate::maths::parallel;
use crate::products::fonts::Weight;
use crate::products::scene::{Scene, scene};
use crate::results::Analysis;
use canvas::Canvas;
use std::collections::BTreeSet;

/// The letters used of each weight.
pub type Letters = [BTreeSet<char>; Weight::ALL.len()];

/// A figure, ready to be written.
#[derive(Clone, Debug)]
pub struct Drawing {
    /// The figure as SVG, sized in millimetres.
    pub svg: String,
    /// What is shown, how many, what bars and bands mean.
    pub caption: String,
    /// The letters of its texts.
    pub letters: Letters,
    /// What it shows, for those who cannot see it.
    pub alt: String,
    /// Millimetres across.
    pub width_mm: f64,
    /// Millimetres down.
    pub height_mm: f64,
}

/// Why a figure cannot be drawn of this survey.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotDrawn {
    /// In a sentence.
    pub reason: String,
}

impl NotDrawn {
    fn because(reason: impl Into<String>) -> Self {
        Self { reason: reason.into() }
    }
}

/// The widths of a journal's columns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Width {
    /// One column, 85 mm.
    Narrow,
    /// One column and a half, 120 mm.
    Middle,
    /// The page, 174 mm.
    Wide,
}

impl Width {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Narrow, Self::Middle, Self::Wide];

    /// Millimetres.
    pub const fn mm(self) -> f64 {
        match self {
            Self::Narrow => 85.0,
            Self::Middle => 120.0,
            Self::Wide => 174.0,
        }
    }
}

/// A kind of figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is explained in KINDS")]
pub enum Kind {
    Plan,
    Profile,
    Panel,
    Strata,
    Steps,
    Turns,
    Directions,
    Closure,
    Cumulative,
    Supports,
    Groups,
    Selection,
    Covariate,
    Oblique,
}

/// Every kind that this version draws: its name and what it shows.
pub const KINDS: [(Kind, &str, &str); 14] = [
    (Kind::Plan, "plan", "the paths from above, with scale and north"),
    (Kind::Profile, "profile", "height above ground along the thread"),
    (Kind::Panel, "panel", "all paths side by side at one scale"),
    (Kind::Strata, "strata", "share of the path in each band of height, animal by animal"),
    (Kind::Steps, "steps", "lengths of legs"),
    (Kind::Turns, "turns", "a rose of the turns in plan"),
    (Kind::Directions, "directions", "net bearings of animals, and their mean"),
    (Kind::Closure, "closure", "how far each closure misses, against what was expected"),
    (Kind::Cumulative, "cumulative", "distance from the release along the thread"),
    (Kind::Supports, "supports", "share of the path on each support; diameters and inclines"),
    (Kind::Groups, "groups", "values of animals, group by group"),
    (Kind::Selection, "selection", "what animals chose of what was on offer"),
    (Kind::Covariate, "covariate", "values of animals against a number of theirs"),
    (Kind::Oblique, "oblique", "the paths in space, with their trace on the ground"),
];

/// Draws a figure.
///
/// # Errors
/// Where the survey does not hold what the figure shows.
pub fn svg(kind: Kind, analysis: &Analysis, width: Width) -> Result<Drawing, NotDrawn> {
    of_scene(kind, analysis, &scene(analysis), width)
}

/// The same, of a scene that is at hand: many figures of one survey share it.
///
/// # Errors
/// Where the survey does not hold what the figure shows.
pub fn of_scene(
    kind: Kind,
    analysis: &Analysis,
    scene: &Scene,
    width: Width,
) -> Result<Drawing, NotDrawn> {
    match kind {
        Kind::Plan => plan::draw(scene, width),
        Kind::Profile => profile::draw(scene, width),
        Kind::Panel => panel::draw(scene, width),
        Kind::Strata => strata::draw(analysis, scene, width),
        Kind::Steps => steps::draw(scene, width),
        Kind::Turns => turns::draw(scene, width),
        Kind::Directions => directions::draw(analysis, width),
        Kind::Closure => closure::draw(analysis, width),
        Kind::Cumulative => cumulative::draw(analysis, scene, width),
        Kind::Supports => supports::draw(analysis, scene, width),
        Kind::Groups => groups::draw(analysis, width),
        Kind::Selection => selection::draw(analysis, width),
        Kind::Covariate => covariate::draw(analysis, width),
        Kind::Oblique => oblique::draw(scene, width),
    }
}

/// Every kind at page width, by name, in the order of [`KINDS`].
pub fn all(analysis: &Analysis) -> Vec<(&'static str, Result<Drawing, NotDrawn>)> {
    let scene = scene(analysis);
    parallel::each(&KINDS, |&(kind, name, _)| (name, of_scene(kind, analysis, &scene, Width::Wide)))
}

impl Drawing {
    fn new(canvas: &Canvas, [width_mm, height_mm]: [f64; 2], caption: String, alt: String) -> Self {
        let (svg, letters) = (canvas.svg(width_mm, height_mm, &alt), canvas.letters.clone());
        Self { svg, caption, letters, alt, width_mm, height_mm }
    }
}

/// `a, b and c`; the first dozen of many.
fn sentence_list(names: &[&str]) -> String {
    const MOST: usize = 12;
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [some @ .., last] if names.len() <= MOST => format!("{} and {last}", some.join(", ")),
        _ => format!("{} and {} more", names[..MOST].join(", "), names.len() - MOST),
    }
}

/// The letter of a frame or plot: `a`, `b` … `z`, `aa`.
fn letter(at: usize) -> String {
    let of = |at: usize| char::from(b'a' + u8::try_from(at % 26).unwrap_or(0));
    if at < 26 { of(at).to_string() } else { format!("{}{}", of(at / 26 - 1), of(at)) }
}
