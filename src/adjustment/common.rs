//! Common errors: what is off in an observer's instrument for a whole study, and in all its readings
//! alike.
//!
//! A tape or a height rule that reads too long by a share s, a needle that is off by an angle b, is
//! one unknown for each observer, with the standard deviation that the settings state and a mean of
//! nothing. Loops, ties and positions tell of it what they can.

use crate::adjustment::network::{Line, Network};
use crate::maths::quantity::Turn;
use crate::survey::names::Name;
use crate::survey::settings::Precision;
use nalgebra::{DMatrix, DVector, Matrix3, Vector3};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::iter;

/// What reads too much.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Instrument {
    /// The tape: read = true (1 + s).
    Tape,
    /// The compass: read = true + b.
    Compass,
    /// What heights are read by: read = true (1 + s).
    Height,
}

impl Instrument {
    /// Its name in results.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tape => "tape_scale",
            Self::Compass => "bearing_deg",
            Self::Height => "height_scale",
        }
    }

    /// The standard deviation stated for it: a share, or radians; 0 for none.
    fn stated(self, precision: &Precision) -> f64 {
        match self {
            Self::Tape => precision.common.tape_scale,
            Self::Compass => Turn::from_degrees(precision.common.bearing_deg).to_radians(),
            Self::Height => precision.common.height_scale,
        }
    }
}

/// One common error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unknown {
    /// What reads too much.
    pub instrument: Instrument,
    /// Whose it is; `None` where no observer is recorded.
    pub observer: Option<Name>,
    /// The standard deviation stated for it, a share or radians.
    pub stated: f64,
    /// How much too much, as far as the readings tell.
    pub value: f64,
    /// The standard deviation that is left of it.
    pub sd: f64,
}

impl Unknown {
    /// Whether readings tell more of it than the settings do.
    pub fn is_told(&self) -> bool {
        self.sd < TOLD * self.stated
    }
}

/// Readings tell of an unknown where they leave less than this share of its standard deviation.
const TOLD: f64 = 0.7;
/// A column that names more observers than this names something else: then one unknown of each kind
/// stands for all, and the equations stay small.
pub(super) const MOST_OBSERVERS: usize = 12;

/// Every common error of a study.
#[derive(Clone, Debug, Default)]
pub struct Common {
    /// Sorted by instrument, then by observer.
    pub unknowns: Vec<Unknown>,
    /// Whether observers are too many to be told apart.
    merged: bool,
    /// What is left unknown: the lower Cholesky factor of the covariance of them all.
    root: DMatrix<f64>,
}

/// What the readings of one part say of its unknowns, all positions eliminated: the cost about the
/// present values is 2 pull · δ + δᵀ information δ.
#[derive(Clone, Debug)]
pub(super) struct Evidence {
    /// The unknowns, by place in [`Common::unknowns`].
    pub(super) unknowns: Vec<usize>,
    pub(super) information: DMatrix<f64>,
    pub(super) pull: DVector<f64>,
}

impl Common {
    /// The common errors that the settings allow for and that some reading has.
    pub(super) fn of(network: &Network, precision: &Precision) -> Self {
        let mut found: BTreeSet<(Instrument, Option<Name>)> = BTreeSet::new();
        for line in &network.lines {
            found.extend(line.tape.map(|_| (Instrument::Tape, line.observer)));
            found.extend(line.needle().map(|_| (Instrument::Compass, line.observer)));
        }
        found.extend(network.heights.iter().map(|read| (Instrument::Height, read.observer)));
        found.retain(|(instrument, _)| instrument.stated(precision) > 0.0);
        let observers: BTreeSet<Option<Name>> = found.iter().map(|(_, by)| *by).collect();
        let merged = observers.len() > MOST_OBSERVERS;
        if merged {
            found = found.into_iter().map(|(instrument, _)| (instrument, None)).collect();
        }
        let unknown = |(instrument, observer): (Instrument, Option<Name>)| {
            let stated = instrument.stated(precision);
            Unknown { instrument, observer, stated, value: 0.0, sd: stated }
        };
        let unknowns: Vec<Unknown> = found.into_iter().map(unknown).collect();
        let stated = DVector::from_iterator(unknowns.len(), unknowns.iter().map(|u| u.stated));
        Self { root: DMatrix::from_diagonal(&stated), unknowns, merged }
    }

    /// Whether none is allowed for.
    pub fn is_empty(&self) -> bool {
        self.unknowns.is_empty()
    }

    /// The unknown of an observer's instrument.
    pub(super) fn at(&self, instrument: Instrument, observer: Option<Name>) -> Option<usize> {
        let key = (instrument, observer.filter(|_| !self.merged));
        self.unknowns.binary_search_by_key(&key, |u| (u.instrument, u.observer)).ok()
    }

    fn value(&self, instrument: Instrument, observer: Option<Name>) -> f64 {
        self.at(instrument, observer).map_or(0.0, |at| self.unknowns[at].value)
    }

    /// The network with its readings freed of the common errors as they are known.
    pub fn corrected<'a>(&self, network: &'a Network) -> Cow<'a, Network> {
        if self.unknowns.iter().all(|unknown| unknown.value == 0.0) {
            return Cow::Borrowed(network);
        }
        let mut corrected = network.clone();
        for line in &mut corrected.lines {
            let off = self.value(Instrument::Compass, line.observer);
            line.tape = self.tape(line);
            line.bearing = line.bearing.map(|bearing| bearing - off);
            line.back_bearing = line.back_bearing.map(|bearing| bearing - off);
        }
        for read in &mut corrected.heights {
            read.height /= 1.0 + self.value(Instrument::Height, read.observer);
        }
        Cow::Owned(corrected)
    }

    /// The tape of a line freed of its common error, metres.
    pub fn tape(&self, line: &Line) -> Option<f64> {
        let scale = 1.0 + self.value(Instrument::Tape, line.observer);
        line.tape.map(|tape| tape / scale)
    }

    /// What common errors leave unknown of the sum of the tapes of `lines`: its variance, metres².
    pub fn variance_of_tapes<'l>(&self, lines: impl Iterator<Item = &'l Line>) -> f64 {
        let mut by: BTreeMap<usize, f64> = BTreeMap::new();
        for line in lines {
            if let Some((at, tape)) = self.at(Instrument::Tape, line.observer).zip(self.tape(line))
            {
                *by.entry(at).or_default() += tape;
            }
        }
        let column = |j: usize| by.iter().map(|(&at, sum)| self.root[(at, j)] * sum).sum::<f64>();
        (0..self.unknowns.len()).map(|j| column(j).powi(2)).sum()
    }

    /// What they add to the covariance of a vector which moves so far with each, before any reading
    /// is asked.
    pub(super) fn stated_spread(&self, by: &BTreeMap<usize, Vector3<f64>>) -> Matrix3<f64> {
        let of = |(&at, by): (&usize, &Vector3<f64>)| {
            by * by.transpose() * self.unknowns[at].stated.powi(2)
        };
        by.iter().map(of).sum()
    }

    /// How far the unknowns at `places` move with the standard normal number `column`.
    pub(super) fn moves(&self, places: &[usize], column: usize) -> Vec<f64> {
        places.iter().map(|&at| self.root[(at, column)]).collect()
    }

    /// The cost that a part has left when the common errors are chosen for it alone, less its cost at
    /// their present values.
    pub(super) fn gain_alone(&self, evidence: &Evidence) -> f64 {
        let (matrix, slope) = self.equations(iter::once(evidence));
        let Some(factor) = matrix.cholesky() else { return 0.0 };
        let held = self.unknowns.iter().map(|u| (u.value / u.stated).powi(2)).sum::<f64>();
        held - slope.dot(&factor.solve(&slope))
    }

    /// How many degrees of freedom of a part go into the common errors.
    ///
    /// ```text
    /// tr( information · covariance )
    /// ```
    pub(super) fn taken(&self, evidence: &Evidence) -> f64 {
        let covariance = &self.root * self.root.transpose();
        let places = || evidence.unknowns.iter().enumerate();
        let of = |(i, &a): (usize, &usize)| {
            places().map(|(j, &b)| evidence.information[(i, j)] * covariance[(b, a)]).sum::<f64>()
        };
        places().map(of).sum()
    }

    /// Takes over what the parts say; returns the step that the values have still to make.
    ///
    /// ```text
    /// S = diag(1/τ²) + Σ information,   δ = − S⁻¹ ( Σ pull + c/τ² ),   covariance S⁻¹
    /// ```
    pub(super) fn settle<'e>(
        &mut self,
        evidence: impl Iterator<Item = &'e Evidence>,
    ) -> Option<DVector<f64>> {
        let (matrix, slope) = self.equations(evidence);
        let factor = matrix.cholesky()?;
        self.root = factor.inverse().cholesky()?.unpack();
        for (at, unknown) in self.unknowns.iter_mut().enumerate() {
            unknown.sd = self.root.row(at).norm();
        }
        let step = -factor.solve(&slope);
        let is_still = |(step, u): (&f64, &Unknown)| step.abs() < STILL * u.sd;
        let still = step.iter().zip(&self.unknowns).all(is_still);
        (!still).then_some(step)
    }

    /// Moves the values by a step.
    pub(super) fn step(&mut self, step: &DVector<f64>) {
        self.unknowns.iter_mut().zip(step.iter()).for_each(|(u, step)| u.value += step);
    }

    fn equations<'e>(
        &self,
        evidence: impl Iterator<Item = &'e Evidence>,
    ) -> (DMatrix<f64>, DVector<f64>) {
        let weights = self.unknowns.iter().map(|u| u.stated.powi(-2));
        let weights = DVector::from_iterator(self.unknowns.len(), weights);
        let values = DVector::from_iterator(weights.len(), self.unknowns.iter().map(|u| u.value));
        let mut slope = weights.component_mul(&values);
        let mut matrix = DMatrix::from_diagonal(&weights);
        for part in evidence {
            for (i, &a) in part.unknowns.iter().enumerate() {
                slope[a] += part.pull[i];
                for (j, &b) in part.unknowns.iter().enumerate() {
                    matrix[(a, b)] += part.information[(i, j)];
                }
            }
        }
        (matrix, slope)
    }
}

/// A step of less than this share of what is left unknown changes nothing.
const STILL: f64 = 0.02;
