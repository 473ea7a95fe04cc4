//! The parts of each trail, laid out to be measured, the same for estimate and draws.

use crate::adjustment::Adjusted;
use crate::adjustment::path::{Geometry, Leg, LegClass, Path};
use crate::maths::quantity::Lanes;
use crate::maths::statistics::describe;
use crate::measures::metrics::{Noise, Shape, Subject, Values, measure};
use crate::survey::Survey;

/// One part of a trail, ready to be measured.
#[derive(Debug)]
pub(super) struct PartSubject {
    pub(super) subject: Subject,
    pub(super) geometry: Geometry,
    pub(super) values: Values,
    /// Index of its first leg.
    pub(super) first_leg: usize,
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
    pub(super) extended: bool,
}

impl TrailSubjects {
    /// Shapes to be moved from draw to draw; a part that is missing borrows the whole.
    pub(super) fn shapes(&self) -> [Shape<'_, Lanes>; 2] {
        let empty = || Shape {
            legs: &[],
            plumb: &[],
            steep: &[],
            turned: &[],
            follows: &[],
            start: 0,
            range: 0..0,
            points: vec![[Lanes::default(); 3]; self.count()],
            heights: vec![Lanes::default(); self.count()],
            lengths: Vec::new(),
            runs: Vec::new(),
            rises: Vec::new(),
            courses: Vec::new(),
        };
        [0, 1].map(|which| match &self.parts[which] {
            Some(part) => part.estimate().in_lanes(),
            None => empty(),
        })
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

    /// How many points the path has.
    fn count(&self) -> usize {
        self.parts[0].as_ref().map_or(0, |part| part.geometry.points.len())
    }
}

/// The legs of a part, its first leg and the point it starts at.
pub(super) fn part_of(path: &Path, which: usize) -> Option<(&[Leg], usize, usize)> {
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
    let elevation = |point: usize| {
        let covariance = adjusted.covariances.get(path.points[point].node);
        covariance.map_or(0.0, |covariance| covariance.m33.max(0.0).sqrt())
    };
    Noise {
        rises: counted().map(rise).collect(),
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

/// One equal step in plan: stated, else the median run of the counted legs that do not stand plumb.
fn step_of(survey: &Survey, legs: &[Leg], geometry: &Geometry) -> f64 {
    let legs = legs.iter().filter(|leg| leg.counted && leg.class != LegClass::Plumb);
    let run = |leg: &Leg| {
        let [east, north, _] = geometry.along(leg);
        east.hypot(north)
    };
    let runs: Vec<f64> = legs.map(run).collect();
    survey.settings.step_m.or_else(|| describe::median(&runs)).unwrap_or(f64::NAN)
}
