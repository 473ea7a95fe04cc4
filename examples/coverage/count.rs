//! How often intervals held the truth.

use super::made_up::walk::Truth;
use perchline::adjustment::path::{Geometry, Path};
use perchline::maths::quantity::Turn;
use perchline::measures::metrics::{METRICS, Metric, Shape, Subject, Values, measure};
use perchline::results::{Analysis, MetricRow};

/// Of the trails for which a metric is defined in truth.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Count {
    /// How many have an interval.
    pub(crate) with_interval: usize,
    /// How many of these hold the truth.
    pub(crate) held: usize,
    /// How many have no value at all.
    pub(crate) blank: usize,
}

impl Count {
    /// The share of intervals that held, in per cent; none where fewer than one trail in ten has one.
    pub(crate) fn percent(self, trails: usize) -> Option<f64> {
        let enough = self.with_interval > 0 && self.with_interval * 10 >= trails;
        enough.then(|| 100.0 * self.held as f64 / self.with_interval as f64)
    }
}

/// One count a metric, in the order of [`METRICS`]; `truths` in the order of the trails.
pub(crate) fn counted(analysis: &Analysis, truths: &[Truth]) -> Vec<Count> {
    let mut counts = vec![Count::default(); METRICS.len()];
    for (path, truth) in analysis.paths.iter().zip(truths) {
        let values = true_values(analysis, path, truth);
        for row in analysis.trails[path.trail].metrics.iter().filter(|row| row.part == 0) {
            let value = values[row.metric.at()];
            if value.is_finite() {
                add(&mut counts[row.metric.at()], row, value);
            }
        }
    }
    counts
}

fn add(count: &mut Count, row: &MetricRow, truth: f64) {
    count.blank += usize::from(row.measured.is_none());
    let interval = row.measured.and_then(|measured| measured.interval);
    // Certain: a path that no noise could bring near the ground.
    let Some([low, high]) = interval.filter(|[low, high]| low < high) else { return };
    let angle = row.metric.entry().unit == "degree";
    let truth = if angle { Turn::from_radians(truth).to_degrees() } else { truth };
    let turns = if angle { [-360.0, 0.0, 360.0].as_slice() } else { &[0.0] };
    let holds = turns.iter().any(|turn| (low..=high).contains(&(truth + turn)));
    count.with_interval += 1;
    count.held += usize::from(holds);
}

/// The metrics of the true path.
fn true_values(analysis: &Analysis, path: &Path, truth: &Truth) -> Values {
    let geometry = Geometry { points: truth.places.clone(), heights: truth.heights.clone() };
    let above = analysis.survey.settings.above_ground_m();
    let lines = path.legs.iter().filter(|leg| leg.counted).filter_map(|leg| leg.line);
    let variances: Vec<f64> =
        lines.map(|line| analysis.adjusted.line_covariances[line].m33).collect();
    let mean = variances.iter().sum::<f64>() / variances.len() as f64;
    let subject = Subject::new(path, &path.legs, 0, above).with(2.0 * mean.sqrt(), 1.0, false);
    let mut values = measure(&subject, &Shape::of(&subject, &geometry));
    values[Metric::TapedLength.at()] = values[Metric::PathLength.at()];
    values
}
