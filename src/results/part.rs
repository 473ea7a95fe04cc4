//! One part of a trail on its way to rows: values, bounds, and the reasons for what is blank.

use super::shortfall::{Traits, shortfall};
use super::subjects::PartSubject;
use super::trail::{MetricRow, StratumShare};
use crate::adjustment::common::Common;
use crate::adjustment::network::Network;
use crate::adjustment::network::undirected::{undirected, undirected_words};
use crate::adjustment::path::bouts::count_above;
use crate::adjustment::path::sections::Section;
use crate::adjustment::path::strata::{LengthByHeight, stretches};
use crate::adjustment::path::{Leg, Path, Point};
use crate::maths::quantity::Turn;
use crate::maths::statistics::interval::Z95;
use crate::measures::metrics::{
    Bound, Drawn, METRICS, Measured, Metric, Needs, Rule, Times, measured,
};
use crate::survey::Survey;
use std::borrow::Cow;
use std::collections::BTreeSet;

/// Why nothing is known of a trail whose part of the network did not settle.
const UNSETTLED: &str = "the adjustment did not settle: perchline check names the leg";

/// Why a path has no divider dimension.
const NO_DIMENSION: &str =
    "no divider dimension between 1 and 2: the path is too short, or not alike at all scales";

/// A path that ends no further than this from its start, in plan, leads nowhere, metres.
const NOWHERE_M: f64 = 1e-6;

/// One part of a trail on its way to rows.
pub(super) struct Part<'a> {
    pub(super) survey: &'a Survey,
    pub(super) network: &'a Network,
    pub(super) common: &'a Common,
    pub(super) path: &'a Path,
    pub(super) which: usize,
    pub(super) subject: Option<&'a PartSubject>,
    pub(super) extended: bool,
    pub(super) times: &'a Times,
    pub(super) sections: &'a [Section],
    pub(super) traits: &'a Traits,
}

impl Part<'_> {
    fn legs(&self) -> &[Leg] {
        let first = self.subject.map_or(0, |subject| subject.first_leg);
        &self.path.legs[first..]
    }

    pub(super) fn metrics(&self, drawn: &Drawn) -> Vec<MetricRow> {
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
        let undefined = || self.undefined(metric, value).map(Cow::Borrowed);
        let blank = self.blank(metric).or_else(undefined);
        let bound = match entry.bound {
            Bound::Open => false,
            Bound::Total => self.path.cut_short || self.path.has_gap,
            Bound::Greatest => self.path.cut_short || self.path.has_gap || self.path.out_of_reach,
            Bound::Reach => self.path.out_of_reach,
        };
        let reason = match &blank {
            Some(reason) => reason.to_string(),
            None if entry.rule == Rule::None => self.remark(metric),
            None if value.interval.is_none() && undrawn => "no interval without draws".to_owned(),
            None if value.interval.is_none() => "too uncertain for an interval".to_owned(),
            None => shortfall(self.traits, metric, &value),
        };
        let measured = blank.is_none().then(|| degrees_where_needed(metric, value));
        let at_least = bound && measured.is_some();
        MetricRow { metric, part: self.which, measured, at_least, reason }
    }

    /// Why a metric has no value on this path, whatever its geometry.
    fn blank(&self, metric: Metric) -> Option<Cow<'static, str>> {
        self.without_times(metric).map(Cow::Borrowed).or_else(|| self.without_plan(metric))
    }

    /// The same, for want of what the trails table may say.
    fn without_times(&self, metric: Metric) -> Option<&'static str> {
        match metric {
            Metric::RatePerHour | Metric::RatePerNight | Metric::NetPerNight
                if self.times.ended_before_found =>
            {
                Some("the thread ended before the animal was found")
            }
            Metric::TrackedHours | Metric::RatePerHour if self.times.hours.is_none() => {
                Some("needs start and end time")
            }
            Metric::ThreadRatio if self.times.thread.is_none() => {
                Some("needs thread_m, or bobbin weights and thread_g_per_m")
            }
            _ => None,
        }
    }

    /// The same, for want of shape or orientation.
    fn without_plan(&self, metric: Metric) -> Option<Cow<'static, str>> {
        let (layout, whole) = (&self.path.layout, self.path.whole);
        match metric.entry().needs {
            Needs::Nothing => None,
            _ if !layout.has_plan() => Some(self.needs_directions()),
            Needs::Plan => None,
            _ if !whole => Some("the trail is in two pieces".into()),
            Needs::Direction if !layout.is_oriented() => Some(self.needs_north().into()),
            Needs::Whole | Needs::Direction => None,
        }
    }

    /// What a plan needs, and how many legs lack it where others have it.
    fn needs_directions(&self) -> Cow<'static, str> {
        const NEEDS: &str = "needs bearings or turning angles";
        let trail = &self.network.trails[self.path.trail];
        let legs = self.path.legs.iter().filter(|leg| leg.line.is_some()).count();
        let some = undirected(self.network, trail).count() < legs;
        let words = undirected_words(self.survey, self.network, trail).filter(|_| some);
        words.map_or(NEEDS.into(), |words| format!("{NEEDS}: {words}").into())
    }

    /// What a north needs; two positions that lie too near each other give none.
    fn needs_north(&self) -> &'static str {
        let coarse = |point: &Point| self.network.too_coarse.contains(&point.node);
        if self.path.points.iter().any(coarse) {
            "needs one bearing, or two positions farther apart than they are uncertain by"
        } else {
            "needs one bearing, or two positions"
        }
    }

    fn undefined(&self, metric: Metric, value: Measured) -> Option<&'static str> {
        let moved = self.legs().iter().any(|leg| leg.counted);
        match value.value.is_finite() {
            // Where it lay still has a height; what it climbed to after the escape run has none.
            true if metric == Metric::HeightMax && self.which == 1 && !moved => Some("no movement"),
            true => None,
            false if !self.path.settled => Some(UNSETTLED),
            false if moved && metric == Metric::NetBearing => {
                Some("the path ends where it began, seen from above")
            }
            false if moved && metric == Metric::FractalDimension => Some(NO_DIMENSION),
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
        let away = all[Metric::NetDisplacementHorizontal.at()].value;
        let mut set = |metric: Metric, value: Measured| all[metric.at()] = value;
        // A night in one place has no direction, and must not pull at the mean of its animal.
        if away < NOWHERE_M {
            set(Metric::NetBearing, Measured::bare(f64::NAN));
        }
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

    /// Sum of the counted tapes, freed of what they have in common, and its standard deviation.
    fn taped(&self) -> (f64, f64) {
        let precision = &self.survey.settings.precision;
        let counted = self.legs().iter().filter(|leg| leg.counted);
        let lines = counted.filter_map(|leg| leg.line).map(|line| &self.network.lines[line]);
        let tapes = lines.clone().filter_map(|line| self.common.tape(line));
        let (sum, variance) = tapes.fold((0.0, 0.0), |(sum, variance), tape| {
            (sum + tape, variance + precision.tape(tape).powi(2))
        });
        (sum, (variance + self.common.variance_of_tapes(lines)).sqrt())
    }

    /// Bouts above the ground, different trees used there, and crossings between trees or plants.
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
        let crossings = self.legs().iter().filter(|leg| leg.counted && leg.support.crosses).count();
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

    pub(super) fn strata(&self, drawn: &Drawn) -> Vec<StratumShare> {
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
