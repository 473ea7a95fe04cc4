//! Dice by number: the same number throws in the same way.

use rand_distr::{Distribution, Uniform};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

pub(crate) struct Dice(Xoshiro256PlusPlus);

impl Dice {
    pub(crate) fn of(number: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(number))
    }

    /// A number from 0 to one below `end`; 0 where there is none.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        Uniform::new(0, end).map_or(0, |even| even.sample(&mut self.0))
    }

    pub(crate) fn one<'a, T: ?Sized>(&mut self, of: &[&'a T]) -> &'a T {
        of[self.below(of.len())]
    }

    pub(crate) fn byte(&mut self) -> u8 {
        self.0.next_u32().to_le_bytes()[0]
    }
}
