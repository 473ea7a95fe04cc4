//! From estimate and draws to value, standard error and 95 % interval.
//!
//! A draw adds noise to a path that already carries it. What that does to a metric depends on the
//! leg: for measured legs the estimate is already bent, and the draws show by how much; for plumb
//! legs, whose offset is stated and not measured, the mean of the draws is itself right; steep
//! legs are matched already. `docs/accuracy.md` shows what coverage the rules reach.

use super::catalogue::{COUNT, Metric, Rule};
use super::shape::{MEASURED, STATED, Scratch, Shape, Subject, Values, by_class, measure_with};
use crate::quantity::wrap_half_turn;
use crate::statistics::describe::quantile_of_sorted;
use crate::statistics::interval::Z95;
use std::f64::consts::SQRT_2;

/// Sums by class carried beside the metrics of a draw.
pub const EXTRAS: usize = 6;

/// The draws of one subject.
#[derive(Debug, Default)]
pub struct Drawn {
    values: Vec<Values>,
    extras: Vec<[f64; EXTRAS]>,
    /// Share of each height band, draw after draw.
    shares: Vec<f64>,
    bands: usize,
    scratch: Scratch,
}

impl Drawn {
    /// Measures one draw: `shape` holds its points and heights, `estimate` what it deviates from.
    pub fn push(&mut self, subject: &Subject, shape: &mut Shape<'_>, estimate: &Shape<'_>) {
        shape.retract(estimate);
        self.values.push(measure_with(subject, shape, &mut self.scratch));
        let spread = &self.scratch.spread;
        let total = spread.total();
        self.bands = subject.edges.len() + 1;
        self.shares.extend(spread.by_stratum(&subject.edges).map(|metres| metres / total));
        let sums = by_class(subject, shape);
        self.extras.push(std::array::from_fn(|k| sums[k / 3][k % 3]));
    }

    /// How many draws.
    pub fn len(&self) -> usize {
        self.values.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// Takes over the draws of `other`, after its own.
    pub fn append(&mut self, other: &mut Self) {
        self.values.append(&mut other.values);
        self.extras.append(&mut other.extras);
        self.shares.append(&mut other.shares);
        self.bands = self.bands.max(other.bands);
    }

    /// 95 % interval of the share of height band `band`, whose estimate is `share`.
    pub fn share_interval(&self, band: usize, share: f64) -> Option<[f64; 2]> {
        if self.len() < 2 || !share.is_finite() {
            return None;
        }
        let (_, sd) = moments(self.shares.iter().skip(band).step_by(self.bands).copied());
        let ends = [share - Z95 * sd, share + Z95 * sd].map(|end| end.clamp(0.0, 1.0));
        sd.is_finite().then_some(ends)
    }

    fn of(&self, metric: Metric) -> impl Iterator<Item = f64> + Clone + '_ {
        self.values.iter().map(move |values| values[metric.at()]).filter(|value| value.is_finite())
    }

    fn mean_extra(&self, class: usize, which: usize) -> f64 {
        let at = class * 3 + which;
        self.extras.iter().map(|extras| extras[at]).sum::<f64>() / self.extras.len() as f64
    }
}

/// Mean and standard deviation of draws; not numbers under two.
fn moments(draws: impl Iterator<Item = f64> + Clone) -> (f64, f64) {
    let n = draws.clone().count() as f64;
    let mean = draws.clone().sum::<f64>() / n;
    let squares: f64 = draws.map(|draw| (draw - mean).powi(2)).sum();
    (mean, (squares / (n - 1.0)).sqrt())
}

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
    let sums = by_class(subject, estimate);
    let mut all = values.map(Measured::bare);
    all[Metric::AscentRaw.at()].value = values[Metric::Ascent.at()];
    all[Metric::DescentRaw.at()].value = values[Metric::Descent.at()];
    if drawn.len() < 2 {
        return all;
    }
    for entry in &super::catalogue::METRICS {
        let at = entry.metric.at();
        if values[at].is_finite() {
            all[at] = value_and_interval(entry.metric, values[at], drawn, &sums);
        }
    }
    // The horizontal length is freed of its bias: so is what is a multiple of it.
    let plan = all[Metric::HorizontalLength.at()].value / values[Metric::HorizontalLength.at()];
    if plan.is_finite() {
        let intensity = all[Metric::IntensityOfUse.at()];
        all[Metric::IntensityOfUse.at()] = intensity.over(plan.recip());
    }
    let both = all[Metric::VerticalDistance.at()];
    let length = values[Metric::PathLength.at()];
    if values[Metric::VerticalShare.at()].is_finite() {
        let (_, sd) = moments(drawn.of(Metric::VerticalShare));
        let share = both.over(length).within(0.0, 1.0);
        all[Metric::VerticalShare.at()] = Measured { se: Some(sd), ..share };
    }
    all
}

/// One metric by its rule: E estimate, draws of it, and `sums` by class of the estimate.
pub fn value_and_interval(metric: Metric, e: f64, drawn: &Drawn, sums: &[[f64; 3]; 2]) -> Measured {
    let (mean, sd) = moments(drawn.of(metric));
    let half = Z95 * sd;
    let shift = |class: usize, which: usize| drawn.mean_extra(class, which) - sums[class][which];
    match metric.entry().rule {
        Rule::Linear => {
            let top = if metric == Metric::AboveGroundShare { 1.0 } else { f64::INFINITY };
            Measured::with(e, sd, e - half, e + half).within(0.0, top)
        }
        Rule::Angle => angle(e, drawn.of(metric)),
        Rule::Horizontal => {
            let value = e + shift(STATED, 0) - shift(MEASURED, 0);
            Measured::with(value, sd, value - half, value + half).within(0.0, f64::INFINITY)
        }
        Rule::Climb => {
            let which = if metric == Metric::Ascent { 1 } else { 2 };
            climb(e, sd, shift(STATED, which), shift(MEASURED, which))
        }
        Rule::ClimbBoth => {
            let both = |class: usize| shift(class, 1) + shift(class, 2);
            climb(e, sd, both(STATED), both(MEASURED))
        }
        Rule::Threshold => {
            let low = e - half - (mean - e).max(0.0);
            Measured::with(e, sd, low, e + half).within(0.0, f64::INFINITY)
        }
        Rule::Highest => {
            let (value, b) = (2.0 * e - mean, mean - e);
            let low = value - half - SQRT_2 * b.max(0.0);
            Measured::with(value, sd, low, e.max(value) + half)
        }
        Rule::Mirror => {
            let value = (2.0 * e - mean).max(0.0);
            Measured::with(value, sd, value - half, value + half).within(0.0, f64::INFINITY)
        }
        Rule::Bent => {
            let (value, b) = (2.0 * e - mean, SQRT_2 * (mean - e).abs());
            Measured::with(value, sd, value - half - b, value + half + b)
        }
        Rule::Basic => basic(metric, e, mean, drawn),
        Rule::Inverse => inverse(e, drawn),
        // Filled from rows, times or other metrics.
        Rule::None
        | Rule::Tape
        | Rule::ClimbShare
        | Rule::PerHour
        | Rule::PerNight
        | Rule::NetPerNight => Measured::bare(e),
    }
}

/// A climb: E + stated − b, where b is what the noise of measured legs adds in the draws. Where
/// the truth is level, that takes off only √2 − 1 of what noise added to E, so that the interval
/// is lengthened downward by √2 b.
fn climb(e: f64, sd: f64, stated: f64, b: f64) -> Measured {
    let value = (e + stated - b).max(0.0);
    let low = value - Z95 * sd - SQRT_2 * b.max(0.0);
    Measured::with(value, sd, low, value + Z95 * sd).within(0.0, f64::INFINITY)
}

/// A direction (radians): draws are unwound about the estimate. An interval of a whole turn or
/// more is none.
fn angle(e: f64, draws: impl Iterator<Item = f64> + Clone) -> Measured {
    let off = draws.map(|draw| wrap_half_turn(draw - e));
    let (mean, sd) = moments(off.clone());
    let spread = sd.hypot(mean);
    if spread > 1.0 {
        return Measured { value: e, se: Some(spread), interval: None };
    }
    Measured::with(e, spread, e - Z95 * spread, e + Z95 * spread)
}

/// Twice the estimate less the quantiles of the draws.
fn basic(metric: Metric, e: f64, mean: f64, drawn: &Drawn) -> Measured {
    let mut sorted: Vec<f64> = drawn.of(metric).collect();
    sorted.sort_unstable_by(f64::total_cmp);
    let quantile = |q| quantile_of_sorted(&sorted, q).unwrap_or(f64::NAN);
    let (_, sd) = moments(sorted.iter().copied());
    let lowest = if metric == Metric::TurnResultant { 0.0 } else { -1.0 };
    let value = (2.0 * e - mean).clamp(lowest, 1.0);
    let (low, high) = (2.0 * e - quantile(0.975), 2.0 * e - quantile(0.025));
    Measured::with(value, sd, low, high).within(lowest, 1.0)
}

/// Length over net displacement: the interval of straightness, upside down.
fn inverse(e: f64, drawn: &Drawn) -> Measured {
    let (_, sd) = moments(drawn.of(Metric::Straightness));
    let straightness = 1.0 / e;
    let (low, high) = (straightness - Z95 * sd, straightness + Z95 * sd);
    if low <= 0.0 {
        return Measured::bare(e); // a closed path: the ratio has no upper end
    }
    Measured::with(e, sd / (straightness * straightness), 1.0 / high, 1.0 / low)
}
