//! What the draws of one subject gave.

use super::catalogue::{COUNT, METRICS, Metric};
use super::class_sums::by_class;
use super::formulas::{Scratch, measure_with};
use super::level;
use super::shape::Shape;
use super::subject::Subject;
use crate::quantity::Lanes;
use crate::statistics::describe::moments;
use crate::statistics::interval::Z95;
use std::borrow::Cow;

/// How many sums by class there are.
pub(super) const SUMS: usize = 6;
/// What is carried beside the metrics of a draw: sums by class, then the levelled path.
const EXTRAS: usize = SUMS + level::LEVELLED;

/// Draws for which there is room from the start.
const ROOM: usize = 256;

/// The draws of one subject.
#[derive(Debug, Default)]
pub struct Drawn {
    /// Draw after draw: the metrics, what is carried beside them, and the share of each height band.
    columns: Vec<Vec<f64>>,
    count: usize,
    scratch: Scratch<Lanes>,
}

impl Drawn {
    /// Measures the first `count` draws of `shape`, which holds their points and heights;
    /// `estimate` is what they deviate from.
    pub fn push(
        &mut self,
        subject: &Subject,
        shape: &mut Shape<'_, Lanes>,
        estimate: &Shape<'_>,
        count: usize,
    ) {
        shape.retract(estimate);
        let values = measure_with(subject, shape, &mut self.scratch);
        let sums = by_class(subject, shape);
        let levelled = subject.level.drawn(shape, estimate);
        let spread = &self.scratch.spread;
        let shares = spread.by_stratum(&subject.edges).map(|metres| metres / spread.total());
        let column = || Vec::with_capacity(ROOM);
        self.columns.resize_with(COUNT + EXTRAS + subject.edges.len() + 1, column);
        let (metrics, beside) = self.columns.split_at_mut(COUNT);
        for entry in METRICS.iter().filter(|entry| entry.rule.rests_on_draws()) {
            let at = entry.metric.at();
            metrics[at].extend_from_slice(&values[at].0[..count]);
        }
        let extras = sums.iter().flatten().chain(&levelled).copied().chain(shares);
        for (column, lanes) in beside.iter_mut().zip(extras) {
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
        self.columns.resize_with(self.columns.len().max(other.columns.len()), Vec::new);
        for (own, more) in self.columns.iter_mut().zip(&mut other.columns) {
            own.append(more);
        }
        self.count += std::mem::take(&mut other.count);
    }

    /// 95 % interval of the share of height band `band`, whose estimate is `share`.
    pub fn share_interval(&self, band: usize, share: f64) -> Option<[f64; 2]> {
        if self.len() < 2 || !share.is_finite() {
            return None;
        }
        let (_, sd) = moments(self.column(COUNT + EXTRAS + band));
        let ends = [share - Z95 * sd, share + Z95 * sd].map(|end| end.clamp(0.0, 1.0));
        sd.is_finite().then_some(ends)
    }

    /// The draws of one metric, of those that have it.
    pub(super) fn of(&self, metric: Metric) -> Cow<'_, [f64]> {
        let draws = self.column(metric.at());
        if draws.iter().all(|draw| draw.is_finite()) {
            return Cow::Borrowed(draws);
        }
        Cow::Owned(draws.iter().copied().filter(|draw| draw.is_finite()).collect())
    }

    /// The draws of what is carried at a place beside the metrics.
    pub(super) fn extra(&self, at: usize) -> &[f64] {
        self.column(COUNT + at)
    }

    fn column(&self, at: usize) -> &[f64] {
        self.columns.get(at).map_or(&[], Vec::as_slice)
    }
}

#[cfg(test)]
impl Drawn {
    /// Two or more draws of nothing but what is given: metrics, and what is carried beside them.
    pub(super) fn laid(
        count: usize,
        metrics: &[(Metric, &[f64])],
        beside: &[(usize, &[f64])],
    ) -> Self {
        let mut columns = vec![vec![0.0; count]; COUNT + EXTRAS];
        for (metric, draws) in metrics {
            columns[metric.at()].copy_from_slice(draws);
        }
        for (at, draws) in beside {
            columns[COUNT + at].copy_from_slice(draws);
        }
        Self { columns, count, scratch: Scratch::default() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_that_have_no_value_are_left_out() {
        let drawn =
            Drawn::laid(3, &[(Metric::TurnMean, &[1.0, f64::NAN, 3.0])], &[(2, &[7.0, 8.0, 9.0])]);
        assert_eq!(*drawn.of(Metric::TurnMean), [1.0, 3.0]);
        assert_eq!(*drawn.of(Metric::Ascent), [0.0; 3]);
        assert_eq!(drawn.extra(2), [7.0, 8.0, 9.0]);
        assert_eq!(drawn.extra(EXTRAS + 5), [0.0; 0], "beyond the last");
        assert_eq!((drawn.len(), drawn.is_empty(), Drawn::default().is_empty()), (3, false, true));
    }

    #[test]
    fn draws_of_another_are_taken_over_after_the_own() {
        let mut own = Drawn::laid(2, &[(Metric::Ascent, &[1.0, 2.0])], &[]);
        let mut other = Drawn::laid(3, &[(Metric::Ascent, &[3.0, 4.0, 5.0])], &[]);
        own.append(&mut other);
        assert_eq!(*own.of(Metric::Ascent), [1.0, 2.0, 3.0, 4.0, 5.0]);
        assert_eq!((own.len(), other.len()), (5, 0));
        let mut none = Drawn::default();
        none.append(&mut own);
        assert_eq!((none.len(), none.of(Metric::Ascent).len()), (5, 5));
    }

    /// Shares of 0.2 and 0.3 have the sd √0.005; 1.96 of it, 0.1386, on either side of 0.25 and of
    /// 0.1, which is cut at nothing.
    #[test]
    fn the_share_of_a_band_lies_between_nothing_and_all() {
        let mut drawn = Drawn::laid(2, &[], &[]);
        drawn.columns.push(vec![0.6, 0.6]);
        drawn.columns.push(vec![0.2, 0.3]);
        let close = |found: Option<[f64; 2]>, expected: [f64; 2]| {
            for (found, expected) in found.unwrap().iter().zip(expected) {
                assert!((found - expected).abs() < 1e-4, "{found} {expected}");
            }
        };
        close(drawn.share_interval(1, 0.25), [0.1114, 0.3886]);
        close(drawn.share_interval(1, 0.1), [0.0, 0.2386]);
        close(drawn.share_interval(1, 0.95), [0.8114, 1.0]);
        close(drawn.share_interval(0, 0.6), [0.6, 0.6]);
        assert_eq!(drawn.share_interval(1, f64::NAN), None);
        assert_eq!(drawn.share_interval(2, 0.5), None, "no such band");
        assert_eq!(Drawn::laid(1, &[], &[]).share_interval(0, 0.5), None, "one draw has no spread");
    }
}
