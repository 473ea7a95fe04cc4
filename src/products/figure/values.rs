//! One value an animal, metric by metric: the plots that `groups` and `covariate` share.

use super::axes::{Scale, foot_room, number_room};
use super::canvas::{Area, Canvas, TEXT};
use super::font::fitted;
use super::letter;
use crate::measures::metrics::Metric;
use crate::products::scene::palette::QUIET;
use crate::results::answer::p_value;

/// A metric's plot.
pub(super) struct Plot {
    pub(super) area: Area,
    /// Where its column begins: its heading, and room for its numbers.
    start: f64,
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
    let upright = |(at, range): (usize, &[f64; 2])| {
        let top = (at / columns) as f64 * (HEAD + high + foot + GAP) + HEAD;
        (top, Scale::whole(*range, [top + high, top], 7.0))
    };
    let uprights: Vec<(f64, Scale)> = ranges.iter().enumerate().map(upright).collect();
    // Plots below each other begin at one place, whatever their numbers.
    let side = |column: usize| {
        let rooms = uprights.iter().skip(column).step_by(columns).map(|(_, up)| number_room(up));
        rooms.fold(0.0, f64::max) + 0.3
    };
    let sides: Vec<f64> = (0..columns).map(side).collect();
    let rows = ranges.len().div_ceil(columns) as f64;
    let height = rows * (HEAD + high + foot + GAP) - GAP;
    let plot = |(at, (top, up)): (usize, (f64, Scale))| {
        let (start, side) = ((at % columns) as f64 * (whole + GAP), sides[at % columns]);
        Plot { area: Area::new(start + side, top, whole - side, high), start, at, up }
    };
    (uprights.into_iter().enumerate().map(plot).collect(), height)
}

/// The heading of a plot: its letter, the metric with its unit, and below it what a test found.
pub(super) fn heading(
    canvas: &mut Canvas,
    plot: &Plot,
    (metric, part): (Metric, usize),
    found: &str,
) {
    let line = plot.area.top - 2.2 - TEXT.leading();
    canvas.text([plot.start + 0.3, line], &letter(plot.at), TEXT.bold());
    let start = plot.start + 3.3;
    let words = fitted(&words(metric, part), TEXT.points, false, plot.area.right + 1.0 - start);
    canvas.text([start, line], &words, TEXT);
    canvas.text([start, line + TEXT.leading()], found, TEXT.colour(QUIET));
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plots_below_each_other_begin_and_end_at_one_place() {
        let (plots, _) = plots(&[[0.0, 1.0], [0.0, 100.0], [0.0, 1500.0], [0.0, 0.3]], 85.0, true);
        for [upper, lower] in [[0, 2], [1, 3]].map(|pair| pair.map(|at: usize| plots[at].area)) {
            assert!((upper.left - lower.left).abs() < 1e-9, "{upper:?} over {lower:?}");
            assert!((upper.right - lower.right).abs() < 1e-9, "{upper:?} over {lower:?}");
        }
        let room = plots[0].area.left - plots[0].start;
        assert!(room >= plots.iter().step_by(2).map(|p| number_room(&p.up)).fold(0.0, f64::max));
    }
}
