//! Paths that the readings allow: draws from the adjusted positions and their covariance.
//!
//! With L Lᵀ the normal matrix and z standard normal, x = L⁻ᵀ z has its inverse as covariance.
//! Draws come in mirrored pairs, +x and −x: half the work, and odd errors of a mean cancel.

use super::factor::{Blocks, Pattern};
use super::lean::Lean;
use nalgebra::Vector3;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;

/// How many independent draws are solved for at once: the loops below turn into vector
/// instructions.
pub const LANES: usize = 8;

/// One number for each lane.
pub type Lanes = [f64; LANES];

/// What is needed to draw paths of one connected part.
#[derive(Clone, Debug)]
pub struct Sampler {
    pattern: Pattern,
    factor: Blocks,
    held: Vec<[bool; 2]>,
    lean: Option<Lean>,
}

/// Deviations of every node of a part from its adjusted place, metres, for [`LANES`] draws.
#[derive(Clone, Debug, Default)]
pub struct Deviations {
    /// East, north and up, by local node.
    pub positions: Vec<[Lanes; 3]>,
    /// Standard normal numbers for what elevations do not tell of heights, by local node.
    pub own: Vec<Lanes>,
}

impl Sampler {
    pub(super) fn new(
        pattern: Pattern,
        factor: Blocks,
        held: Vec<[bool; 2]>,
        lean: Option<Lean>,
    ) -> Self {
        Self { pattern, factor, held, lean }
    }

    /// Draws batch number `batch`, which is the same whoever draws it and when.
    pub fn draw(&self, seed: u64, part: u64, batch: u64, into: &mut Deviations) {
        let count = self.pattern.node_at.len();
        let mixed = seed ^ part.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ batch.rotate_left(40);
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(mixed);
        into.positions.resize(count, [[0.0; LANES]; 3]);
        into.own.resize(count, [0.0; LANES]);
        for node in 0..count {
            for lanes in into.positions[node].iter_mut().chain([&mut into.own[node]]) {
                for lane in lanes {
                    *lane = StandardNormal.sample(&mut rng);
                }
            }
        }
        for column in (0..count).rev() {
            self.back_substitute(column, &mut into.positions);
        }
        if let Some(Lean(moves)) = &self.lean {
            let shared: Lanes = std::array::from_fn(|_| StandardNormal.sample(&mut rng));
            for (x, moves) in into.positions.iter_mut().zip(moves) {
                for (axis, by) in x.iter_mut().zip(moves) {
                    axis.iter_mut().zip(&shared).for_each(|(x, z)| *x += by * z);
                }
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
                for (r, done) in done.iter().enumerate() {
                    let l = l[(r, k)];
                    rest.iter_mut().zip(done).for_each(|(rest, done)| *rest -= l * done);
                }
            }
        }
        let l = &self.factor.diagonal[column];
        let [a, b, c] = &mut rest;
        for lane in 0..LANES {
            c[lane] *= l.m33;
            b[lane] = (b[lane] - l.m32 * c[lane]) * l.m22;
            a[lane] = (a[lane] - l.m21 * b[lane] - l.m31 * c[lane]) * l.m11;
        }
        let [plan, up] = self.held[node];
        for (axis, held) in rest.iter_mut().zip([plan, plan, up]) {
            if held {
                *axis = [0.0; LANES];
            }
        }
        x[node] = rest;
    }
}

/// The deviation of one lane, mirrored where `sign` is -1.
pub fn lane(deviation: &[Lanes; 3], lane: usize, sign: f64) -> Vector3<f64> {
    Vector3::new(deviation[0][lane], deviation[1][lane], deviation[2][lane]) * sign
}
