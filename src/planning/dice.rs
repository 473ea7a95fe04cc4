//! Random numbers from a seed.

use rand_distr::{Distribution, StandardNormal, StandardUniform};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;

/// A stream of random numbers.
#[derive(Clone, Debug)]
pub struct Dice {
    random: Xoshiro256PlusPlus,
    still: bool,
}

impl Dice {
    /// The stream number `stream` of a seed.
    pub fn new(seed: u64, stream: u64) -> Self {
        let mixed = seed ^ stream.wrapping_mul(0x9e37_79b9_7f4a_7c15);
        Self { random: Xoshiro256PlusPlus::seed_from_u64(mixed), still: false }
    }

    /// Instruments without any error: every normal number is zero.
    pub fn still() -> Self {
        Self { still: true, ..Self::new(0, 0) }
    }

    /// Normal about zero with this standard deviation.
    pub fn normal(&mut self, sd: f64) -> f64 {
        if self.still {
            return 0.0;
        }
        let z: f64 = StandardNormal.sample(&mut self.random);
        z * sd
    }

    /// Even between `low` and `high`.
    pub fn even(&mut self, low: f64, high: f64) -> f64 {
        let share: f64 = StandardUniform.sample(&mut self.random);
        low + share * (high - low)
    }

    /// True with this chance.
    pub fn chance(&mut self, share: f64) -> bool {
        self.even(0.0, 1.0) < share
    }

    /// A whole number from 0 to `count`, which it does not reach.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "below count")]
    pub fn below(&mut self, count: usize) -> usize {
        (self.even(0.0, count as f64) as usize).min(count.saturating_sub(1))
    }
}
