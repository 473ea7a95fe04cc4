//! Chance, the same each time.

use rand_distr::{Distribution, StandardNormal, StandardUniform};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;

/// The same seed, the same demo.
const SEED: u64 = 20_250_906;

/// Draws of chance; each trail has its own, so that a change to one leaves the others alone.
pub(crate) struct Chance(Xoshiro256PlusPlus);

impl Chance {
    pub(crate) fn new(stream: usize) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(SEED + 1000 * stream as u64))
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        let share: f64 = StandardUniform.sample(&mut self.0);
        low + (high - low) * share
    }

    pub(crate) fn happens(&mut self, probability: f64) -> bool {
        self.between(0.0, 1.0) < probability
    }

    pub(crate) fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[(self.between(0.0, of.len() as f64) as usize).min(of.len() - 1)]
    }

    /// One draw from a distribution.
    pub(crate) fn like(&mut self, distribution: &impl Distribution<f64>) -> f64 {
        distribution.sample(&mut self.0)
    }

    /// A normal error that is never beyond two standard deviations.
    pub(crate) fn error(&mut self, sd: f64) -> f64 {
        loop {
            let deviate: f64 = StandardNormal.sample(&mut self.0);
            if deviate.abs() <= 2.0 {
                return sd * deviate;
            }
        }
    }
}
