//! What is measured on one trail, whole and after its escape run.

use super::drawing::DrawnTrail;
use super::part::Part;
use super::shortfall::Traits;
use super::subjects::{TrailSubjects, part_of};
use crate::adjustment::common::Common;
use crate::adjustment::network::Network;
use crate::adjustment::path::bouts::{Bout, bouts};
use crate::adjustment::path::sections::{Section, sections};
use crate::adjustment::path::{Geometry, Path};
use crate::measures::metrics::{Measured, Metric, Times};
use crate::measures::support::visits::{PathUse, Stage, used};
use crate::survey::Survey;

/// The names of the two parts of a path.
pub const PART_NAMES: [&str; 2] = ["whole", "after_escape"];

/// One row of `metrics.csv`.
#[derive(Clone, Debug)]
pub struct MetricRow {
    /// The metric.
    pub metric: Metric,
    /// 0 the whole path, 1 what follows the escape run.
    pub part: usize,
    /// Its value; `None` with a reason.
    pub measured: Option<Measured>,
    /// Whether the true value is at least this.
    pub at_least: bool,
    /// Why there is no value or no interval, or what else must be known of it.
    pub reason: String,
}

/// Everything measured on one trail.
#[derive(Debug)]
pub struct TrailResult {
    /// Its metrics, whole first.
    pub metrics: Vec<MetricRow>,
    /// Its sections.
    pub sections: Vec<Section>,
    /// Its bouts.
    pub bouts: Vec<Bout>,
    /// Its times.
    pub times: Times,
    /// Step of its equally stepped path, metres.
    pub step: f64,
    /// Its counted legs by part, with the geometry they have.
    pub geometry: Geometry,
    /// Metres in each stratum with their standard deviation, by part.
    pub strata: [Vec<StratumShare>; 2],
    /// What it used, by part; `None` where nothing follows the escape run.
    pub used: [Option<PathUse>; 2],
}

/// Metres of path in one stratum.
#[derive(Clone, Copy, Debug)]
pub struct StratumShare {
    /// Metres.
    pub length: f64,
    /// Share of the part.
    pub share: f64,
    /// 95 % interval of the share.
    pub interval: Option<[f64; 2]>,
}

impl TrailResult {
    /// A metric of the given part, where it has a value.
    pub fn value(&self, metric: Metric, part: usize) -> Option<&MetricRow> {
        let row = self.metrics.iter().find(|row| row.metric == metric && row.part == part)?;
        row.measured.map(|_| row)
    }
}

/// A part reaches no higher than the whole: what noise adds is taken off each by itself.
fn within_the_whole(metrics: &mut [MetricRow]) {
    let highest = |row: &&MetricRow| row.metric == Metric::HeightMax && row.part == 0;
    let Some(whole) = metrics.iter().find(highest).and_then(|row| row.measured) else { return };
    for row in metrics.iter_mut().filter(|row| row.metric == Metric::HeightMax && row.part > 0) {
        let least =
            |part: [f64; 2], whole: [f64; 2]| [part[0].min(whole[0]), part[1].min(whole[1])];
        row.measured = row.measured.map(|part| Measured {
            value: part.value.min(whole.value),
            interval: part.interval.zip(whole.interval).map(|(part, whole)| least(part, whole)),
            ..part
        });
    }
}

/// Everything measured on one trail.
pub(super) fn result(
    survey: &Survey,
    (network, common): (&Network, &Common),
    path: &Path,
    subjects: &TrailSubjects,
    drawn: &DrawnTrail,
) -> TrailResult {
    let sections = sections(path);
    let listed = network.trails[path.trail].listed.map(|at| &survey.trails[at]);
    let read = path.points.iter().rev().find_map(|point| survey.anchors[point.row].thread);
    let times = Times::of(survey, listed, sections.len(), read.map(|thread| thread.to_metres()));
    let geometry = subjects.parts[0].as_ref().map(|part| part.geometry.clone());
    let geometry = geometry.unwrap_or_else(|| Geometry::unknown(path));
    let traits = Traits::of(survey, path, &geometry);
    let mut metrics = Vec::new();
    let mut strata = [Vec::new(), Vec::new()];
    for (which, subject) in subjects.parts.iter().enumerate() {
        let part = Part {
            survey,
            network,
            common,
            path,
            which,
            subject: subject.as_ref(),
            extended: subjects.extended,
            times: &times,
            sections: &sections,
            traits: &traits,
        };
        let drawn = &drawn[if subjects.has_one_part() { 0 } else { which }];
        metrics.extend(part.metrics(drawn));
        strata[which] = part.strata(drawn);
    }
    within_the_whole(&mut metrics);
    let above = survey.settings.above_ground_m();
    let bouts = if path.settled { bouts(&path.legs, &geometry, above) } else { Vec::new() };
    let used = [0, 1].map(|which| {
        let (legs, _, start) = part_of(path, which).filter(|_| path.settled)?;
        let stage = Stage { survey, path, geometry: &geometry, legs, start };
        (!path.points.is_empty()).then(|| used(&stage))
    });
    let step = subjects.parts[0].as_ref().map_or(f64::NAN, |part| part.subject.step());
    TrailResult { metrics, sections, bouts, times, step, geometry, strata, used }
}
