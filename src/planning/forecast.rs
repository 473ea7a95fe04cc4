//! What a planned survey would tell: expected misclosure, the end point, and every metric's spread.
//!
//! The plan is laid out once, measured without error for what its instruments lead one to expect,
//! and then measured over and over with errors: the spread of a metric over these surveys is its
//! standard error, whatever the shape of its formula.

use super::dice::Dice;
use super::measure::Writing;
use super::plan::{PlannedLeg, laid_out};
use super::simulate::{Made, Wish, measured, settings_text};
use super::ties::tie_ends;
use super::truth::{Habit, Mark};
use crate::adjustment::network::build;
use crate::maths::quantity::Bearing;
use crate::measures::metrics::{METRICS, Metric};
use crate::results::progress::Progress;
use crate::results::{Analysis, Wanted, analyse};
use crate::survey::settings::Precision;
use nalgebra::{Matrix2, SymmetricEigen};

/// What is to be forecast.
#[derive(Clone, Debug)]
pub struct Planned {
    /// The planned legs of one trail.
    pub legs: Vec<PlannedLeg>,
    /// The numbers of ties to compare.
    pub ties: Vec<usize>,
    /// Whether each leg's incline is read too.
    pub clinometer: bool,
    /// The precisions of the instruments.
    pub precision: Precision,
    /// How many surveys are made up for each number of ties.
    pub surveys: usize,
    /// What the random numbers begin with.
    pub seed: u64,
}

/// The forecast for one number of ties.
#[derive(Clone, Debug)]
pub struct Variant {
    /// How many ties.
    pub ties: usize,
    /// Between which anchors, counted from 1.
    pub ends: Vec<[usize; 2]>,
    /// The expected misclosure of each, metres.
    pub expected: Vec<f64>,
    /// The end point from the release: semi-axes of its ellipse (one standard deviation), metres,
    /// and the bearing of the longer one, degrees.
    pub ellipse: [f64; 3],
    /// Standard deviation of its elevation, metres.
    pub sd_up: f64,
    /// Value as planned and standard error of each metric, in the order of [`METRICS`]; `None`
    /// where it is not defined.
    pub metrics: Vec<Option<[f64; 2]>>,
}

/// The forecast: one variant for each number of ties. `step` is called after every survey.
///
/// # Errors
/// A sentence that says why it cannot be answered.
pub fn forecast(question: &Planned, step: &mut dyn FnMut()) -> Result<Vec<Variant>, String> {
    let truth = laid_out(&question.legs, &mut Dice::new(question.seed, 0));
    question.ties.iter().map(|&ties| variant(question, &truth, ties, step)).collect()
}

fn variant(
    question: &Planned,
    truth: &[Mark],
    ties: usize,
    step: &mut dyn FnMut(),
) -> Result<Variant, String> {
    let wish = Wish {
        habit: Habit::Mixed,
        trails: 1,
        anchors: truth.len(),
        ties,
        slips: Vec::new(),
        clinometer: question.clinometer,
        precision: question.precision.clone(),
        writing: Writing::Fine,
        seed: question.seed,
    };
    let ends = tie_ends(truth, ties, &question.precision);
    if ends.len() < ties {
        return Err(format!(
            "no place for {ties} ties: they want anchors within 2 m of the ground, three or more \
             legs apart and at most 15 m away from each other"
        ));
    }
    let exact = surveyed(&wish, truth.to_vec(), &ends, &mut Dice::still())?;
    let mut sums = vec![Sums::default(); METRICS.len()];
    for survey in 0..question.surveys {
        let mut dice = Dice::new(question.seed, survey as u64 + 1);
        let rough = roughened(truth, question.precision.ground_m, &mut dice);
        // One survey in many may not settle; it tells nothing of the others.
        if let Ok(analysis) = surveyed(&wish, rough, &ends, &mut dice) {
            for (sum, entry) in sums.iter_mut().zip(METRICS) {
                sum.add(value(&analysis, entry.metric));
            }
        }
        step();
    }
    let last = exact.paths.first().and_then(|path| path.points.last()).map(|point| point.node);
    let covariance = last.and_then(|node| exact.adjusted.covariances.get(node).copied());
    let covariance = covariance.unwrap_or_default();
    let metrics = METRICS.iter().zip(&sums).map(|(entry, sum)| {
        let planned = value(&exact, entry.metric)?;
        Some([planned, sum.sd()?])
    });
    Ok(Variant {
        ties,
        ends: ends.iter().map(|ends| ends.map(|end| end + 1)).collect(),
        expected: exact.adjusted.closures.iter().map(|closure| closure.expected).collect(),
        ellipse: ellipse(covariance.fixed_view::<2, 2>(0, 0).into_owned()),
        sd_up: covariance.m33.max(0.0).sqrt(),
        metrics: metrics.collect(),
    })
}

/// The same path over ground that is rough: each anchor on the ground lies higher or lower.
fn roughened(truth: &[Mark], ground_m: f64, dice: &mut Dice) -> Vec<Mark> {
    let mut ground = 0.0;
    let mark = |mark: &Mark| {
        if mark.tree.is_none() {
            ground = dice.normal(ground_m);
        }
        let [east, north, _] = mark.at;
        Mark { at: [east, north, ground + mark.height], ..*mark }
    };
    truth.iter().map(mark).collect()
}

/// The plan surveyed once, adjusted and measured.
fn surveyed(
    wish: &Wish,
    truth: Vec<Mark>,
    ends: &[[usize; 2]],
    dice: &mut Dice,
) -> Result<Analysis, String> {
    let sheet = measured(wish, "plan".to_owned(), truth, ends, dice);
    let survey = Made { sheets: vec![sheet], settings: settings_text(wish) }.survey();
    let network = build(&survey);
    let wanted = Wanted { draws: 0, ..Wanted::default() };
    analyse(survey, network, wanted, &Progress::default())
        .map_err(|_| "the planned survey does not settle: its legs are too awkward".to_owned())
}

fn value(analysis: &Analysis, metric: Metric) -> Option<f64> {
    let row = analysis.trails.first()?.value(metric, 0)?;
    row.measured.map(|measured| measured.value).filter(|value| value.is_finite())
}

/// Semi-axes, the longer first, and the bearing of the longer one, degrees in 0 to 180.
fn ellipse(covariance: Matrix2<f64>) -> [f64; 3] {
    let eigen = SymmetricEigen::new(covariance);
    let longer = usize::from(eigen.eigenvalues[1] > eigen.eigenvalues[0]);
    let axis = eigen.eigenvectors.column(longer);
    let sd = |at: usize| eigen.eigenvalues[at].max(0.0).sqrt();
    let bearing = Bearing::from_radians(axis[0].atan2(axis[1])).to_degrees();
    [sd(longer), sd(1 - longer), bearing.rem_euclid(180.0)]
}

/// Sums of a metric over surveys, about its first value.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    first: Option<f64>,
    count: f64,
    sum: f64,
    squares: f64,
}

impl Sums {
    fn add(&mut self, value: Option<f64>) {
        let Some(value) = value else { return };
        let off = value - *self.first.get_or_insert(value);
        self.count += 1.0;
        self.sum += off;
        self.squares += off * off;
    }

    fn sd(self) -> Option<f64> {
        let spread = (self.squares - self.sum * self.sum / self.count) / (self.count - 1.0);
        (self.count > 1.0).then(|| spread.max(0.0).sqrt())
    }
}
