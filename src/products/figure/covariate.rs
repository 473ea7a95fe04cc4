//! Metrics of animals against a number of theirs: every animal a point, and Spearman's coefficient.

use super::axes::{Axis, Scale, below, grid, left};
use super::canvas::Canvas;
use super::legend::{Key, Mark, at_least, legend};
use super::values::{Plot, factor as times, heading, p_words, plots};
use super::{Drawing, NotDrawn, Width};
use crate::maths::quantity::{count_of, plain};
use crate::measures::compare::covariate::{Pair, pairs};
use crate::measures::compare::factors::Factor;
use crate::measures::metrics::Metric;
use crate::products::scene::palette::{CATEGORIES, Symbol};
use crate::results::Analysis;
use crate::results::answer::headlines;
use crate::results::comparison::{MetricTest, asked, roster, trail_values};

/// Fewest different numbers that are worth an axis.
const FEWEST: usize = 3;

/// One metric against the covariate.
struct Shown {
    metric: Metric,
    part: usize,
    pairs: Vec<Pair>,
    words: String,
}

pub(super) fn draw(analysis: &Analysis, width: Width) -> Result<Drawing, NotDrawn> {
    let factor = usual_number(analysis).ok_or_else(|| {
        NotDrawn::because(
            "no column of animals or trails holds numbers that differ, like body_mass_g",
        )
    })?;
    let study = asked(analysis);
    let tested = study.question.with.iter().any(|asked| asked.name == factor.name);
    let all = headlines().map(|(metric, part)| {
        let values = trail_values(analysis, metric, part);
        let pairs = pairs(&roster(analysis), &factor, &values);
        let own = |test: &&MetricTest| {
            test.metric == metric.entry().name && test.part == part && test.factor == factor.name
        };
        let spearman = study.tests.iter().filter(own).find(|test| test.row.test == "spearman");
        let words = spearman
            .and_then(|test| test.row.effect.zip(test.row.p))
            .map(|(rho, p)| format!("ρ = {}, {}", plain(rho, 2).replace('-', "−"), p_words(p)));
        Shown { metric, part, pairs, words: words.unwrap_or_default() }
    });
    let all: Vec<Shown> = all.filter(|shown| !shown.pairs.is_empty()).collect();
    if all.is_empty() {
        return Err(NotDrawn::because("no animal has both numbers"));
    }
    let wide = width.mm();
    let ranges: Vec<[f64; 2]> = all.iter().map(range).collect();
    let (plots, high) = plots(&ranges, wide, true);
    let mut canvas = Canvas::new();
    let title = axis_title(&factor.name);
    for (shown, plot) in all.iter().zip(&plots) {
        one(&mut canvas, shown, plot, &title);
    }
    let mut keys = vec![Key::new(Mark::Symbol(Symbol::Circle, CATEGORIES[0].colour), "an animal")];
    if all.iter().any(|shown| shown.pairs.iter().any(|pair| pair.at_least)) {
        keys.push(Key::new(Mark::Arrow, "at least"));
    }
    let high = high + 2.0;
    let high = high + legend(&mut canvas, [0.5, high], wide - 0.5, &keys);
    let animals = all.iter().map(|shown| shown.pairs.len()).max().unwrap_or(0);
    let caption = format!(
        "Metrics of {} against {title}; every animal a point, the mean of its trails. {}* without the \
         escape run. Arrows: a thread was cut short or has a gap, so that the value is at least so much.",
        count_of(animals, "animal"),
        if tested {
            "ρ: Spearman's coefficient, p by shuffling, of one metric among several. "
        } else {
            "No test was asked for. "
        }
    );
    let alt = format!("Metrics of {} against {title}.", count_of(animals, "animal"));
    Ok(Drawing::new(&canvas, [wide, high + 0.5], caption, alt))
}

/// The number that was asked for, else body mass where it differs, else the first column whose numbers
/// do.
fn usual_number(analysis: &Analysis) -> Option<Factor> {
    let survey = &analysis.survey;
    let roster = roster(analysis);
    let rows = || roster.animals.iter().flat_map(|(_, trails)| trails.iter().copied());
    let differs = |factor: &Factor| {
        let mut numbers: Vec<f64> = rows().filter_map(|row| factor.number(row)).collect();
        numbers.sort_by(f64::total_cmp);
        numbers.dedup();
        numbers.len() >= FEWEST
    };
    let asked = survey.settings.compare.with.iter().map(String::as_str);
    let names = asked.chain(["body_mass_g"]).chain(survey.factor_columns());
    names.filter_map(|name| Factor::of(survey, name)).find(differs)
}

/// `body_mass_g` as an axis has it: `body mass (g)`.
fn axis_title(name: &str) -> String {
    const UNITS: [&str; 9] = ["g", "mm", "cm", "m", "c", "h", "deg", "percent", "min"];
    match name.rsplit_once('_') {
        Some((stem, unit)) if UNITS.contains(&unit) => {
            let unit = match unit {
                "c" => "°C",
                "deg" => "°",
                "percent" => "%",
                other => other,
            };
            format!("{} ({unit})", stem.replace('_', " "))
        }
        _ => name.replace('_', " "),
    }
}

fn range(shown: &Shown) -> [f64; 2] {
    let values = shown.pairs.iter().map(|pair| pair.y * times(shown.metric));
    let (low, high) = values.fold((0.0_f64, 0.0_f64), |(l, h), v| (l.min(v), h.max(v)));
    let room = if shown.pairs.iter().any(|pair| pair.at_least) { 1.1 } else { 1.04 };
    [low, if high > low { high * room } else { low + 1.0 }]
}

fn one(canvas: &mut Canvas, shown: &Shown, plot: &Plot, title: &str) {
    let area = plot.area;
    let numbers = shown.pairs.iter().map(|pair| pair.x);
    let none = (f64::INFINITY, f64::NEG_INFINITY);
    let (low, high) = numbers.fold(none, |(low, high), x| (low.min(x), high.max(x)));
    let margin = 0.05 * (high - low).max(1e-6);
    let across = Scale::new([low - margin, high + margin], [area.left, area.right], 7.0);
    grid(canvas, area, &plot.up);
    heading(canvas, plot, (shown.metric, shown.part), &shown.words);
    for pair in &shown.pairs {
        let at = [across.at(pair.x), plot.up.at(pair.y * times(shown.metric))];
        canvas.symbol(at, Symbol::Circle, 1.7, CATEGORIES[0].colour);
        if pair.at_least {
            at_least(canvas, [at[0], at[1] - 0.4]);
        }
    }
    left(canvas, area, Axis { scale: &plot.up, title: "", numbers: true });
    below(canvas, area, Axis { scale: &across, title, numbers: true });
}
