//! One value an animal, metric by metric: the plots that `groups` and `covariate` share.

use super::axes::{Scale, foot_room, number_room};
use super::canvas::{Area, Canvas, TEXT};
use super::font::fitted;
use super::letter;
use crate::analysis::answer::p_value;
use crate::metrics::Metric;
use crate::scene::palette::QUIET;

/// A metric's plot.
pub(super) struct Plot {
    pub(super) area: Area,
    /// Its place among the plots.
    at: usize,
    pub(super) up: Scale,
}

const HEAD: f64 = 8.6;
const GAP: f64 = 3.5;

/// Plots for metrics with these ranges, in rows; and the page's height so far.
pub(super) fn plots(ranges: &[[f64; 2]], wide: f64, title_below: bool) -> (Vec<Plot>, f64) {
    let columns = if wide < 100.0 {
        2
    } else if wide < 150.0 {
        3
    } else {
        4
    }
    .min(ranges.len().max(1));
    let whole = (wide - GAP * (columns as f64 - 1.0) - 1.5) / columns as f64;
    let high = (0.9 * whole).min(40.0);
    let foot = foot_room(title_below) + if title_below { 0.0 } else { TEXT.leading() };
    let plot = |(at, range): (usize, &[f64; 2])| {
        let (row, column) = (at / columns, at % columns);
        let top = row as f64 * (HEAD + high + foot + GAP) + HEAD;
        let upright = Scale::whole(*range, [top + high, top], 7.0);
        let side = number_room(&upright) + 0.3;
        let left = column as f64 * (whole + GAP) + side;
        Plot { area: Area::new(left, top, whole - side, high), at, up: upright }
    };
    let rows = ranges.len().div_ceil(columns) as f64;
    let height = rows * (HEAD + high + foot + GAP) - GAP;
    (ranges.iter().enumerate().map(plot).collect(), height)
}

/// The heading of a plot: its letter, the metric with its unit, and below it what a test found.
pub(super) fn heading(
    canvas: &mut Canvas,
    plot: &Plot,
    (metric, part): (Metric, usize),
    found: &str,
) {
    let line = plot.area.top - 2.2 - TEXT.leading();
    canvas.text([left(plot), line], &letter(plot.at), TEXT.bold());
    let start = left(plot) + 3.0;
    let words = fitted(&words(metric, part), TEXT.points, false, plot.area.right + 1.0 - start);
    canvas.text([start, line], &words, TEXT);
    canvas.text([start, line + TEXT.leading()], found, TEXT.colour(QUIET));
}

/// Where a plot's numbers begin.
fn left(plot: &Plot) -> f64 {
    plot.area.left - number_room(&plot.up)
}

/// A metric as a plot names it; a star where the escape run is left out.
pub(super) fn words(metric: Metric, part: usize) -> String {
    let entry = metric.entry();
    let name = match metric {
        Metric::RatePerNight => "path a night".to_owned(),
        Metric::NetDisplacement => "net displacement".to_owned(),
        Metric::HeightMax => "highest".to_owned(),
        Metric::HeightMean => "mean height".to_owned(),
        Metric::AboveGroundShare => "above ground".to_owned(),
        Metric::ClimbsPer100m => "climbs per 100 m".to_owned(),
        _ => entry.name.replace('_', " "),
    };
    let star = if part == 1 { "*" } else { "" };
    match entry.unit {
        "1" if metric == Metric::AboveGroundShare => format!("{name}{star} (%)"),
        "1" | "1/100 m" | "" => format!("{name}{star}"),
        unit => format!("{name}{star} ({unit})"),
    }
}

/// What a value is multiplied by before it is drawn: shares are drawn in per cent.
pub(super) fn factor(metric: Metric) -> f64 {
    if metric == Metric::AboveGroundShare { 100.0 } else { 1.0 }
}

/// `p = 0.03` or `p < 0.0001`.
pub(super) fn p_words(p: f64) -> String {
    let words = p_value(p);
    if words.starts_with('<') { format!("p {words}") } else { format!("p = {words}") }
}
