//! From estimate and draws to value, standard error and 95 % interval.
//!
//! A draw adds noise to a path that already carries it. What that does to a metric depends on the
//! leg: for measured legs the estimate is already bent, and the draws show by how much; for plumb
//! legs, whose offset is stated and not measured, and for rough ground the mean of the draws is
//! itself right; steep legs are matched already. `docs/accuracy.md` shows what coverage the rules
//! reach.

use super::catalogue::{COUNT, Metric, Rule};
use super::class_sums::{MEASURED, STATED, by_class};
use super::drawn::{Drawn, SUMS};
use super::formulas::Values;
use super::level;
use super::shape::Shape;
use super::subject::Subject;
use crate::quantity::{norm, wrap_half_turn};
use crate::statistics::describe::{moments, quantile};
use crate::statistics::interval::{Z95, normal_cdf, reach_beyond_bounds};
use std::f64::consts::SQRT_2;

/// A metric's value with its standard error and 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// The estimate.
    pub value: f64,
    /// Its standard error.
    pub se: Option<f64>,
    /// Its 95 % interval.
    pub interval: Option<[f64; 2]>,
}

impl Measured {
    /// A value without interval.
    pub fn bare(value: f64) -> Self {
        Self { value, se: None, interval: None }
    }

    fn with(value: f64, se: f64, low: f64, high: f64) -> Self {
        if se.is_finite() && low.is_finite() && high.is_finite() {
            Self { value, se: Some(se), interval: Some([low, high]) }
        } else {
            Self::bare(value)
        }
    }

    /// Cuts the interval where the metric cannot be.
    fn within(mut self, low: f64, high: f64) -> Self {
        self.interval = self.interval.map(|[a, b]| [a.clamp(low, high), b.clamp(low, high)]);
        self
    }

    /// The interval multiplied by a number; it still holds the value, which stays.
    fn moved(self, by: f64) -> Self {
        let moved =
            |[low, high]: [f64; 2]| [(low * by).min(self.value), (high * by).max(self.value)];
        Self { interval: self.interval.map(moved), ..self }
    }

    /// The value and its interval divided by a number that is known.
    #[must_use]
    pub fn over(self, divisor: f64) -> Self {
        Self {
            value: self.value / divisor,
            se: self.se.map(|se| se / divisor),
            interval: self.interval.map(|interval| interval.map(|end| end / divisor)),
        }
    }
}

/// Every metric of a subject that follows from its geometry: the estimate's `values`, corrected
/// and with intervals from its draws.
pub fn measured(
    subject: &Subject,
    estimate: &Shape<'_>,
    values: &Values,
    drawn: &Drawn,
) -> [Measured; COUNT] {
    let mut all = values.map(Measured::bare);
    all[Metric::AscentRaw.at()].value = values[Metric::Ascent.at()];
    all[Metric::DescentRaw.at()].value = values[Metric::Descent.at()];
    if drawn.len() < 2 {
        return all;
    }
    let (phantom, bent) = (subject.level.phantom, subject.level.bent);
    let basis = Basis { drawn, sums: by_class(subject, estimate), phantom, bent };
    for entry in &super::catalogue::METRICS {
        let at = entry.metric.at();
        if values[at].is_finite() {
            all[at] = basis.value_and_interval(entry.metric, values[at]);
        }
    }
    basis.stretch_plan(estimate, values, &mut all);
    let median = all[Metric::HeightMedian.at()];
    for at in [Metric::HeightQ25, Metric::HeightQ75].map(Metric::at) {
        let plain = Measured { value: values[at], ..all[at] };
        let Measured { interval, .. } = quartile(plain, median, subject.level.height_sd);
        all[at].interval = interval;
    }
    let both = all[Metric::VerticalDistance.at()];
    let length = values[Metric::PathLength.at()];
    if values[Metric::VerticalShare.at()].is_finite() {
        let (_, sd) = moments(&drawn.of(Metric::VerticalShare));
        let share = both.over(length).within(0.0, 1.0);
        all[Metric::VerticalShare.at()] = Measured { se: Some(sd), ..share };
    }
    all
}

/// What intervals rest on: draws, sums by class of the estimate, and the climb that noise makes of
/// what may be level.
struct Basis<'a> {
    drawn: &'a Drawn,
    sums: [[f64; 3]; 2],
    phantom: f64,
    /// How far measured legs carry their noise already.
    bent: f64,
}

impl Basis<'_> {
    /// What draws add to a sum by class.
    fn shift(&self, class: usize, which: usize) -> f64 {
        moments(self.drawn.extra(class * 3 + which)).0 - self.sums[class][which]
    }

    /// What draws make of the levelled path.
    fn levelled(&self, which: usize) -> &[f64] {
        self.drawn.extra(SUMS + which)
    }

    /// One metric by its rule: E estimate, draws of it.
    fn value_and_interval(&self, metric: Metric, e: f64) -> Measured {
        let draws = self.drawn.of(metric);
        let (mean, sd) = moments(&draws);
        let half = Z95 * sd;
        match metric.entry().rule {
            Rule::Linear => {
                let top = if metric == Metric::AboveGroundShare { 1.0 } else { f64::INFINITY };
                Measured::with(e, sd, e - half, e + half).within(0.0, top)
            }
            Rule::Angle => angle(e, &draws),
            Rule::Horizontal => {
                let value = e + self.shift(STATED, 0) - self.shift(MEASURED, 0);
                // Of a level leg the second helping of noise would be the larger one.
                let (_, sd) = moments(self.levelled(level::RUNS));
                let half = Z95 * sd;
                Measured::with(value, sd, value - half, value + half).within(0.0, f64::INFINITY)
            }
            Rule::Climb if metric == Metric::Ascent => self.climb(e, sd, &[level::ASCENT]),
            Rule::Climb => self.climb(e, sd, &[level::DESCENT]),
            Rule::ClimbBoth => self.climb(e, sd, &[level::ASCENT, level::DESCENT]),
            Rule::Threshold => threshold(e, self.bent * (mean - e), sd),
            Rule::Highest if metric == Metric::HeightMax => self.highest(e, (mean, sd), level::TOP),
            Rule::Highest => self.highest(e, (mean, sd), level::RANGE),
            Rule::Mirror => {
                let value = (2.0 * e - mean).max(0.0);
                Measured::with(value, sd, value - half, value + half).within(0.0, f64::INFINITY)
            }
            Rule::Bent => {
                let (value, b) = (2.0 * e - mean, SQRT_2 * (mean - e).abs());
                Measured::with(value, sd, value - half - b, value + half + b)
            }
            Rule::Between => between(metric, e, (mean, sd)),
            Rule::Quantiles => {
                let [low, high] = [0.025, 0.975].map(|share| quantile_of(&draws, share));
                Measured::with(e, sd, low, high)
            }
            Rule::Inverse => inverse(e, self.drawn),
            // Filled from rows, times or other metrics.
            Rule::None
            | Rule::Tape
            | Rule::ClimbShare
            | Rule::PerHour
            | Rule::PerNight
            | Rule::NetPerNight => Measured::bare(e),
        }
    }

    /// A climb: E + stated − b, where b is what the noise of measured legs adds in the draws. What
    /// it added to E lies between b, where every leg climbs, and B, where all are level that may
    /// be: the interval reaches downward as far as B, and by the noise of the levelled path.
    fn climb(&self, e: f64, sd: f64, ways: &[usize]) -> Measured {
        let over = |class: usize| ways.iter().map(|way| self.shift(class, way + 1)).sum::<f64>();
        let (stated, b) = (over(STATED), over(MEASURED));
        let most = b.max(self.phantom * ways.len() as f64);
        let reach = reach_beyond_bounds(most - b, sd);
        let of_draw = |at: usize| ways.iter().map(|&way| self.levelled(way)[at]).sum();
        let levelled: Vec<f64> = (0..self.drawn.len()).map(of_draw).collect();
        let noise = quantile_of(&levelled, normal_cdf(reach));
        let value = (e + stated - b).max(0.0);
        let low = e + stated - most - (noise - moments(&levelled).0);
        Measured::with(value, sd, low.min(value), value + Z95 * sd).within(0.0, f64::INFINITY)
    }

    /// A maximum: 2E − mean. What noise added to E lies between nothing, where one point stands
    /// out, and the lift of the greatest of all that may tie.
    fn highest(&self, e: f64, (mean, sd): (f64, f64), which: usize) -> Measured {
        let lifts = self.levelled(which);
        let (value, b) = (2.0 * e - mean, (mean - e).max(0.0));
        let share = normal_cdf(reach_beyond_bounds(moments(lifts).0 - b, sd));
        let lift = quantile_of(lifts, share);
        Measured::with(value, sd, (e - lift).min(value), e.max(value) + Z95 * sd)
    }

    /// Noise in the rises leaves every run of measured legs too short or too long: intervals of
    /// what lies in the plan move with the sum of the runs.
    ///
    /// ```text
    /// ρ = (L − b) / L          L runs of legs that are not plumb, b what noise adds to them
    /// ```
    fn stretch_plan(&self, estimate: &Shape<'_>, values: &Values, all: &mut [Measured; COUNT]) {
        let whole = values[Metric::HorizontalLength.at()];
        let runs = whole - self.sums[STATED][0];
        let stretch = (runs - self.shift(MEASURED, 0)) / runs;
        if !(stretch.is_finite() && stretch > 0.0) {
            return;
        }
        let [net, far] = reaches(estimate).map(|[e, n, u]| {
            let longer = norm([stretch * e, stretch * n, u]) / norm([e, n, u]);
            if longer.is_finite() { longer } else { 1.0 }
        });
        for (metric, by) in [
            (Metric::NetDisplacement, net),
            (Metric::NetDisplacementHorizontal, stretch),
            (Metric::MaxDistance, far),
            (Metric::Straightness, net),
            (Metric::LengthToNet, net.recip()),
            (Metric::DailyHomeRange, stretch * stretch),
        ] {
            all[metric.at()] = all[metric.at()].moved(by);
        }
        // Length over the root of an area: both are freed of their bias.
        let plan = all[Metric::HorizontalLength.at()].value / whole;
        if plan > 0.0 {
            let intensity = all[Metric::IntensityOfUse.at()];
            all[Metric::IntensityOfUse.at()] = intensity.over(stretch / plan);
        }
    }
}

/// A quantile of draws; not a number where there are none.
fn quantile_of(draws: &[f64], share: f64) -> f64 {
    quantile(&mut draws.to_vec(), share).unwrap_or(f64::NAN)
}

/// From start to end, and to the point farthest from the start.
fn reaches(shape: &Shape<'_>) -> [[f64; 3]; 2] {
    let start = shape.points[shape.start];
    let to = |point: usize| {
        let [e, n, u] = shape.points[point];
        [e - start[0], n - start[1], u - start[2]]
    };
    let ends = shape.visited().map(to);
    let farther = |far: [f64; 3], to: [f64; 3]| if norm(to) > norm(far) { to } else { far };
    [ends.clone().next_back().unwrap_or_default(), ends.fold([0.0; 3], farther)]
}

/// A climb between reversals: noise added to E anything from nothing to B. Draws double the
/// variance and add `b` more.
///
/// ```text
/// noise adds to smooth sums by its variance: B = b; to sums of extremes by its deviation:
/// B = b / (√2 − 1); reversals are between the two: B = b / (2^¾ − 1)
/// ```
fn threshold(e: f64, b: f64, sd: f64) -> Measured {
    let most = b.max(0.0) / (2.0_f64.powf(0.75) - 1.0);
    let half = Z95 * sd;
    Measured::with(e, sd, e - most - half, e + half).within(0.0, f64::INFINITY)
}

/// A quartile that lies no farther from the median than one height is uncertain may owe all of
/// that to noise: its interval then reaches to the far end of that of the median.
fn quartile(quartile: Measured, median: Measured, height_sd: f64) -> Measured {
    let (Some([low, high]), Some(sd)) = (quartile.interval, median.se) else { return quartile };
    let apart = quartile.value - median.value;
    if apart.abs() > height_sd {
        return quartile;
    }
    let reach = reach_beyond_bounds(apart.abs(), sd) * sd;
    let interval = if apart > 0.0 {
        [(median.value - reach).min(quartile.value), high]
    } else {
        [low, (median.value + reach).max(quartile.value)]
    };
    Measured { interval: Some(interval), ..quartile }
}

/// A resultant, which noise bends one way: the interval holds both E and 2E − mean.
fn between(metric: Metric, e: f64, (mean, sd): (f64, f64)) -> Measured {
    let lowest = if metric == Metric::TurnResultant { 0.0 } else { -1.0 };
    let value = (2.0 * e - mean).clamp(lowest, 1.0);
    let (low, high) = (e.min(value) - Z95 * sd, e.max(value) + Z95 * sd);
    Measured::with(value, sd, low, high).within(lowest, 1.0)
}

/// A direction (radians): draws are unwound about the estimate. An interval of a whole turn or
/// more is none.
fn angle(e: f64, draws: &[f64]) -> Measured {
    let off: Vec<f64> = draws.iter().map(|draw| wrap_half_turn(draw - e)).collect();
    let (mean, sd) = moments(&off);
    let spread = sd.hypot(mean);
    if spread > 1.0 {
        return Measured { value: e, se: Some(spread), interval: None };
    }
    Measured::with(e, spread, e - Z95 * spread, e + Z95 * spread)
}

/// Length over net displacement: the interval of straightness, upside down.
fn inverse(e: f64, drawn: &Drawn) -> Measured {
    let (_, sd) = moments(&drawn.of(Metric::Straightness));
    let straightness = 1.0 / e;
    let (low, high) = (straightness - Z95 * sd, straightness + Z95 * sd);
    if low <= 0.0 {
        return Measured::bare(e); // a closed path: the ratio has no upper end
    }
    Measured::with(e, sd / (straightness * straightness), 1.0 / high, 1.0 / low)
}

#[cfg(test)]
mod tests;
