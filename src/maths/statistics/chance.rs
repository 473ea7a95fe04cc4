//! Seeded chance: the same seed gives the same shuffles on every machine.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// A source of even whole numbers.
#[derive(Clone, Debug)]
pub struct Chance(Xoshiro256PlusPlus);

impl Chance {
    /// Begins with `seed`.
    pub fn new(seed: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(seed))
    }

    /// A whole number below `count`, each as likely as the other to within count / 2⁶⁴.
    pub fn below(&mut self, count: usize) -> usize {
        // The high half of a product spreads 64 bits evenly over the range, without a division.
        let wide = u128::from(self.0.next_u64()) * count as u128;
        usize::try_from(wide >> 64).unwrap_or(0)
    }

    /// Puts a random choice of `count` of the items in front, in random order.
    pub fn choose<T>(&mut self, items: &mut [T], count: usize) {
        for at in 0..count.min(items.len()) {
            let other = at + self.below(items.len() - at);
            items.swap(at, other);
        }
    }

    /// True or false.
    pub fn coin(&mut self) -> bool {
        self.0.next_u64() >> 63 == 1
    }
}
