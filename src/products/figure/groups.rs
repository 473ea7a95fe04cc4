//! Animals of each group side by side: every animal a point, the mean and its interval.

use super::axes::{Axis, grid, left};
use super::canvas::{Canvas, Side, TEXT};
use super::font::fitted;
use super::legend::{ARROW_MM, Key, Mark, at_least, legend, mean};
use super::swarm::swarm;
use super::values::{Plot, factor as times, heading, p_words, plots};
use super::{Drawing, NotDrawn, Width};
use crate::measures::compare::factors::Factor;
use crate::measures::compare::groups::{Group, split};
use crate::measures::compare::summary::Summary;
use crate::measures::metrics::Metric;
use crate::products::scene::palette::category;
use crate::results::Analysis;
use crate::results::answer::{TESTS, headlines, people};
use crate::results::comparison::{GroupRow, MetricTest, asked, roster, trail_values};
use crate::results::question::groupings;

/// One metric of all groups.
struct Shown {
    metric: Metric,
    part: usize,
    groups: Vec<Group>,
    summaries: Vec<Summary>,
    p: Option<f64>,
}

pub(super) fn draw(analysis: &Analysis, width: Width) -> Result<Drawing, NotDrawn> {
    let factor = groupings(analysis).into_iter().next().ok_or_else(|| {
        NotDrawn::because("no column of the animals table divides the animals into a few groups")
    })?;
    let all = headlines().map(|wanted| shown(analysis, &factor, wanted));
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
    let names: Vec<&String> = all[0].groups.iter().map(|group| &group.name).collect();
    let mut keys: Vec<Key> =
        names.iter().enumerate().map(|(at, name)| key(at, name, &factor)).collect();
    keys.push(Key::new(Mark::Mean, "mean, 95 % interval"));
    if all.iter().any(|s| s.groups.iter().any(|g| g.values.iter().any(|v| v.at_least))) {
        keys.push(Key::new(Mark::Arrow, "at least"));
    }
    let high = high + legend(&mut canvas, [0.5, high], wide - 0.5, &keys) + 0.5;
    let caption = format!(
        "Animals by {}: every animal a symbol, the mean of its trails; means with 95 % intervals \
         (Student's t freed of skewness; where threads ran out, up to what every group reaches). {}* without the escape run. Below each group: n animals with \
         a value. Arrows: a thread was cut short or has a gap, so that the value is at least so much.",
        factor.name,
        if all.iter().any(|shown| shown.p.is_some()) {
            "p: labels of animals shuffled, each of one metric among several. "
        } else {
            ""
        }
    );
    let alt = format!("Values of animals by {}, metric by metric.", factor.name);
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

fn shown(analysis: &Analysis, factor: &Factor, (metric, part): (Metric, usize)) -> Shown {
    let values = trail_values(analysis, metric, part);
    let groups = split(&roster(analysis), factor, &values);
    let rows = &asked(analysis).groups;
    let summary = |group: &Group| {
        let own = |row: &&GroupRow| {
            (row.metric, row.part) == (metric, part)
                && row.factor == factor.name
                && row.group == group.name
        };
        rows.iter().find(own).map_or_else(|| Summary::of(&group.values), |row| row.summary)
    };
    let summaries = groups.iter().map(summary).collect();
    let own = |test: &&MetricTest| {
        test.metric == metric.entry().name && test.part == part && test.factor == factor.name
    };
    let found =
        |name: &&str| asked(analysis).tests.iter().filter(own).find(|t| t.row.test == *name);
    let p = TESTS.iter().find_map(found).and_then(|test| test.row.p);
    Shown { metric, part, groups, summaries, p }
}

/// The mean and its interval; where threads ran out, the mean up to what every group reaches.
fn mean_of(summary: &Summary) -> (Option<f64>, Option<[f64; 2]>) {
    match summary.restricted {
        Some(restricted) => (Some(restricted.mean), restricted.interval),
        None => (summary.mean, summary.mean_interval),
    }
}

/// From zero to the largest value or end of an interval.
fn range(shown: &Shown) -> [f64; 2] {
    let values = shown.groups.iter().flat_map(|group| group.numbers());
    let ends = shown.summaries.iter().filter_map(|s| mean_of(s).1).flatten();
    let all: Vec<f64> = values.chain(ends).map(|v| v * times(shown.metric)).collect();
    let low = all.iter().copied().fold(0.0, f64::min);
    let high = all.iter().copied().fold(low, f64::max);
    // Room for the arrow of a value that may be greater.
    let bound = shown.groups.iter().any(|group| group.values.iter().any(|v| v.at_least));
    let room = if bound { 1.1 } else { 1.04 };
    [low, if high > low { high * room } else { low + 1.0 }]
}

fn one(canvas: &mut Canvas, shown: &Shown, plot: &Plot, factor: &Factor) {
    let (area, up) = (plot.area, &plot.up);
    grid(canvas, area, up);
    let p = shown.p.map(p_words).unwrap_or_default();
    heading(canvas, plot, (shown.metric, shown.part), &p);
    left(canvas, area, Axis { scale: up, title: "", numbers: true });
    canvas.line(&[[area.left, area.bottom], [area.right, area.bottom]], super::axes::AXIS);
    let pitch = area.width() / shown.groups.len() as f64;
    for (at, (group, summary)) in shown.groups.iter().zip(&shown.summaries).enumerate() {
        let x = area.left + (at as f64 + 0.5) * pitch;
        let look = category(at);
        let size = 1.6;
        let arrow = |at_least: bool| if at_least { ARROW_MM } else { 0.0 };
        let height = |value: f64| up.at(value * times(shown.metric));
        let places: Vec<(f64, f64)> =
            group.values.iter().map(|v| (height(v.value), arrow(v.at_least))).collect();
        let asides = swarm(&places, size, 0.3 * pitch);
        for ((value, (y, _)), aside) in group.values.iter().zip(&places).zip(asides) {
            let place = [x + aside - 0.12 * pitch, *y];
            canvas.symbol(place, look.symbol, size, look.colour);
            if value.at_least {
                at_least(canvas, [place[0], place[1] - 0.4]);
            }
        }
        let (centre, ends) = mean_of(summary);
        if let Some(centre) = centre {
            let ends = ends.map(|ends| ends.map(height));
            mean(canvas, x + 0.32 * pitch, height(centre), ends);
        }
        let name = fitted(&people(&factor.name, &group.name), TEXT.points, false, pitch - 0.6);
        let line = area.bottom + 1.2 + TEXT.rise();
        let set = TEXT.side(Side::Middle);
        canvas.text([x, line], &name, set);
        canvas.text([x, line + TEXT.leading()], &format!("n = {}", summary.animals), set);
    }
}

/// The symbol of a group's animals.
fn key(at: usize, name: &str, factor: &Factor) -> Key {
    let look = category(at);
    Key::new(Mark::Symbol(look.symbol, look.colour), people(&factor.name, name))
}
