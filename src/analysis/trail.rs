//! What is measured on one trail, whole and after its escape run.

use super::drawing::DrawnTrail;
use crate::adjust::Adjusted;
use crate::metrics::{
    Bound, Drawn, METRICS, Measured, Metric, Needs, Noise, Rule, Shape, Subject, Times, Values,
    measure, measured,
};
use crate::network::Network;
use crate::path::bouts::{Bout, bouts, count_above};
use crate::path::sections::{Section, sections};
use crate::path::strata::{LengthByHeight, stretches};
use crate::path::{Geometry, Leg, Path};
use crate::quantity::Turn;
use crate::statistics::describe;
use crate::statistics::interval::Z95;
use crate::support::visits::{PathUse, Stage, used};
use crate::survey::Survey;
use std::collections::BTreeSet;

/// Why nothing is known of a trail whose part of the network did not settle.
const UNSETTLED: &str = "the adjustment did not settle: perchline check names the leg";

/// The names of the two parts of a path.
pub const PART_NAMES: [&str; 2] = ["whole", "after_escape"];

/// One part of a trail, ready to be measured.
#[derive(Debug)]
pub(super) struct PartSubject {
    pub(super) subject: Subject,
    geometry: Geometry,
    values: Values,
    /// Index of its first leg.
    first_leg: usize,
}

impl PartSubject {
    pub(super) fn estimate(&self) -> Shape<'_> {
        Shape::of(&self.subject, &self.geometry)
    }
}

/// Both parts of a trail; the second only where there is an escape run that something follows.
#[derive(Debug)]
pub(super) struct TrailSubjects {
    pub(super) parts: [Option<PartSubject>; 2],
    /// Whether the extended metrics are wanted.
    extended: bool,
}

impl TrailSubjects {
    /// Shapes to be moved from draw to draw; a part that is missing borrows the whole.
    pub(super) fn shapes(&self) -> [Shape<'_>; 2] {
        let empty = || Shape {
            legs: &[],
            plumb: &[],
            follows: &[],
            start: 0,
            range: 0..0,
            points: self.points(),
            heights: vec![0.0; self.points().len()],
            lengths: Vec::new(),
            runs: Vec::new(),
            rises: Vec::new(),
            courses: Vec::new(),
        };
        [0, 1].map(|which| self.parts[which].as_ref().map_or_else(empty, PartSubject::estimate))
    }

    /// The estimates that draws deviate from; none for a part that is the whole again.
    pub(super) fn estimates(&self) -> [Option<Shape<'_>>; 2] {
        let drawn_itself = |which: usize| which == 0 || !self.has_one_part();
        [0, 1].map(|which| {
            let part = self.parts[which].as_ref().filter(|_| drawn_itself(which));
            part.map(PartSubject::estimate)
        })
    }

    /// Whether nothing is left out as escape run, so that both parts are one.
    pub(super) fn has_one_part(&self) -> bool {
        self.parts[1].as_ref().is_some_and(|part| part.first_leg == 0)
    }

    fn points(&self) -> Vec<[f64; 3]> {
        self.parts[0].as_ref().map_or_else(Vec::new, |part| part.geometry.points.clone())
    }
}

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

/// The legs of a part, its first leg and the point it starts at.
fn part_of(path: &Path, which: usize) -> Option<(&[Leg], usize, usize)> {
    if which == 0 {
        return Some((&path.legs, 0, 0));
    }
    let first = path.legs.iter().take_while(|leg| leg.escape).count();
    if first == 0 {
        return Some((&path.legs, 0, 0)); // no escape run: nothing to leave out
    }
    path.legs.get(first).map(|leg| (&path.legs[first..], first, leg.from))
}

/// A trail's parts, with the estimate of everything that follows from geometry.
pub(super) fn subjects(
    survey: &Survey,
    path: &Path,
    adjusted: &Adjusted,
    extended: bool,
) -> TrailSubjects {
    let above = survey.settings.above_ground_m();
    let build = |which| {
        let (legs, first_leg, start) = part_of(path, which)?;
        if path.points.is_empty() || !path.settled {
            return None;
        }
        let geometry = Geometry::adjusted(path, adjusted);
        let threshold = reversal_threshold(legs, adjusted);
        let step = step_of(survey, legs, &geometry);
        let edges = survey.settings.strata_edges_m.clone();
        let subject = Subject::new(path, legs, start, above)
            .with(threshold, step, extended)
            .with_edges(edges)
            .with_noise(&geometry, &noise(path, legs, adjusted));
        let values = measure(&subject, &Shape::of(&subject, &geometry));
        Some(PartSubject { subject, geometry, values, first_leg })
    };
    TrailSubjects { parts: [build(0), build(1)], extended }
}

/// How well rises, heights and elevations are known; nothing of it where nothing was adjusted.
fn noise(path: &Path, legs: &[Leg], adjusted: &Adjusted) -> Noise {
    let counted = || legs.iter().filter(|leg| leg.counted);
    let rise = |leg: &Leg| {
        let covariance = leg.line.and_then(|line| adjusted.line_covariances.get(line));
        covariance.map_or(0.0, |covariance| covariance.m33.max(0.0).sqrt())
    };
    let height = |point: usize| &adjusted.heights[path.points[point].node];
    let read = |leg: &Leg| 0.5 * (height(leg.from).follows + height(leg.to).follows);
    let elevation = |point: usize| {
        let covariance = adjusted.covariances.get(path.points[point].node);
        covariance.map_or(0.0, |covariance| covariance.m33.max(0.0).sqrt())
    };
    Noise {
        rises: counted().map(rise).collect(),
        read: counted().map(read).collect(),
        heights: (0..path.points.len()).map(|point| height(point).sd).collect(),
        elevations: (0..path.points.len()).map(elevation).collect(),
    }
}

/// Twice the root mean square of the standard deviations of the rises, metres.
fn reversal_threshold(legs: &[Leg], adjusted: &Adjusted) -> f64 {
    let lines = legs.iter().filter(|leg| leg.counted).filter_map(|leg| leg.line);
    let variances: Vec<f64> =
        lines.filter_map(|line| adjusted.line_covariances.get(line)).map(|c| c.m33).collect();
    describe::mean(&variances).map_or(0.0, |variance| 2.0 * variance.max(0.0).sqrt())
}

/// Step of the equally stepped path: stated, else the median counted leg.
fn step_of(survey: &Survey, legs: &[Leg], geometry: &Geometry) -> f64 {
    let length = |leg: &Leg| {
        let [e, n, u] = geometry.along(leg);
        e.hypot(n).hypot(u)
    };
    let lengths: Vec<f64> = legs.iter().filter(|leg| leg.counted).map(length).collect();
    survey.settings.step_m.or_else(|| describe::median(&lengths)).unwrap_or(f64::NAN)
}

/// Everything measured on one trail.
pub(super) fn result(
    survey: &Survey,
    network: &Network,
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
    let mut metrics = Vec::new();
    let mut strata = [Vec::new(), Vec::new()];
    for (which, subject) in subjects.parts.iter().enumerate() {
        let part = Part {
            survey,
            network,
            path,
            which,
            subject: subject.as_ref(),
            extended: subjects.extended,
            times: &times,
            sections: &sections,
        };
        let drawn = &drawn[if subjects.has_one_part() { 0 } else { which }];
        metrics.extend(part.metrics(drawn));
        strata[which] = part.strata(drawn);
    }
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

/// One part of a trail on its way to rows.
struct Part<'a> {
    survey: &'a Survey,
    network: &'a Network,
    path: &'a Path,
    which: usize,
    subject: Option<&'a PartSubject>,
    extended: bool,
    times: &'a Times,
    sections: &'a [Section],
}

impl Part<'_> {
    fn legs(&self) -> &[Leg] {
        let first = self.subject.map_or(0, |subject| subject.first_leg);
        &self.path.legs[first..]
    }

    fn metrics(&self, drawn: &Drawn) -> Vec<MetricRow> {
        let by_geometry = match self.subject {
            Some(part) => Some(measured(&part.subject, &part.estimate(), &part.values, drawn)),
            // What rests on tapes and times alone is known all the same.
            None if !self.path.settled && self.which == 0 => {
                Some([Measured::bare(f64::NAN); METRICS.len()])
            }
            None => None,
        };
        let all = by_geometry.map(|mut all| {
            self.add_rows(&mut all);
            all
        });
        METRICS
            .iter()
            .filter(|entry| self.extended || !entry.extended)
            .map(|entry| match &all {
                Some(all) => self.row(entry.metric, all[entry.metric.at()], drawn.is_empty()),
                None => MetricRow {
                    metric: entry.metric,
                    part: self.which,
                    measured: None,
                    at_least: false,
                    reason: self.missing_part().to_owned(),
                },
            })
            .collect()
    }

    /// Why there is nothing to measure on this part.
    fn missing_part(&self) -> &'static str {
        if self.path.settled { "nothing follows the escape run" } else { UNSETTLED }
    }

    /// A row: the value, or why there is none.
    fn row(&self, metric: Metric, value: Measured, undrawn: bool) -> MetricRow {
        let entry = metric.entry();
        let blank = self.blank(metric).or_else(|| self.undefined(value));
        let bound = match entry.bound {
            Bound::Open => false,
            Bound::Total => self.path.cut_short || self.path.has_gap,
            Bound::Height => self.path.cut_short || self.path.has_gap || self.path.out_of_reach,
        };
        let reason = match &blank {
            Some(reason) => (*reason).to_owned(),
            None if entry.rule == Rule::None => self.remark(metric),
            None if value.interval.is_none() && undrawn => "no interval without draws".to_owned(),
            None if value.interval.is_none() => "too uncertain for an interval".to_owned(),
            None => shortfall(metric).to_owned(),
        };
        let measured = blank.is_none().then(|| degrees_where_needed(metric, value));
        let at_least = bound && measured.is_some();
        MetricRow { metric, part: self.which, measured, at_least, reason }
    }

    /// Why a metric has no value on this path, whatever its geometry.
    fn blank(&self, metric: Metric) -> Option<&'static str> {
        let needs = metric.entry().needs;
        let (plan, whole) = (self.path.has_plan, self.path.whole);
        match metric {
            Metric::RatePerHour | Metric::RatePerNight | Metric::NetPerNight
                if self.times.ended_before_found =>
            {
                return Some("the thread ended before the animal was found");
            }
            Metric::TrackedHours | Metric::RatePerHour if self.times.hours.is_none() => {
                return Some("needs start and end time");
            }
            Metric::ThreadRatio if self.times.thread.is_none() => {
                return Some("needs thread_m, or bobbin weights and thread_g_per_m");
            }
            _ => {}
        }
        match needs {
            Needs::Nothing => None,
            _ if !plan => Some("needs bearings"),
            Needs::Plan => None,
            _ if !whole => Some("the trail is in two pieces"),
            Needs::Direction if !self.path.oriented => Some("needs one bearing"),
            Needs::Whole | Needs::Direction => None,
        }
    }

    fn undefined(&self, value: Measured) -> Option<&'static str> {
        let moved = self.legs().iter().any(|leg| leg.counted);
        match value.value.is_finite() {
            true => None,
            false if !self.path.settled => Some(UNSETTLED),
            false if moved => Some("not defined for so few or so straight legs"),
            false => Some("no movement"),
        }
    }

    /// What must be known of a metric without interval.
    fn remark(&self, metric: Metric) -> String {
        match metric {
            Metric::AscentRaw | Metric::DescentRaw => {
                "biased upward by noise: see ascent and descent".to_owned()
            }
            Metric::SinuosityStepped
            | Metric::TurnResultantStepped
            | Metric::StraightnessStepped => {
                let step = self.subject.map_or(f64::NAN, |part| part.subject.step());
                let rule = self.survey.settings.marked_when.as_deref();
                let rule = rule.unwrap_or("not stated in survey.toml");
                format!("step {step:.2} m; anchors marked: {rule}")
            }
            _ => String::new(),
        }
    }

    /// Metrics that rest on rows, times and tapes rather than on geometry alone.
    fn add_rows(&self, all: &mut [Measured]) {
        let mut set = |metric: Metric, value: Measured| all[metric.at()] = value;
        let (taped, sd) = self.taped();
        let interval = Some([taped - Z95 * sd, taped + Z95 * sd]);
        set(Metric::TapedLength, Measured { value: taped, se: Some(sd), interval });
        let counted = self.legs().iter().filter(|leg| leg.counted).count();
        set(Metric::Legs, Measured::bare(counted as f64));
        let length = all[Metric::PathLength.at()];
        let net = all[Metric::NetDisplacement.at()];
        let mut set = |metric: Metric, value: Measured| all[metric.at()] = value;
        let hundreds = length.value / 100.0;
        let [climbs, trees, crossings] = self.arboreal();
        set(Metric::Bouts, Measured::bare(climbs));
        set(Metric::ClimbsPer100m, Measured::bare(climbs / hundreds));
        set(Metric::Trees, Measured::bare(trees));
        set(Metric::TreesPer100m, Measured::bare(trees / hundreds));
        set(Metric::Crossings, Measured::bare(crossings));
        let (hours, nights) =
            (self.times.hours.unwrap_or(f64::NAN), self.times.nights.unwrap_or(f64::NAN));
        set(Metric::TrackedHours, Measured::bare(hours));
        set(Metric::Nights, Measured::bare(nights));
        set(Metric::RatePerHour, length.over(hours));
        set(Metric::RatePerNight, length.over(nights));
        set(Metric::NetPerNight, net.over(nights));
        set(Metric::NightsActiveShare, Measured::bare(self.active_share(nights)));
        let thread = self.times.thread.unwrap_or(f64::NAN);
        let whole: f64 = self.path.legs.iter().filter_map(|leg| self.tape(leg)).sum();
        set(Metric::ThreadRatio, Measured::bare(thread / whole));
    }

    fn tape(&self, leg: &Leg) -> Option<f64> {
        leg.line.and_then(|line| self.network.lines[line].tape)
    }

    /// Sum of the counted tapes, and its standard deviation.
    fn taped(&self) -> (f64, f64) {
        let precision = &self.survey.settings.precision;
        let tapes = self.legs().iter().filter(|leg| leg.counted).filter_map(|leg| self.tape(leg));
        let (sum, variance) = tapes.fold((0.0, 0.0), |(sum, variance), tape| {
            (sum + tape, variance + precision.tape(tape).powi(2))
        });
        (sum, variance.sqrt())
    }

    /// Bouts above the ground, different trees used there, and crossings between trees.
    fn arboreal(&self) -> [f64; 3] {
        let above = self.survey.settings.above_ground_m();
        let Some(part) = self.subject else { return [f64::NAN; 3] };
        let heights = &part.geometry.heights;
        let tree = |point: usize| {
            let tree = self.survey.anchors[self.path.points[point].row].tree;
            tree.filter(|_| heights[point] >= above)
        };
        let climbs = count_above(self.legs(), heights, above);
        let used: BTreeSet<_> =
            self.legs().iter().flat_map(|leg| [tree(leg.from), tree(leg.to)]).flatten().collect();
        let crosses = |leg: &&Leg| match (tree(leg.from), tree(leg.to)) {
            (Some(a), Some(b)) => a != b,
            _ => false,
        };
        let crossings = self.legs().iter().filter(crosses).count();
        [climbs as f64, used.len() as f64, crossings as f64]
    }

    /// Nights with any movement over nights; sections without legs did not move.
    fn active_share(&self, nights: f64) -> f64 {
        let length = |section: &&Section| {
            section.legs(self.path).iter().filter_map(|leg| self.tape(leg)).sum::<f64>() > 0.0
        };
        let active = self.sections.iter().filter(length).count() as f64;
        (active / nights.max(self.sections.len() as f64)).min(1.0)
    }

    fn strata(&self, drawn: &Drawn) -> Vec<StratumShare> {
        let Some(part) = self.subject else { return Vec::new() };
        let spread: LengthByHeight = stretches(&part.geometry, self.legs()).collect();
        let metres: Vec<f64> = spread.by_stratum(&self.survey.settings.strata_edges_m).collect();
        let total: f64 = metres.iter().sum();
        let of = |(at, &length): (usize, &f64)| {
            let share = length / total;
            StratumShare { length, share, interval: drawn.share_interval(at, share) }
        };
        metres.iter().enumerate().map(of).collect()
    }
}

/// Where a metric's interval misses 95 % on made-up trails, as `docs/accuracy.md` shows.
fn shortfall(metric: Metric) -> &'static str {
    match metric {
        Metric::Ascent | Metric::Descent | Metric::VerticalDistance | Metric::VerticalShare => {
            "interval a little too narrow on steep trunks (docs/accuracy.md)"
        }
        Metric::AscentThreshold | Metric::DescentThreshold => {
            "interval wider than need be while level, a little too narrow on steep trunks \
             (docs/accuracy.md)"
        }
        Metric::AboveGroundShare => {
            "interval wider than need be where the share is 0 or 1 (docs/accuracy.md)"
        }
        Metric::HorizontalLength | Metric::IntensityOfUse | Metric::TurnResultant => {
            "interval a little wider than need be (docs/accuracy.md)"
        }
        _ => "",
    }
}

/// Directions leave the formulas in radians and reach the tables in degrees.
fn degrees_where_needed(metric: Metric, measured: Measured) -> Measured {
    if metric.entry().unit != "degree" {
        return measured;
    }
    let degrees = |radians: f64| Turn::from_radians(radians).to_degrees();
    let mut value = degrees(measured.value);
    let mut interval = measured.interval.map(|interval| interval.map(degrees));
    if metric == Metric::NetBearing && value < 0.0 {
        value += 360.0;
        interval = interval.map(|interval| interval.map(|end| end + 360.0));
    }
    Measured { value, se: measured.se.map(degrees), interval }
}
