//! Paths that the readings allow: draws of the errors, and where they take the adjusted positions.
//!
//! Errors of readings and of what is stated are drawn apart, since they bend what is measured in
//! opposite ways (see [`Origin`]); both together have the covariance of the adjustment.
//! Draws come in mirrored pairs, +x and −x: half the work, and odd errors of a mean cancel.

use super::errors::AllErrors;
pub use super::errors::Origin;
use super::factor::{Blocks, Pattern};
use super::shared::{Shared, Sharing};
use crate::maths::quantity::{LANES, Lanes, Number};
use crate::maths::statistics::interval::normal_quantile;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// What is needed to draw paths of one connected part.
#[derive(Clone, Debug)]
pub struct Sampler {
    pattern: Pattern,
    factor: Blocks,
    held: Vec<[bool; 2]>,
    shared: Shared,
    errors: AllErrors,
}

/// Deviations of every node of a part from its adjusted place, metres, for [`LANES`] draws.
#[derive(Clone, Debug, Default)]
pub struct Deviations {
    /// East, north and up, by local node.
    pub positions: Vec<[Lanes; 3]>,
    /// What heights deviate by beside what their elevations tell, by local node.
    pub own: Vec<Lanes>,
    /// How far the height read at each node is off with what readings share, metres, by local node;
    /// empty where they share nothing.
    pub heights: Vec<Lanes>,
}

/// No part has this number: it stands for what the whole study shares.
const STUDY: u64 = u64::MAX;

fn generator(seed: u64, part: u64, batch: u64) -> Xoshiro256PlusPlus {
    let mixed = seed ^ part.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ batch.rotate_left(40);
    Xoshiro256PlusPlus::seed_from_u64(mixed)
}

/// So many draws of what a study shares fall into as many intervals of equal chance, one each.
const STRATA: usize = 8 * LANES;

/// The standard normal numbers of what the whole study shares, by place. Every trail has the same, so
/// that chance would make all their intervals too narrow at once: each [`STRATA`] of them are laid out
/// evenly, in an order of their own. Every second batch is of readings, which alone share.
fn of_study(seed: u64, batch: u64) -> impl Fn(usize) -> Lanes {
    let first = batch / 2 * LANES as u64;
    let round = first / STRATA as u64;
    let within = usize::try_from(first % STRATA as u64).unwrap_or_default();
    move |at| {
        let mut rng = generator(seed, STUDY, (at as u64) << 32 | round);
        let mut chance = || (rng.next_u64() >> 11) as f64 / 2.0_f64.powi(53);
        let mut strata: Vec<(f64, f64)> = (0..STRATA).map(|k| (chance(), k as f64)).collect();
        strata.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Where in its interval each falls, by lots of its own.
        let lots: Vec<f64> = (0..STRATA).map(|_| chance()).collect();
        Lanes::lanes(|lane| {
            let at = within + lane;
            let chance = (strata[at].1 + lots[at]) / STRATA as f64;
            normal_quantile(chance.clamp(LEAST_CHANCE, 1.0 - LEAST_CHANCE))
        })
    }
}

/// Nothing is drawn that is rarer than this.
const LEAST_CHANCE: f64 = 1e-6;

impl Sampler {
    pub(super) fn new(
        pattern: Pattern,
        factor: Blocks,
        held: Vec<[bool; 2]>,
        errors: AllErrors,
    ) -> Self {
        Self { pattern, factor, held, shared: Shared::default(), errors }
    }

    /// Adds what the readings of the part share.
    pub(super) fn share(&mut self, shared: &Shared) {
        self.shared.0.extend_from_slice(&shared.0);
    }

    /// Draws batch number `batch` of the errors of an origin, which is the same whoever draws it and
    /// when.
    ///
    /// ```text
    /// N x = Aᵀ W ε,   N = L Lᵀ
    /// ```
    pub fn draw(
        &self,
        seed: u64,
        part: u64,
        (origin, batch): (Origin, u64),
        into: &mut Deviations,
    ) {
        let count = self.pattern.node_at.len();
        let mut rng = generator(seed, part, batch);
        let mut normal = || Lanes::lanes(|_| StandardNormal.sample(&mut rng));
        into.positions.clear();
        into.positions.resize(count, [Lanes::default(); 3]);
        into.own.clear();
        into.own.resize(count, Lanes::default());
        self.errors.from(origin).draw(&mut normal, &mut into.positions, &mut into.own);
        self.hold(&mut into.positions);
        for column in 0..count {
            self.substitute(column, &mut into.positions);
        }
        for column in (0..count).rev() {
            self.back_substitute(column, &mut into.positions);
        }
        self.add_shared(&mut normal, seed, (origin, batch), into);
    }

    /// Moves all nodes by what their readings share: the lean of steep legs is stated, common errors
    /// are read. What the whole study shares is drawn by itself, so that it is the same for every part.
    fn add_shared(
        &self,
        normal: &mut impl FnMut() -> Lanes,
        seed: u64,
        (origin, batch): (Origin, u64),
        into: &mut Deviations,
    ) {
        let of_study = of_study(seed, batch);
        into.heights.clear();
        for column in self.shared.0.iter().filter(|column| column.origin() == origin) {
            let shared = match column.sharing {
                Sharing::Part => normal(),
                Sharing::Study(at) => of_study(at),
            };
            for (x, moves) in into.positions.iter_mut().zip(&column.moves) {
                for (axis, &by) in x.iter_mut().zip(moves) {
                    *axis = *axis + Lanes::of(by) * shared;
                }
            }
            if !column.heights.is_empty() {
                into.heights.resize(column.heights.len(), Lanes::default());
            }
            for (height, &by) in into.heights.iter_mut().zip(&column.heights) {
                *height = *height + Lanes::of(by) * shared;
            }
        }
    }

    /// Nothing moves what is held.
    fn hold(&self, b: &mut [[Lanes; 3]]) {
        for ([e, n, u], &[plan, up]) in b.iter_mut().zip(&self.held) {
            if plan {
                (*e, *n) = (Lanes::default(), Lanes::default());
            }
            if up {
                *u = Lanes::default();
            }
        }
    }

    /// One step of the forward substitution, for all lanes.
    ///
    /// ```text
    /// y_j = L_jj⁻¹ ( b_j − Σ_k L_jk y_k )
    /// ```
    #[inline]
    fn substitute(&self, column: usize, x: &mut [[Lanes; 3]]) {
        let node = self.pattern.node_at[column];
        let l = self.factor.diagonal[column].map(Lanes::of);
        let [a, b, c] = x[node];
        let a = a * l.m11;
        let b = (b - l.m21 * a) * l.m22;
        let c = (c - l.m31 * a - l.m32 * b) * l.m33;
        x[node] = [a, b, c];
        for at in self.pattern.starts[column]..self.pattern.starts[column + 1] {
            let l = &self.factor.below[at];
            let rest = &mut x[self.pattern.node_at[self.pattern.rows[at]]];
            for (r, rest) in rest.iter_mut().enumerate() {
                let known = Lanes::of(l[(r, 0)]) * a + Lanes::of(l[(r, 1)]) * b;
                *rest = *rest - known - Lanes::of(l[(r, 2)]) * c;
            }
        }
    }

    /// One step of the back substitution, for all lanes.
    ///
    /// ```text
    /// x_j = L_jj⁻ᵀ ( z_j − Σ_i L_ijᵀ x_i )
    /// ```
    #[inline]
    fn back_substitute(&self, column: usize, x: &mut [[Lanes; 3]]) {
        let node = self.pattern.node_at[column];
        let mut rest = x[node];
        for at in self.pattern.starts[column]..self.pattern.starts[column + 1] {
            let l = &self.factor.below[at];
            let done = &x[self.pattern.node_at[self.pattern.rows[at]]];
            for (k, rest) in rest.iter_mut().enumerate() {
                for (r, &done) in done.iter().enumerate() {
                    *rest = *rest - Lanes::of(l[(r, k)]) * done;
                }
            }
        }
        let l = self.factor.diagonal[column].map(Lanes::of);
        let [a, b, c] = rest;
        let c = c * l.m33;
        let b = (b - l.m32 * c) * l.m22;
        let a = (a - l.m21 * b - l.m31 * c) * l.m11;
        let [plan, up] = self.held[node];
        let unless = |held: bool, axis: Lanes| if held { Lanes::default() } else { axis };
        x[node] = [unless(plan, a), unless(plan, b), unless(up, c)];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of the 250 numbers that a thousand draws rest on the mean square scatters about 1 by some 0.025
    /// (by chance alone by √(2 / 250) = 0.09) and the mean about 0 by less than 0.02 (0.06): here within
    /// three of these. Two places go together by chance, 0.06.
    #[test]
    fn what_a_study_shares_is_laid_out_evenly() {
        let numbers = |at: usize| -> Vec<f64> {
            (0..31).flat_map(|batch| of_study(1, 2 * batch)(at).0).collect()
        };
        let all: Vec<Vec<f64>> = (0..12).map(numbers).collect();
        let product = |a: &[f64], b: &[f64]| {
            a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>() / a.len() as f64
        };
        for (at, one) in all.iter().enumerate() {
            assert!((product(one, one) - 1.0).abs() < 0.075, "{at}: {}", product(one, one));
            let mean = one.iter().sum::<f64>() / one.len() as f64;
            assert!(mean.abs() < 0.06, "{at}: {mean}");
            for other in &all[..at] {
                assert!(product(one, other).abs() < 0.25, "{at}: {}", product(one, other));
            }
        }
    }
}
