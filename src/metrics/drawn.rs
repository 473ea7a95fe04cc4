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

#[cfg(test)]
impl Drawn {
    /// Draws of nothing but what is given, by origin: a column and its draws. Every other column of
    /// that origin holds zeros.
    pub(super) fn laid(read: &[(usize, &[f64])], stated: &[(usize, &[f64])]) -> Self {
        let columns = [read, stated].map(|given| {
            let (Some((_, draws)), Some(last)) = (given.first(), given.iter().map(|g| g.0).max())
            else {
                return Vec::new();
            };
            let mut columns = vec![vec![0.0; draws.len()]; (last + 1).max(COUNT + level::LEVELLED)];
            given.iter().for_each(|&(at, draws)| columns[at] = draws.to_vec());
            columns
        });
        let count = columns.iter().filter_map(|origin| origin.first()).map(Vec::len).sum();
        Self { columns, count, scratch: Scratch::default() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::path::LegClass;
    use crate::quantity::{LANES, Number};

    const ASCENT: usize = Metric::Ascent as usize;
    const BAND: usize = COUNT + level::LEVELLED;

    #[test]
    fn draws_are_kept_by_what_was_drawn() {
        let top = COUNT + level::TOP;
        let drawn = Drawn::laid(
            &[(Metric::TurnMean.at(), &[1.0, f64::NAN, 3.0]), (top, &[7.0, 8.0, 9.0])],
            &[(Metric::TurnMean.at(), &[4.0, 5.0])],
        );
        // Draws that have no value are left out.
        assert_eq!(*drawn.of(Metric::TurnMean, Origin::Read), [1.0, 3.0]);
        assert_eq!(*drawn.of(Metric::TurnMean, Origin::Stated), [4.0, 5.0]);
        assert_eq!(*drawn.of(Metric::Ascent, Origin::Read), [0.0; 3]);
        assert_eq!(drawn.levelled(level::TOP, Origin::Read), [7.0, 8.0, 9.0]);
        assert_eq!(drawn.levelled(level::TOP, Origin::Stated), [0.0; 2]);
        assert_eq!((drawn.len(), drawn.is_empty()), (5, false));
        let none = Drawn::default();
        assert_eq!((none.len(), none.is_empty()), (0, true));
        assert_eq!(*none.of(Metric::TurnMean, Origin::Read), [0.0; 0]);
        assert_eq!(none.levelled(level::TOP, Origin::Stated), [0.0; 0]);
    }

    #[test]
    fn draws_of_another_are_taken_over_after_the_own() {
        let mut own = Drawn::laid(&[(ASCENT, &[1.0, 2.0])], &[]);
        let mut other = Drawn::laid(&[(ASCENT, &[3.0, 4.0])], &[(ASCENT, &[5.0])]);
        own.append(&mut other);
        assert_eq!(*own.of(Metric::Ascent, Origin::Read), [1.0, 2.0, 3.0, 4.0]);
        assert_eq!(*own.of(Metric::Ascent, Origin::Stated), [5.0]);
        assert_eq!((own.len(), other.len()), (5, 0));
        let mut none = Drawn::default();
        none.append(&mut own);
        assert_eq!((none.len(), none.of(Metric::Ascent, Origin::Read).len()), (5, 4));
    }

    fn close(found: Option<[f64; 2]>, expected: [f64; 2]) {
        for (found, expected) in found.unwrap().iter().zip(expected) {
            assert!((found - expected).abs() < 1e-4, "{found} {expected}");
        }
    }

    /// Shares of 0.2 and 0.3 have the sd √0.005; 1.96 of it, 0.1386, on either side. Of 0.1 the readings
    /// have added 0.15, from 0.95 they have taken 0.7: what is left of it, and itself, lie inside.
    #[test]
    fn the_share_of_a_band_lies_between_nothing_and_all() {
        let drawn = Drawn::laid(&[(BAND, &[0.6, 0.6]), (BAND + 1, &[0.2, 0.3])], &[]);
        close(drawn.share_interval(1, 0.25), [0.1114, 0.3886]);
        close(drawn.share_interval(1, 0.1), [0.0, 0.1]);
        close(drawn.share_interval(1, 0.95), [0.95, 1.0]);
        close(drawn.share_interval(1, 0.35), [0.3114, 0.5886]);
        close(drawn.share_interval(0, 0.6), [0.6, 0.6]);
        assert_eq!(drawn.share_interval(1, f64::NAN), None);
        assert_eq!(drawn.share_interval(2, 0.5), None, "no such band");
        let one = Drawn::laid(&[(BAND, &[0.5])], &[]);
        assert_eq!(one.share_interval(0, 0.5), None, "one draw has no spread");
    }

    /// What is stated adds 0.1 that the estimate lacks, and its own spread: √0.01, 0.196.
    #[test]
    fn the_share_of_a_band_gains_what_is_stated() {
        let drawn = Drawn::laid(&[(BAND, &[0.2, 0.3])], &[(BAND, &[0.3, 0.4])]);
        close(drawn.share_interval(0, 0.25), [0.1540, 0.5460]);
    }

    /// A leg of 1 m that climbs to 1 m beside it, moved by 0, 0.1 … 0.7 m in the lanes, of which three
    /// count: lengths and the share below 0.5 m follow.
    #[test]
    fn as_many_lanes_are_taken_as_are_asked_for() {
        let points = [[0.0; 3], [0.0, 0.0, 1.0]];
        let subject = Subject::laid(&[[0, 1]], &[LegClass::Measured])
            .with_edges(vec![0.5])
            .without_noise(&points);
        let estimate = Shape::laid(&subject, &points);
        let mut shape = estimate.in_lanes();
        let lift = Lanes::lanes(|lane| 1.0 + lane as f64 / 10.0);
        (shape.points[1][2], shape.heights[1]) = (lift, lift);
        let mut drawn = Drawn::default();
        drawn.push(&subject, &mut shape.clone(), &estimate, (Origin::Stated, 3));
        assert_eq!((drawn.len(), drawn.of(Metric::Ascent, Origin::Read).len()), (3, 0));
        drawn.push(&subject, &mut shape, &estimate, (Origin::Stated, LANES));
        assert_eq!(drawn.len(), 3 + LANES);
        let lengths = drawn.of(Metric::PathLength, Origin::Stated);
        for (found, expected) in lengths.iter().zip([1.0, 1.1, 1.2, 1.0, 1.1, 1.2, 1.3]) {
            assert!((found - expected).abs() < 1e-12, "{lengths:?}");
        }
        let lifts = drawn.levelled(level::ASCENT, Origin::Stated);
        assert_eq!(lifts.len(), 3 + LANES);
        assert!((lifts[2] - 1.2).abs() < 1e-12);
        let below = drawn.column(Origin::Stated, BAND);
        assert!((below[2] - 0.5 / 1.2).abs() < 1e-12, "{below:?}");
        assert!((drawn.column(Origin::Stated, BAND + 1)[2] - 0.7 / 1.2).abs() < 1e-12);
    }
}
