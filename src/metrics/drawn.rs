//! What the draws of one subject gave.

use super::bend::Bend;
use super::catalogue::{COUNT, METRICS, Metric};
use super::formulas::{Scratch, measure_with};
use super::level;
use super::shape::Shape;
use super::subject::Subject;
use crate::adjust::draws::Origin;
use crate::quantity::Lanes;
use crate::statistics::interval::Z95;
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
