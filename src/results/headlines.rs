//! The questions of a study: the metrics that an answer speaks of, and how a difference in each is put.
//! The questions of one factor are one family of tests.

use super::comparison::MetricTest;
use crate::measures::compare::TestRow;
use crate::measures::metrics::Metric;

/// A metric that the answer speaks of, in which part, and how.
#[derive(Clone, Copy)]
pub(in crate::results) struct Headline {
    pub(in crate::results) metric: Metric,
    name: &'static str,
    pub(in crate::results) part: usize,
    /// What an animal did, before the value and after it.
    pub(in crate::results) did: [&'static str; 2],
}

const fn headline(
    metric: Metric,
    part: usize,
    name: &'static str,
    did: [&'static str; 2],
) -> Headline {
    Headline { metric, name, part, did }
}

/// The questions of a study: how far, how high, how much up there.
pub(in crate::results) const HEADLINES: [Headline; 8] = [
    headline(Metric::PathLength, 0, "path length", ["moved", "along the thread"]),
    headline(Metric::RatePerNight, 0, "path length a night", ["moved", "along the thread a night"]),
    headline(Metric::NetDisplacement, 0, "net displacement", ["ended", "from the release"]),
    headline(
        Metric::Straightness,
        1,
        "straightness",
        ["had a straightness of", "after the escape run"],
    ),
    headline(
        Metric::HeightMax,
        1,
        "greatest height",
        ["reached", "above ground after the escape run"],
    ),
    headline(
        Metric::HeightMean,
        1,
        "mean height",
        ["kept at", "above ground on average after the escape run"],
    ),
    headline(
        Metric::AboveGroundShare,
        1,
        "share above ground",
        ["spent", "of their path above ground after the escape run"],
    ),
    headline(
        Metric::ClimbsPer100m,
        1,
        "climbs per 100 m",
        ["climbed", "times per 100 m after the escape run"],
    ),
];

/// The metrics and parts that the answer speaks of.
pub fn headlines() -> impl Iterator<Item = (Metric, usize)> {
    HEADLINES.iter().map(|headline| (headline.metric, headline.part))
}

impl Headline {
    /// What is compared, as a sentence names it.
    pub(in crate::results) fn words(&self) -> String {
        let name = self.name;
        if self.part == 0 { name.into() } else { format!("{name} after the escape run") }
    }

    /// The first of these tests of this metric by or against a factor.
    pub(in crate::results) fn test<'a>(
        &self,
        tests: &'a [MetricTest],
        factor: &str,
        names: &[&str],
    ) -> Option<&'a TestRow> {
        let own = |test: &&MetricTest| {
            test.metric == self.metric.entry().name
                && test.part == self.part
                && test.factor == factor
        };
        let named = |name: &&str| tests.iter().filter(own).find(|test| test.row.test == *name);
        names.iter().find_map(named).map(|test| &test.row)
    }

    /// The row of one test of this metric by or against a factor, to be filled in.
    pub(in crate::results) fn row<'a>(
        &self,
        tests: &'a mut [MetricTest],
        factor: &str,
        name: &str,
    ) -> Option<&'a mut TestRow> {
        let own = |test: &&mut MetricTest| {
            test.metric == self.metric.entry().name
                && test.part == self.part
                && test.factor == factor
                && test.row.test == name
        };
        tests.iter_mut().find(own).map(|test| &mut test.row)
    }
}
