//! The home area of an animal: convex polygons around its positions, with intervals, night by night.

use super::draws::Drawn;
use super::placed::Placed;
use crate::measures::metrics::{Measured, Polygon, by_draws, centre, nearest_share};
use crate::results::Analysis;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Fewer positions than this span no area.
const FEWEST: usize = 3;
/// From so many positions on 5 % of them are a whole one.
const FEWEST_FOR_SHARE: usize = 20;

/// How many numbers of an extent have intervals: area, area of 95 % of the positions, span.
pub(super) const MEASURES: usize = 3;

/// Where an animal was, over all its placed trails together.
#[derive(Clone, Debug, Default)]
pub struct Extent {
    /// Its positions.
    pub positions: usize,
    /// Nights that the placed trails cover; `None` where one of them does not say.
    pub nights: Option<f64>,
    /// The first and last date among the placed trails.
    pub dates: Option<[Date; 2]>,
    /// The convex polygon around all positions.
    pub outline: Polygon,
    /// The arithmetic mean of all positions, metres east and north.
    pub centre: Option<[f64; 2]>,
    /// Area of the polygon around all positions, m²; `None` of fewer than three positions.
    pub area: Option<Measured>,
    /// Area of the polygon around the 95 % of them nearest their centre, m²; `None` of fewer than 20.
    pub area95: Option<Measured>,
    /// Greatest distance between two positions in plan, metres; `None` of fewer than two.
    pub span: Option<Measured>,
    /// Whether some thread was cut short or has a gap, so that all three are minimum values.
    pub at_least: bool,
    /// The area after each date.
    pub growth: Vec<Growth>,
    /// Placed trails without a date, which the growth leaves out.
    pub undated: usize,
}

/// The home area after the trails of so many dates.
#[derive(Clone, Debug, PartialEq)]
pub struct Growth {
    /// The last of the dates.
    pub date: Date,
    /// Trails up to then.
    pub trails: usize,
    /// Nights up to then; `None` where a trail does not say.
    pub nights: Option<f64>,
    /// Positions up to then.
    pub positions: usize,
    /// Area of the convex polygon around them, m²; `None` of fewer than three.
    pub area: Option<f64>,
}

/// Area, area of 95 % of the positions and span; not a number where there is none.
pub(super) fn measures(positions: &[[f64; 2]]) -> [f64; MEASURES] {
    let outline = Polygon::around(positions);
    let area = if positions.len() < FEWEST { f64::NAN } else { outline.area() };
    let share = nearest_share(positions);
    let area95 = share.map_or(f64::NAN, |points| Polygon::around(&points).area());
    let span = if positions.len() < 2 { f64::NAN } else { outline.span() };
    [area, area95, span]
}

impl Extent {
    pub(super) fn of(analysis: &Analysis, placed: &[Placed], drawn: &Drawn) -> Self {
        let positions = together(analysis, placed);
        let values = measures(&positions);
        let measured = |at: usize| {
            let value = values[at];
            let draws = drawn.each_ref().map(|columns| columns[at].as_slice());
            value.is_finite().then(|| by_draws(value, draws))
        };
        let dates = || placed.iter().filter_map(|trail| date(analysis, trail));
        let path = |trail: &Placed| &analysis.paths[trail.trail];
        Self {
            positions: positions.len(),
            nights: nights(analysis, placed),
            dates: dates().min().zip(dates().max()).map(|(first, last)| [first, last]),
            outline: Polygon::around(&positions),
            centre: centre(&positions),
            area: measured(0),
            area95: measured(1),
            span: measured(2),
            at_least: placed.iter().any(|trail| path(trail).cut_short || path(trail).has_gap),
            growth: growth(analysis, placed),
            undated: placed.iter().filter(|trail| date(analysis, trail).is_none()).count(),
        }
    }

    /// Why an area or distance is blank; blank where none is.
    pub fn reason(&self) -> String {
        let few = |fewest: usize, what: &str| {
            (self.positions < fewest).then(|| format!("{what} needs {fewest} positions"))
        };
        let reasons = [
            few(2, "a distance"),
            few(FEWEST, "an area"),
            few(FEWEST_FOR_SHARE, "leaving out 5 %"),
        ];
        reasons.into_iter().flatten().collect::<Vec<_>>().join("; ")
    }
}

fn date(analysis: &Analysis, trail: &Placed) -> Option<Date> {
    analysis.survey.trails[trail.listed].date
}

/// Nights of some trails together; `None` where there are none, or one does not say.
fn nights(analysis: &Analysis, placed: &[Placed]) -> Option<f64> {
    let of = |trail: &Placed| analysis.trails[trail.trail].times.nights;
    if placed.is_empty() { None } else { placed.iter().map(of).sum() }
}

fn together(analysis: &Analysis, placed: &[Placed]) -> Vec<[f64; 2]> {
    placed.iter().flat_map(|trail| trail.positions(analysis)).collect()
}

/// The area after each date; trails of one date are added together, since their order is not known.
fn growth(analysis: &Analysis, placed: &[Placed]) -> Vec<Growth> {
    let mut by_date: BTreeMap<Date, Vec<Placed>> = BTreeMap::new();
    for trail in placed {
        if let Some(date) = date(analysis, trail) {
            by_date.entry(date).or_default().push(trail.clone());
        }
    }
    let mut so_far: Vec<Placed> = Vec::new();
    let grow = |(date, mut trails): (Date, Vec<Placed>)| {
        so_far.append(&mut trails);
        let positions = together(analysis, &so_far);
        let [area, ..] = measures(&positions);
        Growth {
            date,
            trails: so_far.len(),
            nights: nights(analysis, &so_far),
            positions: positions.len(),
            area: area.is_finite().then_some(area),
        }
    };
    by_date.into_iter().map(grow).collect()
}
