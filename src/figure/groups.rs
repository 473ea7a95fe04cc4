//! Animals of each group side by side: every animal a point, the mean and its interval.

use super::axes::{Axis, grid, left};
use super::canvas::{Canvas, Side, Spot, Stroke, TEXT};
use super::font::fitted;
use super::legend::{Key, Mark, at_least, legend};
use super::values::{Plot, factor as times, heading, plots};
use super::{Drawing, NotDrawn, Width};
use crate::analysis::Analysis;
use crate::analysis::answer::{TESTS, headlines, p_value, people};
use crate::analysis::comparison::{roster, trail_values, usual};
use crate::compare::factors::Factor;
use crate::compare::groups::{Group, shared, split, tests};
use crate::compare::summary::{Resampled, Summary};
use crate::metrics::Metric;
use crate::scene::palette::{INK, Symbol, category};

/// One metric of all groups.
struct Shown {
    metric: Metric,
    part: usize,
    groups: Vec<Group>,
    summaries: Vec<Summary>,
    p: Option<f64>,
}

pub(super) fn draw(analysis: &Analysis, width: Width) -> Result<Drawing, NotDrawn> {
    let factor = usual(analysis).by.into_iter().next().ok_or_else(|| {
        NotDrawn::because("no column of the animals table divides the animals into a few groups")
    })?;
    let mut resampled = Resampled::new(analysis.wanted.seed);
    let all = headlines().map(|wanted| shown(analysis, &factor, wanted, &mut resampled));
    let all: Vec<Shown> = all.filter(|s| s.groups.iter().any(|g| !g.values.is_empty())).collect();
    if all.is_empty() {
        return Err(NotDrawn::because("no animal has a value of what is compared"));
    }
    let wide = width.mm();
    let ranges: Vec<[f64; 2]> = all.iter().map(range).collect();
    let (plots, height) = plots(&ranges, wide, false);
    let mut canvas = Canvas::new();
    for (shown, plot) in all.iter().zip(&plots) {
        one(&mut canvas, shown, plot, &factor);
    }
    let high = height + 2.0;
    let mut keys = vec![
        Key::new(Mark::Symbol(Symbol::Circle, category(0).colour), "an animal"),
        Key::new(Mark::Line(Stroke::new(INK, 0.5)), "mean, 95 % interval"),
    ];
    if all.iter().any(|s| s.groups.iter().any(|g| g.values.iter().any(|v| v.at_least))) {
        keys.push(Key::new(Mark::Arrow, "at least"));
    }
    let high = high + legend(&mut canvas, [0.5, high], wide - 0.5, &keys) + 0.5;
    let caption = format!(
        "Animals by {}: every animal a point, the mean of its trails; means with 95 % intervals \
         by resampling animals (BCa). p: labels of animals shuffled. * without the escape run. \
         Below each group: n animals with a value. Arrows: a thread was cut short or has a gap, so \
         that the value is at least so much.",
        factor.name
    );
    let alt = format!("Values of animals by {}, metric by metric.", factor.name);
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

fn shown(
    analysis: &Analysis,
    factor: &Factor,
    (metric, part): (Metric, usize),
    resampled: &mut Resampled,
) -> Shown {
    let values = trail_values(analysis, metric, part);
    let groups = split(&roster(analysis), factor, &values);
    let summaries =
        groups.iter().map(|group| Summary::with_intervals(&group.values, resampled)).collect();
    let rows = tests(&groups, shared(&groups).len(), resampled, analysis.wanted.seed);
    let test = TESTS.iter().find_map(|name| rows.iter().find(|row| row.test == *name));
    Shown { metric, part, p: test.and_then(|row| row.p), groups, summaries }
}

/// From zero to the largest value or end of an interval.
fn range(shown: &Shown) -> [f64; 2] {
    let values = shown.groups.iter().flat_map(|group| group.numbers());
    let ends = shown.summaries.iter().filter_map(|s| s.mean_interval).flatten();
    let all: Vec<f64> = values.chain(ends).map(|v| v * times(shown.metric)).collect();
    let low = all.iter().copied().fold(0.0, f64::min);
    let high = all.iter().copied().fold(low, f64::max);
    [low, if high > low { high * 1.04 } else { low + 1.0 }]
}

fn one(canvas: &mut Canvas, shown: &Shown, plot: &Plot, factor: &Factor) {
    let (area, up) = (plot.area, &plot.up);
    grid(canvas, area, up);
    let p = shown.p.map(p_value).map_or_else(String::new, |p| {
        if p.starts_with('<') { format!("p {p}") } else { format!("p = {p}") }
    });
    heading(canvas, plot, (shown.metric, shown.part), &p);
    left(canvas, area, Axis { scale: up, title: "", numbers: true });
    canvas.line(&[[area.left, area.bottom], [area.right, area.bottom]], super::axes::AXIS);
    let pitch = area.width() / shown.groups.len() as f64;
    for (at, (group, summary)) in shown.groups.iter().zip(&shown.summaries).enumerate() {
        let x = area.left + (at as f64 + 0.5) * pitch;
        let look = category(at);
        let size = 1.6;
        for (value, offset) in swarm(shown, group, plot, (size, 0.32 * pitch)) {
            let place = [x + offset - 0.12 * pitch, value.0];
            canvas.symbol(place, look.symbol, size, look.colour);
            if value.1 {
                at_least(canvas, [place[0], place[1] - 0.4]);
            }
        }
        mean(canvas, summary, plot, (x + 0.3 * pitch, times(shown.metric)));
        let name = fitted(&people(&factor.name, &group.name), TEXT.points, false, pitch - 0.6);
        let line = area.bottom + 1.2 + TEXT.rise();
        let set = TEXT.side(Side::Middle);
        canvas.text([x, line], &name, set);
        canvas.text([x, line + TEXT.leading()], &format!("n = {}", summary.animals), set);
    }
}

/// Where the animals of a group stand: their height on the page and whether they are lower bounds,
/// with an offset that keeps points from lying on each other.
fn swarm(
    shown: &Shown,
    group: &Group,
    plot: &Plot,
    (size, room): (f64, f64),
) -> Vec<((f64, bool), f64)> {
    let mut placed: Vec<Spot> = Vec::new();
    let mut out = Vec::new();
    for value in &group.values {
        let y = plot.up.at(value.value * times(shown.metric));
        let tries = (0..24).map(|step| {
            let reach = 0.5 * size * f64::from((step + 1) / 2);
            if step % 2 == 0 { reach } else { -reach }
        });
        let free = |x: f64| placed.iter().all(|p| (p[0] - x).hypot(p[1] - y) >= 0.9 * size);
        let x = tries.into_iter().filter(|x| x.abs() <= room).find(|x| free(*x)).unwrap_or(0.0);
        placed.push([x, y]);
        out.push(((y, value.at_least), x));
    }
    out
}

fn mean(canvas: &mut Canvas, summary: &Summary, plot: &Plot, (x, times): (f64, f64)) {
    let Some(mean) = summary.mean else { return };
    let stroke = Stroke::new(INK, 0.5);
    let y = plot.up.at(mean * times);
    canvas.line(&[[x - 1.2, y], [x + 1.2, y]], stroke);
    if let Some(ends) = summary.mean_interval {
        let [low, high] = ends.map(|end| plot.up.at(end * times));
        canvas.line(&[[x, low], [x, high]], Stroke::new(INK, 0.3));
    }
}
