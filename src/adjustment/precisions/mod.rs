//! How precise the readings of a study were, from its own residuals.
//!
//! In: a network, the precisions stated and the ground. Out: [`Precisions`]: for each kind of
//! reading, and for each observer where there are several, the factor between the standard deviation
//! that the readings show and the one stated, with a 95 % interval. Variance components by residuals
//! and redundancy numbers: a precision is scaled until the squares of its readings come to their
//! redundancy, all kinds together, with the whole adjustment anew each time. The variance of a
//! bearing has a part that does not scale, how well anchors are found again, and that of a height one
//! of the ground; each reading then counts by the share w of its variance that the precision makes:
//!
//! ```text
//! Σ w ( v²/σ² − r ) = 0        step: factor² ← factor² ( Σ w v²/σ² / Σ w r )^1.5
//! ```
//! which is the restricted likelihood's own equation. Readings that stand out at the precision so
//! found are slips and left out. Left out too: errors that all readings of an instrument share
//! (`common`), which are taken off first, and words for a reader.
//! Source: [`Source::Forstner1979`](crate::survey::sources::Source::Forstner1979),
//! [`Source::Patterson1971`](crate::survey::sources::Source::Patterson1971).

mod graded;
mod rounds;
mod slips;

use super::Adjusted;
use super::common::MOST_OBSERVERS;
use crate::adjustment::network::Network;
use crate::maths::ground::Ground;
use crate::maths::statistics::interval::{chi_square_point, chi_square_upper};
use crate::survey::names::Name;
use crate::survey::settings::Precision;
use std::collections::BTreeMap;

pub use graded::Graded;
use graded::Scatter;
use rounds::{Rounds, settle};

/// With fewer degrees of freedom at the precisions stated nothing is told: the interval would reach over
/// a factor of more than three.
pub const LEAST_FREEDOM: f64 = 5.0;

/// What readings show of one precision.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Whose precision.
    pub graded: Graded,
    /// Whose readings; `None` for all of them together.
    pub observer: Option<Name>,
    /// How many readings.
    pub readings: usize,
    /// How many more stood out as slips.
    pub left_out: usize,
    /// Sum of their redundancy, each by the share of its variance that this precision makes.
    pub redundancy: f64,
    /// Degrees of freedom: less than the redundancy where kinds of readings check each other and
    /// cannot be told apart.
    pub freedom: f64,
    /// What the stated standard deviation must be multiplied by; `None` where too little tells.
    pub factor: Option<Factor>,
}

/// What a stated standard deviation must be multiplied by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factor {
    /// The estimate.
    pub value: f64,
    /// The ends of its 95 % interval.
    pub interval: [f64; 2],
    /// The chance of an estimate as far from 1, were the readings as precise as stated; two-sided.
    pub p_value: f64,
}

impl Estimate {
    /// The same with a factor, known by so many degrees of freedom.
    ///
    /// ```text
    /// factor √( f / χ²_f )
    /// ```
    pub(super) fn with(self, freedom: f64, value: f64) -> Self {
        let end = |chance: f64| value * (freedom / chi_square_point(chance, freedom)).sqrt();
        let above = chi_square_upper(freedom * value * value, freedom);
        let factor = Factor {
            value,
            interval: [end(0.025), end(0.975)],
            p_value: (2.0 * above.min(1.0 - above)).min(1.0),
        };
        Self { freedom, factor: (freedom > 0.0).then_some(factor), ..self }
    }
}

/// What a study shows of its precisions.
#[derive(Clone, Debug, Default)]
pub struct Precisions {
    /// Kind by kind: all readings, then each observer's where there are several.
    pub estimates: Vec<Estimate>,
    /// Whether the estimates had settled; a large network is adjusted only once.
    pub settled: bool,
}

/// Estimates every precision from the trails that are `shown`; `adjusted` says where they lie at the
/// precisions stated.
pub fn precisions(
    network: &Network,
    precision: &Precision,
    ground: &Ground,
    adjusted: &Adjusted,
    shown: &[bool],
) -> Precisions {
    let rounds = settle(network, precision, ground, (shown, &adjusted.positions));
    let settled = rounds.settled;
    let mut estimates = Vec::new();
    for graded in Graded::ALL {
        let Some(whole) = of_kind(&rounds, graded) else { continue };
        estimates.push(whole);
        estimates.extend(of_observers(&rounds, &whole));
    }
    Precisions { estimates, settled }
}

/// All readings of a kind; `None` where there are none.
fn of_kind(rounds: &Rounds, graded: Graded) -> Option<Estimate> {
    let at = graded.at();
    let scatter = &rounds.scatters[at];
    let left_out = rounds.left_out_of(graded, None);
    let any = scatter.readings > 0;
    let estimate = Estimate {
        graded,
        observer: None,
        readings: scatter.readings,
        left_out,
        redundancy: scatter.redundancy,
        freedom: rounds.stated_freedom[at],
        factor: None,
    };
    let tells = rounds.open[at] && rounds.stated_freedom[at] >= LEAST_FREEDOM;
    let estimate =
        if tells { estimate.with(rounds.freedom[at], rounds.factors[at]) } else { estimate };
    any.then_some(estimate)
}

/// The readings of each observer, where several are named: in the adjustment of all, whose weights
/// are those of the kind as a whole.
fn of_observers(rounds: &Rounds, whole: &Estimate) -> Vec<Estimate> {
    let graded = whole.graded;
    let of_kind = rounds.by_observer.iter().filter(|((kind, _), _)| *kind == graded);
    let by: BTreeMap<Name, &Scatter> =
        of_kind.filter_map(|((_, by), scatter)| by.map(|by| (by, scatter))).collect();
    if whole.factor.is_none() || by.len() < 2 || by.len() > MOST_OBSERVERS {
        return Vec::new();
    }
    let all = rounds.scatters[graded.at()].information.max(f64::MIN_POSITIVE);
    let one = |(observer, scatter): (Name, &Scatter)| {
        let freedom = scatter.information * (whole.freedom / all).min(1.0);
        let estimate = Estimate {
            observer: Some(observer),
            readings: scatter.readings,
            left_out: rounds.left_out_of(graded, Some(observer)),
            redundancy: scatter.redundancy,
            freedom,
            factor: None,
            graded,
        };
        let factor = rounds.factors[graded.at()] * scatter.ratio().sqrt();
        if freedom < LEAST_FREEDOM { estimate } else { estimate.with(freedom, factor) }
    };
    by.into_iter().map(one).collect()
}
