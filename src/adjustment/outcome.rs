//! What the adjustment of a whole network gives.

use super::closure::Closure;
use super::common::Common;
use super::draws::Sampler;
use super::heights::AdjustedHeight;
use super::observation::Kind;
use crate::adjustment::network::traverse::Traverse;
use crate::maths::statistics::interval::chi_square_upper;
use nalgebra::Matrix3;

/// How positions are found.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Method {
    /// Weighted nonlinear least squares.
    #[default]
    LeastSquares,
    /// Least squares by Huber's weights: see [`super::robust`].
    Robust,
    /// The compass rule: see [`super::compass_rule`].
    CompassRule,
    /// The raw traverse, unadjusted.
    None,
}

impl Method {
    /// The name on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::LeastSquares => "least-squares",
            Self::Robust => "robust",
            Self::CompassRule => "compass-rule",
            Self::None => "none",
        }
    }

    /// All of them, the usual one first.
    pub const ALL: [Self; 4] = [Self::LeastSquares, Self::Robust, Self::CompassRule, Self::None];

    /// Whether it tells how well positions are known.
    pub const fn has_covariance(self) -> bool {
        matches!(self, Self::LeastSquares | Self::Robust)
    }
}

/// One reading against the adjusted network.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residual {
    /// The line it was read along, if it was.
    pub line: Option<usize>,
    /// The node it was read at, if it was.
    pub node: Option<usize>,
    /// What was read.
    pub kind: Kind,
    /// The reading, metres or radians; bearings true.
    pub observed: f64,
    /// Adjusted minus observed, metres or radians.
    pub residual: f64,
    /// One standard deviation of the reading, metres or radians.
    pub sd: f64,
    /// Share of it that other readings check.
    pub redundancy: f64,
    /// Residual over its own standard deviation.
    pub standardised: Option<f64>,
    /// The smallest slip in it that would be found, metres or radians.
    pub detectable: Option<f64>,
    /// Whether the model assumed it, to have a firm minimum.
    pub assumed: bool,
}

/// The global test of one connected part.
#[derive(Clone, Debug)]
pub struct Fit {
    /// Its trails, by index.
    pub trails: Vec<usize>,
    /// Sum of squared residuals over their standard deviations; assumed readings left out.
    pub statistic: f64,
    /// How many readings more than were needed, as far as they check each other: not whole where
    /// the model had to assume some.
    pub degrees_of_freedom: f64,
    /// The chance of a sum this large, were there no slip; `None` without any redundancy.
    pub p_value: Option<f64>,
    /// Steps of the iteration.
    pub steps: usize,
}

impl Fit {
    /// The same where the sum of squares has so many degrees of freedom less.
    pub(super) fn free(&mut self, taken: f64) {
        if let Some(p_value) = &mut self.p_value {
            self.degrees_of_freedom -= taken;
            *p_value = chi_square_upper(self.statistic, self.degrees_of_freedom);
        }
    }
}

/// A part that did not settle: nothing is known of its positions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unsettled {
    /// Its trails, by index.
    pub trails: Vec<usize>,
    /// The line that still moved most.
    pub line: usize,
}

/// Where a part's nodes are found in its draws.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its nodes, ascending; a draw counts them from 0.
    pub nodes: Vec<usize>,
    /// Draws its paths.
    pub sampler: Sampler,
}

/// The network adjusted.
#[derive(Clone, Debug, Default)]
pub struct Adjusted {
    /// East, north and up of each node, metres; not a number in a part that did not settle, here
    /// and below.
    pub positions: Vec<[f64; 3]>,
    /// Their covariances, metres²; empty without an adjustment.
    pub covariances: Vec<Matrix3<f64>>,
    /// Covariance of the vector along each line, metres²; empty without an adjustment.
    pub line_covariances: Vec<Matrix3<f64>>,
    /// The common errors of the instruments, as far as the readings tell them.
    pub common: Common,
    /// Heights above ground.
    pub heights: Vec<AdjustedHeight>,
    /// Every reading, part by part: lines in order, turns, then points.
    pub residuals: Vec<Residual>,
    /// The global test of each part that has a line.
    pub fits: Vec<Fit>,
    /// The parts that did not settle.
    pub unsettled: Vec<Unsettled>,
    /// Every closure; of the readings alone, so that a part need not settle.
    pub closures: Vec<Closure>,
    /// The raw traverse.
    pub raw: Traverse,
    /// What is needed to draw paths, part by part; empty where no draws are wanted.
    pub parts: Vec<Part>,
}
