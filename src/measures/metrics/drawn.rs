//! What the draws of one subject gave.

use super::bend::Bend;
use super::catalogue::{COUNT, METRICS, Metric};
use super::formulas::{Scratch, measure_with};
use super::level;
use super::shape::Shape;
use super::subject::Subject;
use crate::adjustment::draws::Origin;
use crate::maths::quantity::Lanes;
use crate::maths::statistics::interval::Z95;
use std::borrow::Cow;

/// Draws for which there is room from the start.
const ROOM: usize = 256;

/// The draws of one subject.
#[derive(Debug, Default)]
pub struct Drawn {
    /// By origin of the errors that were drawn, column by column: the metrics, what the levelled path
    /// makes, and the share of each height band.
    columns: [Vec<Vec<f64>>; 2],
    count: usize,
    scratch: Scratch<Lanes>,
}

impl Drawn {
    /// Measures the first `count` draws of `shape`, which holds their points and heights, moved by
    /// errors of one origin; `estimate` is what they deviate from.
    pub fn push(
        &mut self,
        subject: &Subject,
        shape: &mut Shape<'_, Lanes>,
        estimate: &Shape<'_>,
        (origin, count): (Origin, usize),
    ) {
        shape.retract(estimate);
        let values = measure_with(subject, shape, &mut self.scratch);
        let levelled = subject.level.drawn(shape, estimate);
        let spread = &self.scratch.spread;
        let shares = spread.by_stratum(&subject.edges).map(|metres| metres / spread.total());
        let columns = &mut self.columns[origin as usize];
        let column = || Vec::with_capacity(ROOM);
        columns.resize_with(COUNT + level::LEVELLED + subject.edges.len() + 1, column);
        let (metrics, beside) = columns.split_at_mut(COUNT);
        for entry in METRICS.iter().filter(|entry| entry.rule.rests_on_draws()) {
            let at = entry.metric.at();
            metrics[at].extend_from_slice(&values[at].0[..count]);
        }
        for (column, lanes) in beside.iter_mut().zip(levelled.into_iter().chain(shares)) {
            column.extend_from_slice(&lanes.0[..count]);
        }
        self.count += count;
    }

    /// How many draws.
    pub fn len(&self) -> usize {
        self.count
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.count == 0
    }

    /// Takes over the draws of `other`, after its own.
    pub fn append(&mut self, other: &mut Self) {
        for (own, more) in self.columns.iter_mut().zip(&mut other.columns) {
            own.resize_with(own.len().max(more.len()), Vec::new);
            own.iter_mut().zip(more).for_each(|(own, more)| own.append(more));
        }
        self.count += std::mem::take(&mut other.count);
    }

    /// 95 % interval of the share of height band `band`, whose estimate is `share`.
    pub fn share_interval(&self, band: usize, share: f64) -> Option<[f64; 2]> {
        if self.len() < 2 || !share.is_finite() {
            return None;
        }
        let band = COUNT + level::LEVELLED + band;
        let bend =
            Bend::of(share, [Origin::Read, Origin::Stated].map(|from| self.column(from, band)));
        let reach = Z95 * bend.sd;
        let middle = bend.taken_off(share);
        let ends = [share.min(middle - reach), share.max(middle + reach)];
        bend.sd.is_finite().then_some(ends.map(|end| end.clamp(0.0, 1.0)))
    }

    /// The draws of one metric from errors of one origin, of those that have it.
    pub(super) fn of(&self, metric: Metric, from: Origin) -> Cow<'_, [f64]> {
        let draws = self.column(from, metric.at());
        if draws.iter().all(|draw| draw.is_finite()) {
            return Cow::Borrowed(draws);
        }
        Cow::Owned(draws.iter().copied().filter(|draw| draw.is_finite()).collect())
    }

    /// What errors of one origin make of the levelled path.
    pub(super) fn levelled(&self, which: usize, from: Origin) -> &[f64] {
        self.column(from, COUNT + which)
    }

    fn column(&self, from: Origin, at: usize) -> &[f64] {
        self.columns[from as usize].get(at).map_or(&[], Vec::as_slice)
    }
}

#[cfg(test)]
impl Drawn {
    /// Draws of nothing but what is given, by origin: errors of readings, then what is stated.
    pub(super) fn laid(metrics: [&[(Metric, &[f64])]; 2]) -> Self {
        let mut drawn = Self::default();
        for (columns, metrics) in drawn.columns.iter_mut().zip(metrics) {
            let count = metrics.first().map_or(0, |(_, draws)| draws.len());
            *columns = vec![vec![0.0; count]; COUNT + level::LEVELLED];
            for (metric, draws) in metrics {
                columns[metric.at()] = draws.to_vec();
            }
            drawn.count += count;
        }
        drawn
    }

    /// Lays out what the draws make of the levelled path.
    pub(super) fn lay_levelled(&mut self, which: usize, draws: [&[f64]; 2]) {
        for (columns, draws) in self.columns.iter_mut().zip(draws) {
            if let Some(column) = columns.get_mut(COUNT + which) {
                *column = draws.to_vec();
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_that_have_no_value_are_left_out() {
        let drawn = Drawn::laid([&[(Metric::TurnMean, &[1.0, f64::NAN, 3.0])], &[]]);
        assert_eq!(*drawn.of(Metric::TurnMean, Origin::Read), [1.0, 3.0]);
        assert_eq!(*drawn.of(Metric::TurnMean, Origin::Stated), [0.0; 0]);
        assert_eq!(drawn.levelled(level::TOP, Origin::Read), [0.0; 3]);
        assert_eq!((drawn.len(), drawn.is_empty(), Drawn::default().is_empty()), (3, false, true));
    }

    #[test]
    fn draws_of_another_are_taken_over_after_the_own() {
        let mut own = Drawn::laid([&[(Metric::Ascent, &[1.0, 2.0])], &[]]);
        let mut other = Drawn::laid([&[(Metric::Ascent, &[3.0])], &[(Metric::Ascent, &[4.0])]]);
        own.append(&mut other);
        assert_eq!(*own.of(Metric::Ascent, Origin::Read), [1.0, 2.0, 3.0]);
        assert_eq!(*own.of(Metric::Ascent, Origin::Stated), [4.0]);
        assert_eq!((own.len(), other.len()), (4, 0));
    }

    /// Shares of 0.2 and 0.3 have the sd √0.005; 1.96 of it is 0.1386.
    #[test]
    fn the_share_of_a_band_lies_between_nothing_and_all() {
        let mut drawn = Drawn::laid([&[(Metric::Ascent, &[0.0, 0.0])], &[]]);
        drawn.columns[0].push(vec![0.2, 0.3]);
        let close = |found: Option<[f64; 2]>, expected: [f64; 2]| {
            for (found, expected) in found.unwrap().iter().zip(expected) {
                assert!((found - expected).abs() < 1e-4, "{found} {expected}");
            }
        };
        close(drawn.share_interval(0, 0.25), [0.1114, 0.3886]);
        // 0.1 − 0.15 ± 0.1386, and the share itself.
        close(drawn.share_interval(0, 0.1), [0.0, 0.1]);
        assert_eq!(drawn.share_interval(0, f64::NAN), None);
        assert_eq!(drawn.share_interval(1, 0.5), None, "no such band");
    }
}
