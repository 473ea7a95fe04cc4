//! Which trails' intervals were measured to hold the truth in fewer or more than 92 to 98 of 100
//! made-up trails of their kind.
//!
//! In: a path and its survey. Out: the words for the row of a metric. The numbers are those of
//! `docs/accuracy.md`; what stands in none of [`CELLS`] held in 92 to 98.

use crate::adjustment::network::Certainty;
use crate::adjustment::path::{Geometry, Leg, LegClass, Path, Point};
use crate::maths::statistics::describe::median;
use crate::measures::metrics::{Measured, Metric};
use crate::survey::Survey;

/// Tried were 8, 15 and 40 anchors; these part them, half way by ratio: √(8 · 15), √(15 · 40).
const FEW: usize = 11;
const MANY: usize = 25;
/// Heights are coarse where their root mean squared standard deviation is more than this share of the
/// median leg. Common practice, no source: it parts the heights by eye from the others tried.
const COARSE: f64 = 0.2;
/// A leg that rises by this share of its length stands up; a trail with this share of such legs
/// climbs steep trunks.
const STANDS_UP: f64 = 0.9;
const STEEP: f64 = 0.2;

/// What of a trail makes intervals miss.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[expect(clippy::struct_excessive_bools, reason = "each is a separate fact of the trail")]
pub(super) struct Traits {
    anchors: usize,
    profile_only: bool,
    by_positions: bool,
    coarse_heights: bool,
    steep: bool,
}

/// What was measured of some metrics on one kind of trail.
struct Cell {
    metrics: &'static [Metric],
    when: fn(&Traits, &Measured) -> bool,
    /// The kind of trail, after "made-up trails".
    kind: &'static str,
    /// How many of 100 intervals held the truth.
    held: &'static str,
}

const CLIMBS: &[Metric] =
    &[Metric::Ascent, Metric::Descent, Metric::VerticalDistance, Metric::VerticalShare];
const THRESHOLDS: &[Metric] = &[Metric::AscentThreshold, Metric::DescentThreshold];
#[rustfmt::skip]
const CELLS: [Cell; 11] = [
    Cell { metrics: &[Metric::HorizontalLength], when: |of, _| of.profile_only && of.anchors > MANY, kind: "of 40 anchors with a profile only", held: "91" },
    Cell { metrics: CLIMBS, when: |of, _| of.coarse_heights, kind: "with heights as coarse as by eye", held: "77–91" },
    Cell { metrics: &[Metric::DailyHomeRange], when: |of, _| of.coarse_heights && of.anchors > MANY, kind: "of 40 anchors with heights as coarse as by eye", held: "89" },
    Cell { metrics: &[Metric::TurnResultant], when: |of, _| of.coarse_heights && of.anchors > MANY, kind: "of 40 anchors with heights as coarse as by eye", held: "92" },
    Cell { metrics: &[Metric::NetBearing], when: |of, _| of.coarse_heights && of.anchors < FEW, kind: "of 8 anchors with heights as coarse as by eye", held: "98" },
    Cell { metrics: &[Metric::HorizontalLength], when: |of, _| of.by_positions && of.anchors < FEW, kind: "of 8 anchors turned onto positions", held: "92" },
    Cell { metrics: CLIMBS, when: |of, _| of.steep, kind: "on steep trunks", held: "92–93" },
    Cell { metrics: THRESHOLDS, when: |of, _| of.steep, kind: "on steep trunks", held: "92–93" },
    Cell { metrics: THRESHOLDS, when: |_, own| reaches_zero(own), kind: "that stay level", held: "99" },
    Cell { metrics: &[Metric::Ascent, Metric::Descent], when: |of, _| of.is_plainly_long(), kind: "of 40 anchors", held: "98–99" },
    Cell { metrics: &[Metric::ElevationRange], when: |of, _| of.is_plainly_long(), kind: "of 40 anchors", held: "97–98" },
];

/// A share of exactly 0 or 1 cannot be missed on both sides.
const AT_THE_END: &str = "interval wider than need be where the share is 0 or 1 (docs/accuracy.md)";

impl Traits {
    pub(super) fn of(survey: &Survey, path: &Path, geometry: &Geometry) -> Self {
        Self {
            anchors: path.points.len(),
            profile_only: !path.layout.has_plan(),
            by_positions: path.layout.orientation == Certainty::Estimated,
            coarse_heights: has_coarse_heights(survey, path, geometry),
            steep: is_steep(path, geometry),
        }
    }

    /// Long, and of none of the kinds that hold less often.
    fn is_plainly_long(&self) -> bool {
        self.anchors > MANY && !self.profile_only && !self.coarse_heights && !self.steep
    }
}

/// Whether an interval holds the least that a climb can be.
fn reaches_zero(own: &Measured) -> bool {
    own.interval.is_some_and(|[low, _]| low <= 0.0)
}

/// Whether heights are uncertain by much against the legs between them.
fn has_coarse_heights(survey: &Survey, path: &Path, geometry: &Geometry) -> bool {
    let precision = &survey.settings.precision;
    let variance = |point: &Point| {
        let row = &survey.anchors[point.row];
        row.height.map(|height| precision.height(height.to_metres(), row.height_by).powi(2))
    };
    let variances: Vec<f64> = path.points.iter().filter_map(variance).collect();
    let legs: Vec<f64> = path.legs.iter().map(|leg| geometry.length(leg)).collect();
    let Some(leg) = median(&legs).filter(|_| !variances.is_empty()) else { return false };
    (variances.iter().sum::<f64>() / variances.len() as f64).sqrt() > COARSE * leg
}

/// Whether many of the legs stand up.
fn is_steep(path: &Path, geometry: &Geometry) -> bool {
    let stands = |leg: &&Leg| {
        let rise = geometry.along(leg)[2].abs();
        leg.class == LegClass::Plumb || rise >= STANDS_UP * geometry.length(leg)
    };
    let counted = || path.legs.iter().filter(|leg| leg.counted);
    counted().filter(stands).count() as f64 > STEEP * counted().count() as f64
}

/// What was measured of the interval of `metric` on such trails; blank where it holds as it should.
pub(super) fn shortfall(traits: &Traits, metric: Metric, own: &Measured) -> String {
    if metric == Metric::AboveGroundShare && (own.value <= 0.0 || own.value >= 1.0) {
        return AT_THE_END.to_owned();
    }
    let applies = |cell: &&Cell| cell.metrics.contains(&metric) && (cell.when)(traits, own);
    let words = |cell: &Cell| format!("{} of 100 made-up trails {}", cell.held, cell.kind);
    let found: Vec<String> = CELLS.iter().filter(applies).map(words).collect();
    if found.is_empty() {
        return String::new();
    }
    format!("95 % intervals held the truth in {} (docs/accuracy.md)", found.join(", in "))
}
