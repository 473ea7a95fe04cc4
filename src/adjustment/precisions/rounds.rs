//! Round after round of adjusting, scaling and leaving out, until nothing changes any more.

use super::super::adjust::adjust_again;
use super::super::left_out::ReadAt;
use super::super::outcome::{Adjusted, Residual};
use super::LEAST_FREEDOM;
use super::graded::{Graded, Grading, KINDS, Scatter, observer_of, scaled};
use super::slips::{Slip, fits_after_all, rough, worst};
use crate::adjustment::network::Network;
use crate::maths::ground::Ground;
use crate::survey::names::Name;
use crate::survey::settings::Precision;
use nalgebra::DMatrix;
use std::collections::BTreeMap;

/// Precisions are scaled at most so often.
const MOST_ROUNDS: usize = 15;
/// Rounds by the middle of the residuals before that, and how far one may scale.
const ROUGH_ROUNDS: usize = 4;
const ROUGH_STEP: [f64; 2] = [0.5, 2.0];
/// Slips are left out at most so often, one a connected part each time.
const MOST_SLIPS: usize = 15;
/// A network of more lines takes one step only: rounds would cost as much as the whole rebuild.
const LARGE: usize = 2_000;
/// Heights and their ground are told apart only with so many degrees of freedom each.
const TELLS_APART: f64 = 20.0;
/// A variance that changes by less than this share has settled.
const STILL: f64 = 0.01;
/// A factor so small that nothing checks its readings any more moves no further.
const ANY: f64 = 0.5;
/// No factor beyond these: what is so far off is no precision.
const FACTORS: [f64; 2] = [0.05, 20.0];
/// By how much a variance is changed to see what its kind shares with the others (natural logarithm).
const NUDGE: f64 = 0.1;

/// Where the rounds ended.
pub(super) struct Rounds {
    /// By kind, what its stated standard deviation is multiplied by.
    pub(super) factors: [f64; KINDS],
    /// Kinds that are scaled; the others stay as stated.
    pub(super) open: [bool; KINDS],
    pub(super) scatters: [Scatter; KINDS],
    pub(super) by_observer: BTreeMap<(Graded, Option<Name>), Scatter>,
    /// Degrees of freedom at the factors, ...
    pub(super) freedom: [f64; KINDS],
    /// ... and at the precisions stated: these decide what is told. A large factor makes room for
    /// itself, since the more a reading is doubted, the more others check it.
    pub(super) stated_freedom: [f64; KINDS],
    pub(super) left_out: Vec<Slip>,
    slip_observers: Vec<Option<Name>>,
    taken_back: Vec<Slip>,
    pub(super) settled: bool,
}

impl Rounds {
    /// How many readings of an observer, or of all, were left out as slips.
    pub(super) fn left_out_of(&self, graded: Graded, observer: Option<Name>) -> usize {
        let kind = graded.read_as();
        let both = self.left_out.iter().zip(&self.slip_observers);
        let own = |by: Option<Name>| observer.is_none() || by == observer;
        both.filter(|((of, _), by)| kind.is_some() && *of == kind && own(**by)).count()
    }
}

struct Study<'a> {
    network: &'a Network,
    precision: &'a Precision,
    ground: &'a Ground,
    shown: &'a [bool],
    /// Where every node lies at the precisions stated.
    near: &'a [[f64; 3]],
    /// Whether heights and their ground are taken as one.
    merged: bool,
    grading: Grading<'a>,
}

/// The residuals of one adjustment, sorted by what they tell.
struct Told {
    precision: Precision,
    adjusted: Adjusted,
}

/// Scales precisions and leaves slips out until neither changes.
pub(super) fn settle(
    network: &Network,
    precision: &Precision,
    ground: &Ground,
    (shown, near): (&[bool], &[[f64; 3]]),
) -> Rounds {
    let stated = adjust_again(network, precision, ground, near, &[]);
    let grading = Grading::of(network, &stated.residuals);
    let mut study = Study { network, precision, ground, shown, near, merged: false, grading };
    let told = Told { precision: precision.clone(), adjusted: stated };
    let mut rounds = study.begin(&told);
    let apart = |graded: Graded| {
        let at = graded.at();
        rounds.scatters[at].readings == 0 || rounds.stated_freedom[at] >= TELLS_APART
    };
    if !(apart(Graded::Height) && apart(Graded::Ground)) {
        study.merged = true;
        rounds = study.begin(&told);
    }
    if network.lines.len() > LARGE { study.once(rounds, &told) } else { study.settle(rounds) }
}

impl Rounds {
    fn new() -> Self {
        Self {
            factors: [1.0; KINDS],
            open: [true; KINDS],
            scatters: [Scatter::default(); KINDS],
            by_observer: BTreeMap::new(),
            freedom: [0.0; KINDS],
            stated_freedom: [0.0; KINDS],
            left_out: Vec::new(),
            slip_observers: Vec::new(),
            taken_back: Vec::new(),
            settled: false,
        }
    }

    /// One step of every factor that is open; whether all had settled, which then stay.
    fn scale(&mut self) -> bool {
        let mut settled = true;
        let mut factors = self.factors;
        let open = (0..KINDS).filter(|&at| self.open[at]);
        for at in open.filter(|&at| self.scatters[at].information >= ANY) {
            let [low, high] = FACTORS;
            let factor = (factors[at] * self.scatters[at].step()).clamp(low, high);
            settled &= (factor / factors[at]).ln().abs() < STILL / 2.0;
            factors[at] = factor;
        }
        if !settled {
            self.factors = factors;
        }
        settled
    }
}

impl Study<'_> {
    /// At the precisions stated.
    fn begin(&self, told: &Told) -> Rounds {
        let mut rounds = Rounds::new();
        self.sum(told, &mut rounds);
        rounds.open = rounds.scatters.map(|scatter| scatter.information >= LEAST_FREEDOM);
        rounds.stated_freedom = self.freedom(&rounds);
        rounds
    }

    fn settle(&self, mut rounds: Rounds) -> Rounds {
        for _ in 0..ROUGH_ROUNDS {
            self.scale_roughly(&mut rounds);
        }
        let (mut scaled, mut cleaned) = (0, 0);
        loop {
            let told = self.adjusted(&rounds.factors, &rounds.left_out);
            if cleaned < MOST_SLIPS {
                cleaned += 1;
                if self.clean(&told, &mut rounds) || self.take_back(&told, &mut rounds) {
                    continue;
                }
            }
            self.sum(&told, &mut rounds);
            rounds.settled = rounds.scale();
            if rounds.settled || scaled == MOST_ROUNDS {
                break;
            }
            scaled += 1;
        }
        rounds.freedom = self.freedom(&rounds);
        rounds
    }

    /// What the readings that are not left out come to, by kind.
    fn scatters(&self, told: &Told, left_out: &[Slip]) -> [Scatter; KINDS] {
        let mut scatters = [Scatter::default(); KINDS];
        for (kind, residual) in self.graded(told, left_out) {
            for (graded, share) in kind.shares(&told.precision, residual, self.merged) {
                scatters[graded.at()].add(residual, share);
            }
        }
        scatters
    }

    /// Scales every kind by the middle of its residuals, so that slips are looked for at about the
    /// right precisions: a kind that errs more than stated makes the others look bad.
    fn scale_roughly(&self, rounds: &mut Rounds) {
        let told = self.adjusted(&rounds.factors, &[]);
        let residuals: Vec<&Residual> = self.shown(&told).collect();
        for (kind, middle) in rough(&self.grading, &residuals) {
            let also = (kind == Graded::Height && !self.merged).then_some(Graded::Ground);
            let own =
                if kind == Graded::Height && self.merged { Graded::HeightOnGround } else { kind };
            for graded in std::iter::once(own).chain(also) {
                let [low, high] = ROUGH_STEP;
                if rounds.open[graded.at()] {
                    rounds.factors[graded.at()] *= middle.clamp(low, high);
                }
            }
        }
    }

    fn adjusted(&self, factors: &[f64; KINDS], left_out: &[Slip]) -> Told {
        let precision = scaled(self.precision, factors);
        let without: Vec<ReadAt> = left_out.iter().map(|(_, read)| *read).collect();
        let adjusted = adjust_again(self.network, &precision, self.ground, self.near, &without);
        Told { precision, adjusted }
    }

    /// The residuals of the trails that are shown.
    fn shown<'t>(&'t self, told: &'t Told) -> impl Iterator<Item = &'t Residual> + 't {
        let trail = |residual: &Residual| {
            let line = residual.line.map(|line| self.network.lines[line].trail);
            line.or_else(|| self.network.nodes[residual.node?].trail)
        };
        let is_shown = move |residual: &&Residual| trail(residual).is_none_or(|at| self.shown[at]);
        told.adjusted.residuals.iter().filter(is_shown)
    }

    /// Leaves the worst slips out; whether there were any.
    fn clean(&self, told: &Told, rounds: &mut Rounds) -> bool {
        let residuals: Vec<&Residual> = self.shown(told).collect();
        let slips = worst(&self.grading, self.network, &residuals, &rounds.left_out);
        for slip in &slips {
            let is_it = |residual: &&&Residual| ReadAt::from(**residual) == slip.1;
            let residual = residuals.iter().find(is_it);
            let observer = residual.and_then(|residual| observer_of(self.network, residual));
            rounds.slip_observers.push(observer);
        }
        rounds.left_out.extend(&slips);
        !slips.is_empty()
    }

    /// Takes readings back that fit after all, now that others are left out, each only once; whether
    /// there were any.
    fn take_back(&self, told: &Told, rounds: &mut Rounds) -> bool {
        let residuals: Vec<&Residual> = self.shown(told).collect();
        let fits = |slip: &Slip| {
            let is_it = |residual: &&&Residual| ReadAt::from(**residual) == slip.1;
            residuals
                .iter()
                .find(is_it)
                .is_some_and(|residual| fits_after_all(residual, residuals.len()))
        };
        let back: Vec<bool> = rounds
            .left_out
            .iter()
            .map(|slip| !rounds.taken_back.contains(slip) && fits(slip))
            .collect();
        for at in (0..back.len()).rev().filter(|&at| back[at]) {
            rounds.slip_observers.remove(at);
            let slip = rounds.left_out.remove(at);
            rounds.taken_back.push(slip);
        }
        back.contains(&true)
    }

    /// Each reading that is not left out, by its kind.
    fn graded<'t>(
        &'t self,
        told: &'t Told,
        left_out: &'t [Slip],
    ) -> impl Iterator<Item = (Graded, &'t Residual)> + 't {
        self.shown(told).filter_map(move |residual| {
            let graded = self.grading.grade(residual)?;
            let slip = (Some(graded), ReadAt::from(residual));
            (!left_out.contains(&slip)).then_some((graded, residual))
        })
    }

    fn sum(&self, told: &Told, rounds: &mut Rounds) {
        rounds.scatters = self.scatters(told, &rounds.left_out);
        rounds.by_observer.clear();
        for (kind, residual) in self.graded(told, &rounds.left_out) {
            let observer = observer_of(self.network, residual);
            for (graded, share) in kind.shares(&told.precision, residual, self.merged) {
                rounds.by_observer.entry((graded, observer)).or_default().add(residual, share);
            }
        }
    }

    /// One step from the precisions stated, without the worst slips.
    fn once(&self, mut rounds: Rounds, told: &Told) -> Rounds {
        self.clean(told, &mut rounds);
        self.sum(told, &mut rounds);
        rounds.scale();
        rounds.freedom = rounds.stated_freedom;
        rounds
    }

    /// Degrees of freedom: what tells one variance when all others are unknown too.
    ///
    /// ```text
    /// F_kl = tr( P V_k P V_l ) = δ_kl tr( P V_k ) − ∂ tr( P V_k ) / ∂ ln θ_l,   f_k = 1 / (F⁻¹)_kk
    /// ```
    /// where `tr(P V_k) = Σ w r` is the redundancy of the kind. The derivatives are differences.
    fn freedom(&self, rounds: &Rounds) -> [f64; KINDS] {
        let mut freedom = rounds.scatters.map(|scatter| scatter.information);
        let open: Vec<usize> = (0..KINDS).filter(|&at| rounds.open[at]).collect();
        let mut information = DMatrix::zeros(open.len(), open.len());
        for (column, &at) in open.iter().enumerate() {
            let mut factors = rounds.factors;
            factors[at] *= (NUDGE / 2.0).exp();
            let told = self.adjusted(&factors, &rounds.left_out);
            let moved = self.scatters(&told, &rounds.left_out);
            for (row, &of) in open.iter().enumerate() {
                let slope = (moved[of].redundancy - rounds.scatters[of].redundancy) / NUDGE;
                let own = if row == column { rounds.scatters[of].redundancy } else { 0.0 };
                information[(row, column)] = own - slope;
            }
        }
        let even = (&information + information.transpose()) / 2.0;
        let Some(factor) = even.cholesky() else { return freedom };
        let covariance = factor.inverse();
        for (place, &at) in open.iter().enumerate() {
            let most = rounds.scatters[at].redundancy;
            freedom[at] = covariance[(place, place)].recip().clamp(0.0, most);
        }
        freedom
    }
}
