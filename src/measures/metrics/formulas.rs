//! All formulas applied to one shape: the value of each metric.
//!
//! In: a [`Subject`] and a [`Shape`] of it. Out: [`Values`], one for each metric of the catalogue,
//! not a number where it is undefined. The formulas themselves stand in one file a subject.
//! Left out: what rests on rows and times (`rates`), and on whole distributions of draws
//! (`estimate`).

use super::catalogue::{COUNT, Metric};
use super::shape::Shape;
use super::subject::Subject;
use super::{climb, height, hull, length, space, tortuosity, turning};
use crate::adjustment::path::equal_steps;
use crate::adjustment::path::moving_steps::{MovingSteps, moving_steps};
use crate::adjustment::path::strata::LengthByHeight;
use crate::maths::quantity::{Number, norm};

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
    let [up, down] = climb::thresholded(shape, subject.threshold);
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
    let [p, b] = length::horizontal_steps(shape);
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

/// What rests on equal steps in plan, and the slower extended metrics: for the estimate only.
fn stepped(subject: &Subject, shape: &Shape<'_>, v: &mut Values) {
    let points = &shape.points[shape.visited()];
    let plan: Vec<[f64; 2]> = points.iter().map(|p| [p[0], p[1]]).collect();
    if let Some(steps) = moving_steps(&plan, subject.step) {
        let MovingSteps { mean_chord, variation, turns, length } = steps;
        let cos = turns.mean_cos().unwrap_or(f64::NAN);
        let sinuosity = tortuosity::sinuosity(mean_chord, cos, variation);
        v[Metric::SinuosityStepped.at()] = sinuosity.unwrap_or(f64::NAN);
        v[Metric::TurnResultantStepped.at()] = turns.resultant().unwrap_or(f64::NAN);
        // Each step of the path is as long as its chord in the stepped one.
        let stepped = length * mean_chord / subject.step;
        let net = v[Metric::NetDisplacementHorizontal.at()];
        v[Metric::StraightnessStepped.at()] = net / stepped;
    }
    if subject.extended {
        extended(subject, shape, v);
    }
}

fn extended(subject: &Subject, shape: &Shape<'_>, v: &mut Values) {
    let points = &shape.points[shape.visited()];
    let plan: Vec<[f64; 2]> = points.iter().map(|p| [p[0], p[1]]).collect();
    let span = space::largest_span(points);
    let level: Vec<[f64; 3]> = plan.iter().map(|&[e, n]| [e, n, 0.0]).collect();
    let half = space::largest_span(&level) / 2.0;
    let dimension = equal_steps::dimension(&plan, subject.step, half);
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
