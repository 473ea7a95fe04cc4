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
    pub(super) saying: Saying,
}

/// How a difference is put.
#[derive(Clone, Copy)]
pub(super) enum Saying {
    /// One group does it so many times as the other: what is done, and as what.
    Times(&'static str, &'static str),
    /// Both values side by side: what is done, and what follows the value.
    Values(&'static str, &'static str),
}

/// The questions of a study: how far, how high, how much up there.
pub(super) const HEADLINES: [Headline; 8] = [
    Headline {
        metric: Metric::PathLength,
        name: "path length",
        part: 0,
        saying: Saying::Times("moved", "far along the thread"),
    },
    Headline {
        metric: Metric::RatePerNight,
        name: "path length a night",
        part: 0,
        saying: Saying::Times("moved", "far along the thread a night"),
    },
    Headline {
        metric: Metric::NetDisplacement,
        name: "net displacement",
        part: 0,
        saying: Saying::Times("ended", "far from the release"),
    },
    Headline {
        metric: Metric::Straightness,
        name: "straightness",
        part: 1,
        saying: Saying::Times("went", "straight after the escape run"),
    },
    Headline {
        metric: Metric::HeightMax,
        name: "greatest height",
        part: 1,
        saying: Saying::Values("reached", "above ground after the escape run"),
    },
    Headline {
        metric: Metric::HeightMean,
        name: "mean height",
        part: 1,
        saying: Saying::Values("kept at", "above ground on average after the escape run"),
    },
    Headline {
        metric: Metric::AboveGroundShare,
        name: "share above ground",
        part: 1,
        saying: Saying::Values("spent", "of their path above ground after the escape run"),
    },
    Headline {
        metric: Metric::ClimbsPer100m,
        name: "climbs per 100 m",
        part: 1,
        saying: Saying::Times("climbed", "often per 100 m after the escape run"),
    },
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
