//! One geometry of a path, laid out for the formulas, and all formulas applied to it.

use super::catalogue::{COUNT, Metric};
use super::level::{Level, Noise};
use super::{climb, height, hull, length, space, tortuosity, turning};
use crate::path::strata::LengthByHeight;
use crate::path::{Geometry, Leg, LegClass, Path, equal_steps};
use crate::quantity::{Lanes, Number, norm};
use crate::statistics::circular::MeanVector;
use crate::statistics::describe;
use std::ops::Range;

/// Why a leg's noise bends a sum: by what is stated, by what is measured, or not at all.
pub(super) const STATED: usize = 0;
/// See [`STATED`].
pub(super) const MEASURED: usize = 1;

/// A part of a path, the same for estimate and draws.
#[derive(Clone, Debug)]
pub struct Subject {
    /// The counted legs, as pairs of points.
    pub(super) legs: Vec<[usize; 2]>,
    /// How the geometry of each is known.
    pub(super) class: Vec<LegClass>,
    /// Whether each stands plumb.
    plumb: Vec<bool>,
    /// Whether each follows the one before without a gap.
    follows: Vec<bool>,
    /// Its points.
    pub(super) visited: Range<usize>,
    /// The same from west to east as far as known, which is near their order in each draw.
    eastward: Vec<usize>,
    /// Those at the corners of the estimate's outline, by place in `eastward`; closed.
    corners: Vec<usize>,
    /// The height above which the animal is off the ground, metres.
    above_m: f64,
    /// A reversal larger than this counts, metres.
    pub(super) threshold: f64,
    /// Step of the equally stepped path, metres.
    pub(super) step: f64,
    /// Whether the extended metrics are wanted.
    pub(super) extended: bool,
    /// Edges of the height bands, metres.
    pub(super) edges: Vec<f64>,
    /// Share of the variance of each leg's rise which readings have; the rest is rough ground.
    read: Vec<f64>,
    /// What may be level of it.
    pub(super) level: Level,
}

impl Subject {
    /// The part of `path` that `legs` make, starting at `start`.
    pub fn new(path: &Path, legs: &[Leg], start: usize, above_m: f64) -> Self {
        let counted: Vec<&Leg> = legs.iter().filter(|leg| leg.counted).collect();
        let node = |point: usize| path.points[point].node;
        let follows = |at: usize| at > 0 && node(counted[at].from) == node(counted[at - 1].to);
        Self {
            legs: counted.iter().map(|leg| [leg.from, leg.to]).collect(),
            class: counted.iter().map(|leg| leg.class).collect(),
            plumb: counted.iter().map(|leg| leg.class == LegClass::Plumb).collect(),
            follows: (0..counted.len()).map(follows).collect(),
            visited: start..path.points.len(),
            eastward: (start..path.points.len()).collect(),
            corners: Vec::new(),
            above_m,
            threshold: 0.0,
            step: f64::NAN,
            extended: false,
            edges: Vec::new(),
            read: vec![1.0; counted.len()],
            level: Level::default(),
        }
    }

    /// Sets how well its rises, heights and elevations are known at its `estimate`.
    #[must_use]
    pub fn with_noise(mut self, estimate: &Geometry, noise: &Noise) -> Self {
        self.read.clone_from(&noise.read);
        let east = |point: &usize| estimate.points[*point][0];
        self.eastward.sort_by(|a, b| east(a).total_cmp(&east(b)));
        let plan = |&point: &usize| [estimate.points[point][0], estimate.points[point][1]];
        self.corners = hull::corners(&self.eastward.iter().map(plan).collect::<Vec<_>>());
        self.level = Level::of(&self, &Shape::of(&self, estimate), noise);
        self
    }

    /// How far a measured leg carries noise already, as a share of what its draws show: noise of a
    /// reading is in the estimate, rough ground is in the truth instead.
    ///
    /// ```text
    /// reading: estimate = truth + noise      ground: truth = estimate + noise
    /// share of readings − share of ground = 2 read − 1
    /// ```
    pub(super) fn bent(&self, leg: usize) -> f64 {
        2.0 * self.read[leg] - 1.0
    }

    /// Sets the edges of the height bands, metres.
    #[must_use]
    pub fn with_edges(mut self, edges: Vec<f64>) -> Self {
        self.edges = edges;
        self
    }

    /// Step of the equally stepped path, metres.
    pub fn step(&self) -> f64 {
        self.step
    }

    /// Whether the extended metrics are wanted.
    pub fn is_extended(&self) -> bool {
        self.extended
    }

    /// Sets the reversal threshold, the step of the equally stepped path (metres), and whether the
    /// extended metrics are wanted.
    #[must_use]
    pub fn with(mut self, threshold: f64, step: f64, extended: bool) -> Self {
        (self.threshold, self.step, self.extended) = (threshold, step, extended);
        self
    }
}

/// One geometry of a subject, or that of several draws in lanes. In a draw the lengths, runs and rises are the retracted ones, which
/// keep to the tape; the points are as drawn.
#[derive(Clone, Debug)]
pub struct Shape<'a, N = f64> {
    /// The counted legs.
    pub legs: &'a [[usize; 2]],
    /// Whether each stands plumb.
    pub plumb: &'a [bool],
    /// Whether each follows the one before without a gap.
    pub follows: &'a [bool],
    /// The point it starts at.
    pub start: usize,
    /// The points of the part.
    pub range: Range<usize>,
    /// East, north, up of each point of the path, metres.
    pub points: Vec<[N; 3]>,
    /// Heights above ground, metres.
    pub heights: Vec<N>,
    /// Length of each counted leg, metres.
    pub lengths: Vec<N>,
    /// Its horizontal length, metres.
    pub runs: Vec<N>,
    /// Its rise, metres.
    pub rises: Vec<N>,
    /// East and north along it, for its direction in plan, metres.
    pub courses: Vec<[N; 2]>,
}

impl<'a> Shape<'a> {
    /// A subject as its geometry lies.
    pub fn of(subject: &'a Subject, geometry: &Geometry) -> Self {
        let mut shape = Self {
            legs: &subject.legs,
            plumb: &subject.plumb,
            follows: &subject.follows,
            start: subject.visited.start,
            range: subject.visited.clone(),
            points: geometry.points.clone(),
            heights: geometry.heights.clone(),
            lengths: Vec::new(),
            runs: Vec::new(),
            rises: Vec::new(),
            courses: Vec::new(),
        };
        for leg in 0..subject.legs.len() {
            let [e, n, u] = shape.along(leg);
            shape.lengths.push(norm([e, n, u]));
            shape.runs.push(norm([e, n]));
            shape.rises.push(u);
            shape.courses.push([e, n]);
        }
        shape
    }

    /// The same in every lane.
    pub fn in_lanes(&self) -> Shape<'a, Lanes> {
        let lanes = |numbers: &[f64]| numbers.iter().map(|&number| Lanes::of(number)).collect();
        Shape {
            legs: self.legs,
            plumb: self.plumb,
            follows: self.follows,
            start: self.start,
            range: self.range.clone(),
            points: self.points.iter().map(|point| point.map(Lanes::of)).collect(),
            heights: lanes(&self.heights),
            lengths: lanes(&self.lengths),
            runs: lanes(&self.runs),
            rises: lanes(&self.rises),
            courses: self.courses.iter().map(|course| course.map(Lanes::of)).collect(),
        }
    }
}

impl<N: Number> Shape<'_, N> {
    /// The vector along a counted leg, metres.
    pub fn along(&self, leg: usize) -> [N; 3] {
        let [a, b] = self.legs[leg].map(|point| self.points[point]);
        [b[0] - a[0], b[1] - a[1], b[2] - a[2]]
    }

    /// The points of the part.
    pub fn visited(&self) -> Range<usize> {
        self.range.clone()
    }

    /// Takes over a draw's `geometry`, and retracts each leg to the tape: it keeps its drawn
    /// azimuth and rise u, and its linearised length l = D + d · δ / D; a plumb leg keeps its run
    /// instead. Its direction in plan deviates by what lies across it alone: noise along a short run
    /// would turn it about. `estimate` is the shape that the draw deviates from.
    ///
    /// ```text
    /// run = √(l² − u²)     plumb: rise = ± √(l² − run²)     course = run₀ along, δ across
    /// ```
    pub fn retract(&mut self, estimate: &Shape<'_>) {
        let zero = N::of(0.0);
        for leg in 0..self.legs.len() {
            let [e, n, u] = self.along(leg);
            let [e0, n0, u0] = estimate.along(leg);
            let [de, dn, du] = [e - N::of(e0), n - N::of(n0), u - N::of(u0)];
            let long = estimate.lengths[leg];
            let ahead = de * N::of(e0) + dn * N::of(n0) + du * N::of(u0);
            let drawn = (N::of(long) + ahead / N::of(long)).max(zero);
            let length = if long > 0.0 { drawn } else { zero };
            self.lengths[leg] = length;
            self.courses[leg] = course([e0, n0], [de, dn]);
            if self.plumb[leg] {
                let run = norm([e, n]).min(length);
                self.runs[leg] = run;
                self.rises[leg] =
                    (length * length - run * run).map(|rise2| rise2.sqrt().copysign(u0));
            } else {
                self.runs[leg] = (length * length - u * u).max(zero).sqrt();
                self.rises[leg] = u;
            }
        }
    }
}

/// A course in plan with the part of a deviation that lies across it.
fn course<N: Number>([e, n]: [f64; 2], [de, dn]: [N; 2]) -> [N; 2] {
    let run2 = e * e + n * n;
    let [e, n, run2] = [e, n, if run2 > 0.0 { run2 } else { f64::INFINITY }].map(N::of);
    let across = (dn * e - de * n) / run2;
    [e - across * n, n + across * e]
}

/// Scratch space that formulas share from draw to draw.
#[derive(Debug)]
pub(super) struct Scratch<N> {
    sample: Vec<f64>,
    pub(super) spread: LengthByHeight<N>,
    quartiles: [N; 3],
    plan: Vec<[N; 2]>,
    outline: hull::Outline<N>,
}

impl<N: Number> Default for Scratch<N> {
    fn default() -> Self {
        Self {
            sample: Vec::new(),
            spread: LengthByHeight::default(),
            quartiles: [N::of(f64::NAN); 3],
            plan: Vec::new(),
            outline: hull::Outline::default(),
        }
    }
}

/// The values of all metrics of one shape; not a number where one is undefined. Those that rest on
/// rows, times or whole distributions of draws are left to others.
pub type Values<N = f64> = [N; COUNT];

/// All formulas applied to one shape.
pub fn measure(subject: &Subject, shape: &Shape<'_>) -> Values {
    let mut values = measure_with(subject, shape, &mut Scratch::default());
    values[Metric::TurnRayleighP.at()] = turning::in_plan(shape).mean(|turns| turns.rayleigh_p());
    stepped(subject, shape, &mut values);
    values
}

/// What is measured in estimate and draws alike.
pub(super) fn measure_with<N: Number>(
    subject: &Subject,
    shape: &Shape<'_, N>,
    scratch: &mut Scratch<N>,
) -> Values<N> {
    let mut v = [N::of(f64::NAN); COUNT];
    let mut set = |metric: Metric, value: N| v[metric.at()] = value;
    let (path, plan) = (length::path_length(shape), length::horizontal_length(shape));
    set(Metric::PathLength, path);
    set(Metric::HorizontalLength, plan);
    let (start, end) = (shape.points[shape.start], shape.points[shape.range.end - 1]);
    let net = space::distance(start, end);
    set(Metric::NetDisplacement, net);
    let (east, north) = (end[0] - start[0], end[1] - start[1]);
    set(Metric::NetDisplacementHorizontal, norm([east, north]));
    set(Metric::NetBearing, east.with(north, f64::atan2));
    set(Metric::MaxDistance, space::max_distance(shape));
    let (up, down) = (climb::ascent(shape), climb::descent(shape));
    set(Metric::Ascent, up);
    set(Metric::Descent, down);
    set(Metric::VerticalDistance, up + down);
    set(Metric::VerticalShare, (up + down) / path);
    let [up, down] = thresholded(subject, shape);
    set(Metric::AscentThreshold, up);
    set(Metric::DescentThreshold, down);
    let near = scratch.quartiles; // those of the draw before are not far off
    let heights = height::heights(shape, subject.above_m, near, &mut scratch.spread);
    scratch.quartiles = heights.quartiles;
    set(Metric::HeightMax, heights.max);
    set(Metric::HeightMean, heights.mean);
    set(Metric::HeightQ25, heights.quartiles[0]);
    set(Metric::HeightMedian, heights.quartiles[1]);
    set(Metric::HeightQ75, heights.quartiles[2]);
    set(Metric::AboveGroundShare, heights.above);
    set(Metric::ElevationRange, space::elevation_range(shape));
    set(Metric::Straightness, net / path);
    set(Metric::LengthToNet, path / net);
    scratch.plan.clear();
    scratch.plan.extend(subject.eastward.iter().map(|&point| {
        let [east, north, _] = shape.points[point];
        [east, north]
    }));
    let area = scratch.outline.area(&scratch.plan, &subject.corners);
    set(Metric::DailyHomeRange, area);
    set(Metric::IntensityOfUse, plan / area.sqrt());
    let [mean, median, sd] = length::steps(shape, &mut scratch.sample);
    set(Metric::StepMean, mean);
    set(Metric::StepMedian, median);
    set(Metric::StepSd, sd);
    set_turning(subject, shape, &mut v);
    if subject.extended {
        v[Metric::RadiusOfGyration.at()] = space::radius_of_gyration(shape);
        v[Metric::AreaToLength.at()] = area / plan;
    }
    v
}

/// What follows from the turns.
fn set_turning<N: Number>(subject: &Subject, shape: &Shape<'_, N>, v: &mut Values<N>) {
    let turns = turning::in_plan(shape);
    v[Metric::TurnMean.at()] = turns.mean(|turns| turns.direction());
    v[Metric::TurnResultant.at()] = turns.mean(|turns| turns.resultant());
    let [p, b] = horizontal_steps(shape);
    let of_lane = |formula: &dyn Fn(f64, f64, f64, f64) -> Option<f64>| {
        N::lanes(|lane| {
            let turns = turns.vector(lane);
            let mean = turns.mean_cos().zip(turns.mean_sin());
            let value = mean.and_then(|(c, s)| formula(p.lane(lane), c, s, b.lane(lane)));
            value.unwrap_or(f64::NAN)
        })
    };
    v[Metric::Sinuosity.at()] = of_lane(&|p, c, _, b| tortuosity::sinuosity(p, c, b));
    if subject.extended {
        v[Metric::SinuosityGeneral.at()] = of_lane(&tortuosity::sinuosity_general);
        let [n, angles, cosines] = turning::in_space(shape);
        v[Metric::Turn3dMean.at()] = angles / n;
        v[Metric::Turn3dResultant.at()] = cosines / n;
    }
}

/// Mean of the horizontal steps and their coefficient of variation (divisor n); plumb legs are no
/// horizontal steps.
fn horizontal_steps<N: Number>(shape: &Shape<'_, N>) -> [N; 2] {
    let steps = || shape.runs.iter().zip(shape.plumb).filter(|(_, plumb)| !**plumb).map(|s| *s.0);
    let n = N::of(steps().count() as f64);
    let mean = steps().fold(N::of(0.0), |sum, step| sum + step) / n;
    let variance = steps().fold(N::of(0.0), |sum, step| {
        let off = step - mean;
        sum + off * off
    }) / n;
    [mean, variance.sqrt() / mean]
}

/// Ascent and descent between reversals, over each stretch of legs that follow each other.
fn thresholded<N: Number>(subject: &Subject, shape: &Shape<'_, N>) -> [N; 2] {
    let mut sums = [N::of(0.0); 2];
    let mut first = 0;
    for leg in 1..=shape.legs.len() {
        if leg < shape.legs.len() && shape.follows[leg] {
            continue;
        }
        let ends = shape.legs[first..leg].iter().map(|&[_, to]| to);
        let points = shape.legs.get(first).map(|&[from, _]| from).into_iter().chain(ends);
        let elevations = points.map(|point| shape.points[point][2]);
        let [up, down] = climb::between_reversals(&elevations, subject.threshold);
        sums = [sums[0] + up, sums[1] + down];
        first = leg;
    }
    sums
}

/// Sums by class of leg: run, ascent and descent of stated legs, then of measured ones, as far as
/// their noise is in the estimate already.
pub(super) fn by_class<N: Number>(subject: &Subject, shape: &Shape<'_, N>) -> [[N; 3]; 2] {
    let zero = N::of(0.0);
    let mut sums = [[zero; 3]; 2];
    for (leg, class) in subject.class.iter().enumerate() {
        let (which, share) = match class {
            LegClass::Plumb => (STATED, 1.0),
            LegClass::Measured | LegClass::Steep => (MEASURED, subject.bent(leg)),
            LegClass::Unmeasured => continue,
        };
        let (rise, share) = (shape.rises[leg], N::of(share));
        let [run, up, down] = sums[which];
        let own = if *class == LegClass::Steep { zero } else { shape.runs[leg] };
        sums[which] =
            [run + share * own, up + share * rise.max(zero), down - share * rise.min(zero)];
    }
    sums
}

/// What rests on the equally stepped path, and the slower extended metrics: for the estimate only.
fn stepped(subject: &Subject, shape: &Shape<'_>, v: &mut Values) {
    let points = &shape.points[shape.visited()];
    let met = equal_steps::stepped(points, subject.step);
    if met.len() >= 4 {
        let azimuths = met.windows(2).map(|p| (p[1][0] - p[0][0]).atan2(p[1][1] - p[0][1]));
        let azimuths: Vec<f64> = azimuths.collect();
        let turns = azimuths.windows(2).map(|pair| pair[1] - pair[0]);
        let turns = MeanVector::of(turns);
        let run = |p: &[[f64; 3]]| (p[1][0] - p[0][0]).hypot(p[1][1] - p[0][1]);
        let runs: Vec<f64> = met.windows(2).map(run).collect();
        let mean = describe::mean(&runs).unwrap_or(f64::NAN);
        let spread = runs.iter().map(|run| (run - mean).powi(2)).sum::<f64>() / runs.len() as f64;
        let cos = turns.mean_cos().unwrap_or(f64::NAN);
        let sinuosity = tortuosity::sinuosity(mean, cos, spread.sqrt() / mean);
        v[Metric::SinuosityStepped.at()] = sinuosity.unwrap_or(f64::NAN);
        v[Metric::TurnResultantStepped.at()] = turns.resultant().unwrap_or(f64::NAN);
        let net = space::distance(met[0], met[met.len() - 1]);
        v[Metric::StraightnessStepped.at()] = net / (subject.step * (met.len() - 1) as f64);
    }
    if subject.extended {
        extended(subject, shape, v);
    }
}

fn extended(subject: &Subject, shape: &Shape<'_>, v: &mut Values) {
    let points = &shape.points[shape.visited()];
    let plan: Vec<[f64; 2]> = points.iter().map(|p| [p[0], p[1]]).collect();
    let span = space::largest_span(points);
    let dimension = equal_steps::dimension(&plan, subject.step, span / 2.0);
    v[Metric::FractalDimension.at()] = dimension.unwrap_or(f64::NAN);
    v[Metric::MsdSlope.at()] = tortuosity::msd_slope(&plan).unwrap_or(f64::NAN);
    v[Metric::LargestSpan.at()] = span;
    v[Metric::HullVolume.at()] = hull::hull_volume(points);
    let turns = turning::in_plan(shape).vector(0);
    let steps: Vec<f64> =
        shape.runs.iter().zip(shape.plumb).filter(|s| !s.1).map(|s| *s.0).collect();
    let n = steps.len() as f64;
    let moments = [steps.iter().sum::<f64>() / n, steps.iter().map(|s| s * s).sum::<f64>() / n];
    let direction = turns.mean_cos().zip(turns.mean_sin()).map_or([f64::NAN; 2], |(c, s)| [c, s]);
    let expected = tortuosity::expected_squared_net(steps.len(), moments, direction);
    let net = v[Metric::NetDisplacementHorizontal.at()];
    v[Metric::CrwDeviation.at()] = expected.map_or(f64::NAN, |expected| net * net / expected);
}
