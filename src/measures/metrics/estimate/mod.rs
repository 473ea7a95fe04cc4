//! From estimate and draws to value, standard error and 95 % interval.
//!
//! What noise bends, and which way, is found for all metrics alike (see [`Bend`]); a rule says only
//! whether the value itself is freed of it, and how far the interval of a climb or a maximum has to
//! reach, which noise bends by an amount that hangs on what is level. `docs/accuracy.md` shows what
//! coverage the rules reach.

use super::bend::Bend;
use super::catalogue::{COUNT, Metric, Rule};
use super::drawn::Drawn;
use super::formulas::Values;
use super::level;
use super::shape::Shape;
use super::subject::Subject;
use crate::adjustment::draws::Origin;
use crate::maths::quantity::wrap_half_turn;
use crate::maths::statistics::describe::{moments, quantile};
use crate::maths::statistics::interval::{Z95, normal_cdf, reach_beyond_bounds};
use std::f64::consts::SQRT_2;
use std::iter;

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
    let mut all = values.map(Measured::bare);
    all[Metric::AscentRaw.at()].value = values[Metric::Ascent.at()];
    all[Metric::DescentRaw.at()].value = values[Metric::Descent.at()];
    if drawn.len() < 2 {
        return all;
    }
    let basis = Basis { drawn, flat: subject.level.drawn(estimate, estimate) };
    for entry in &super::catalogue::METRICS {
        let at = entry.metric.at();
        if values[at].is_finite() {
            all[at] = basis.value_and_interval(entry.metric, values[at]);
        }
    }
    let median = all[Metric::HeightMedian.at()];
    for at in [Metric::HeightQ25, Metric::HeightQ75].map(Metric::at) {
        let plain = Measured { value: values[at], ..all[at] };
        let Measured { interval, .. } = quartile(plain, median, subject.level.height_sd);
        all[at].interval = interval;
    }
    let both = all[Metric::VerticalDistance.at()];
    let length = values[Metric::PathLength.at()];
    if values[Metric::VerticalShare.at()].is_finite() {
        let Bend { sd, .. } = basis.bend(Metric::VerticalShare, values[Metric::VerticalShare.at()]);
        let share = both.over(length).within(0.0, 1.0);
        all[Metric::VerticalShare.at()] = Measured { se: Some(sd), ..share };
    }
    all
}

/// A length or area from draws of errors of readings and of what is stated, by [`Rule::Linear`]:
/// from the estimate to it freed of what bends it, ± 1.96 standard deviations. Without interval
/// where there are fewer than two draws.
pub fn by_draws(value: f64, [read, stated]: [&[f64]; 2]) -> Measured {
    if read.len() < 2 || !value.is_finite() {
        return Measured::bare(value);
    }
    let bend = Bend::of(value, [read, stated]);
    let (middle, half) = (bend.taken_off(value), Z95 * bend.sd);
    Measured::with(value, bend.sd, value.min(middle) - half, value.max(middle) + half)
        .within(0.0, f64::INFINITY)
}

/// What intervals rest on.
struct Basis<'a> {
    drawn: &'a Drawn,
    /// What the levelled path makes without noise.
    flat: [f64; level::LEVELLED],
}

/// Both origins, that of readings first.
const ORIGINS: [Origin; 2] = [Origin::Read, Origin::Stated];

impl Basis<'_> {
    fn bend(&self, metric: Metric, e: f64) -> Bend {
        let [read, stated] = ORIGINS.map(|from| self.drawn.of(metric, from));
        Bend::of(e, [&read, &stated])
    }

    /// How noise bends what the levelled path makes, over several ways together; and, draw by draw, how
    /// far the errors of readings bend it beyond the scatter of what is stated.
    fn levelled(&self, ways: &[usize]) -> (Bend, Vec<f64>) {
        let sum = |from: Origin| -> Vec<f64> {
            let of_draw = |draw: usize| {
                ways.iter().map(|&way| self.drawn.levelled(way, from)[draw] - self.flat[way]).sum()
            };
            let draws = ways.iter().map(|&way| self.drawn.levelled(way, from).len()).min();
            (0..draws.unwrap_or(0)).map(of_draw).collect()
        };
        let [mut read, stated] = ORIGINS.map(sum);
        let bend = Bend::of(0.0, [&read, &stated]);
        read.iter_mut().zip(&stated).for_each(|(read, stated)| *read -= stated);
        (bend, read)
    }

    /// One metric by its rule: E estimate, draws of it.
    fn value_and_interval(&self, metric: Metric, e: f64) -> Measured {
        if !metric.entry().rule.rests_on_draws() && metric.entry().rule != Rule::Inverse {
            return Measured::bare(e); // filled from rows, times or other metrics
        }
        let bend = self.bend(metric, e);
        let (middle, half) = (bend.taken_off(e), Z95 * bend.sd);
        let about = |value: f64, half: f64| {
            Measured::with(value, bend.sd, e.min(middle) - half, e.max(middle) + half)
        };
        match metric.entry().rule {
            Rule::Linear => {
                let top = if metric == Metric::AboveGroundShare { 1.0 } else { f64::INFINITY };
                about(e, half).within(0.0, top)
            }
            Rule::Angle => angle(e, &ORIGINS.map(|from| self.drawn.of(metric, from).to_vec())),
            Rule::Horizontal => {
                // Noise of a level leg shortens it by its square: the levelled path shows how unevenly.
                let sd = self.levelled(&[level::RUNS]).0.sd.max(bend.sd);
                let half = Z95 * sd;
                Measured::with(middle.max(0.0), sd, middle - half, middle + half)
                    .within(0.0, f64::INFINITY)
            }
            Rule::Climb if metric == Metric::Ascent => self.climb(e, bend, &[level::ASCENT]),
            Rule::Climb => self.climb(e, bend, &[level::DESCENT]),
            Rule::ClimbBoth => self.climb(e, bend, &[level::ASCENT, level::DESCENT]),
            Rule::Threshold => threshold(e, bend),
            Rule::Highest if metric == Metric::HeightMax => self.highest(e, bend, level::TOP),
            Rule::Highest => self.highest(e, bend, level::RANGE),
            Rule::Mirror => about(middle.max(0.0), half).within(0.0, f64::INFINITY),
            Rule::Bent => about(middle, half + SQRT_2 * bend.read.abs()),
            Rule::Between => between(metric, e, bend),
            Rule::Quantiles => self.quantiles(metric, e, bend.sd),
            Rule::Inverse => self.inverse(e),
            Rule::None
            | Rule::Tape
            | Rule::ClimbShare
            | Rule::PerHour
            | Rule::PerNight
            | Rule::NetPerNight => Measured::bare(e),
        }
    }

    /// A climb. What the errors of readings added to E lies between b, where every leg climbs, and B,
    /// where all are level that may be: the interval reaches from the one to the other, and by the
    /// noise of the levelled path beyond.
    fn climb(&self, e: f64, bend: Bend, ways: &[usize]) -> Measured {
        let (level, beyond) = self.levelled(ways);
        let most = Bend { read: bend.read.max(level.read), ..level };
        let (value, least) = (bend.taken_off(e), most.taken_off(e));
        let reach = reach_beyond_bounds((value - least).abs(), bend.sd);
        let noise = quantile_of(&beyond, normal_cdf(reach)) - moments(&beyond).0;
        let noise = noise.max(reach * bend.sd);
        let (low, high) = (value.min(least) - noise, value.max(least) + Z95 * bend.sd);
        let value = value.max(0.0);
        Measured::with(value, bend.sd, low.min(value), high).within(0.0, f64::INFINITY)
    }

    /// A maximum. What noise added to E lies between nothing, where one point stands out, and the lift
    /// of the greatest of all that may tie.
    fn highest(&self, e: f64, bend: Bend, which: usize) -> Measured {
        let (tie, lifts) = self.levelled(&[which]);
        let (value, least) = (bend.taken_off(e), tie.taken_off(e));
        let half = Z95 * bend.sd;
        let low = (e - quantile_of(&lifts, normal_cdf(Z95))).min(value - half);
        let high = e.max(value).max(least) + half;
        // Animals are let go on the ground or above it: noise alone takes a greatest height below.
        Measured::with(value.max(0.0), bend.sd, low, high).within(0.0, f64::INFINITY)
    }

    /// The quantiles of both helpings of noise.
    fn quantiles(&self, metric: Metric, e: f64, sd: f64) -> Measured {
        let [read, stated] = ORIGINS.map(|from| self.drawn.of(metric, from));
        let scatter = stated.iter().map(|draw| draw - e).chain(iter::repeat(0.0));
        let both: Vec<f64> = read.iter().zip(scatter).map(|(read, by)| read + by).collect();
        let [low, high] = [0.025, 0.975].map(|share| quantile_of(&both, share));
        Measured::with(e, sd, low, high)
    }

    /// Length over net displacement: the interval of straightness, upside down.
    fn inverse(&self, e: f64) -> Measured {
        let straightness = self.value_and_interval(Metric::Straightness, e.recip());
        match (straightness.interval, straightness.se) {
            // Of a closed path the ratio has no upper end.
            (Some([low, high]), Some(sd)) if low > 0.0 => {
                Measured::with(e, sd * e * e, high.recip(), low.recip())
            }
            _ => Measured::bare(e),
        }
    }
}

/// A quantile of draws; not a number where there are none.
fn quantile_of(draws: &[f64], share: f64) -> f64 {
    quantile(&mut draws.to_vec(), share).unwrap_or(f64::NAN)
}

/// A climb between reversals: noise added to E anything from nothing to B. Draws double the
/// variance and add b more.
///
/// ```text
/// noise adds to smooth sums by its variance: B = b; to sums of extremes by its deviation:
/// B = b / (√2 − 1); reversals are between the two: B = b / (2^¾ − 1)
/// ```
fn threshold(e: f64, bend: Bend) -> Measured {
    let most = bend.read.max(0.0) / (2.0_f64.powf(0.75) - 1.0);
    let half = Z95 * bend.sd;
    let (low, high) = (e + bend.stated.min(0.0) - most, e + bend.stated.max(0.0));
    Measured::with(e, bend.sd, low - half, high + half).within(0.0, f64::INFINITY)
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

/// A resultant, which noise bends one way: the interval holds the estimate and the value freed of it.
fn between(metric: Metric, e: f64, bend: Bend) -> Measured {
    let lowest = if metric == Metric::TurnResultant { 0.0 } else { -1.0 };
    let value = bend.taken_off(e).clamp(lowest, 1.0);
    let half = Z95 * bend.sd;
    Measured::with(value, bend.sd, e.min(value) - half, e.max(value) + half).within(lowest, 1.0)
}

/// A direction (radians): draws are unwound about the estimate. An interval of a whole turn or
/// more is none.
fn angle(e: f64, draws: &[Vec<f64>; 2]) -> Measured {
    let spread = draws.iter().filter(|draws| draws.len() > 1).map(|draws| {
        let off: Vec<f64> = draws.iter().map(|draw| wrap_half_turn(draw - e)).collect();
        let (mean, sd) = moments(&off);
        sd.hypot(mean)
    });
    let spread = spread.fold(0.0, f64::hypot);
    if spread > 1.0 {
        return Measured { value: e, se: Some(spread), interval: None };
    }
    Measured::with(e, spread, e - Z95 * spread, e + Z95 * spread)
}

#[cfg(test)]
mod tests;
