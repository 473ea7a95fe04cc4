//! The metrics that an answer speaks of, and how a difference in each is put.

use crate::analysis::comparison::MetricTest;
use crate::compare::TestRow;
use crate::metrics::Metric;

/// A metric that the answer speaks of, in which part, and how.
#[derive(Clone, Copy)]
pub(super) struct Headline {
    pub(super) metric: Metric,
    name: &'static str,
    pub(super) part: usize,
    /// What an animal did, before the value and after it.
    pub(super) did: [&'static str; 2],
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
pub(super) const HEADLINES: [Headline; 8] = [
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
    pub(super) fn words(&self) -> String {
        let name = self.name;
        if self.part == 0 { name.into() } else { format!("{name} after the escape run") }
    }

    /// The first of these tests of this metric by or against a factor.
    pub(super) fn test<'a>(
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
}
