//! One number, or one for each of several draws: a formula is written once for both.

use std::array::from_fn;
use std::ops::{Add, Div, Mul, Sub};

/// How many draws are computed at once: loops over them turn into vector instructions.
pub const LANES: usize = 8;

/// One number for each of [`LANES`] draws.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Lanes(pub [f64; LANES]);

impl Lanes {
    /// Half of its numbers, each followed by its mirror image: the first half, or the second.
    #[must_use]
    pub fn mirrored(self, second: bool) -> Self {
        let first = if second { LANES / 2 } else { 0 };
        Self(from_fn(|at| {
            let number = self.0[first + at / 2];
            if at.is_multiple_of(2) { number } else { -number }
        }))
    }
}

/// A plain number, or one for each of several draws.
pub trait Number:
    Copy + Add<Output = Self> + Sub<Output = Self> + Mul<Output = Self> + Div<Output = Self>
{
    /// The numbers that `f` makes of the place of each lane.
    fn lanes_of<const COUNT: usize>(f: impl FnMut(usize) -> [f64; COUNT]) -> [Self; COUNT];

    /// The number in one lane.
    fn lane(self, at: usize) -> f64;

    /// The number that `f` makes of the place of each lane.
    #[inline]
    fn lanes(mut f: impl FnMut(usize) -> f64) -> Self {
        let [numbers] = Self::lanes_of(|lane| [f(lane)]);
        numbers
    }

    /// The same number in every lane.
    #[inline]
    fn of(number: f64) -> Self {
        Self::lanes(|_| number)
    }

    /// What `f` makes of each number.
    #[inline]
    #[must_use]
    fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self::lanes(|at| f(self.lane(at)))
    }

    /// What `f` makes of each number and its partner in `other`.
    #[inline]
    #[must_use]
    fn with(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        Self::lanes(|at| f(self.lane(at), other.lane(at)))
    }

    /// Square roots.
    #[inline]
    #[must_use]
    fn sqrt(self) -> Self {
        self.map(f64::sqrt)
    }

    /// The greater of two numbers. Unlike that of `f64` it looks at no NaN, for speed.
    #[inline]
    #[must_use]
    fn max(self, other: Self) -> Self {
        self.with(other, |a, b| if a > b { a } else { b })
    }

    /// The lesser of two numbers; see [`Number::max`].
    #[inline]
    #[must_use]
    fn min(self, other: Self) -> Self {
        self.with(other, |a, b| if a < b { a } else { b })
    }
}

/// Square of the length of a vector.
#[inline]
pub fn square<N: Number, const AXES: usize>(v: [N; AXES]) -> N {
    v.iter().fold(N::of(0.0), |sum, &x| sum + x * x)
}

/// Length of a vector. Metres squared neither overflow nor vanish, so that the guarded `hypot`,
/// many times slower, is not needed in what every draw repeats.
#[inline]
pub fn norm<N: Number, const AXES: usize>(v: [N; AXES]) -> N {
    square(v).sqrt()
}

impl Number for f64 {
    #[inline]
    fn lanes_of<const COUNT: usize>(mut f: impl FnMut(usize) -> [f64; COUNT]) -> [Self; COUNT] {
        f(0)
    }

    #[inline]
    fn lane(self, _: usize) -> f64 {
        self
    }
}

impl Number for Lanes {
    #[inline]
    fn lanes_of<const COUNT: usize>(mut f: impl FnMut(usize) -> [f64; COUNT]) -> [Self; COUNT] {
        let mut lanes = [Self([0.0; LANES]); COUNT];
        for at in 0..LANES {
            for (lanes, number) in lanes.iter_mut().zip(f(at)) {
                lanes.0[at] = number;
            }
        }
        lanes
    }

    #[inline]
    fn lane(self, at: usize) -> f64 {
        self.0[at]
    }
}

impl Add for Lanes {
    type Output = Self;

    #[inline]
    fn add(self, other: Self) -> Self {
        self.with(other, f64::add)
    }
}

impl Sub for Lanes {
    type Output = Self;

    #[inline]
    fn sub(self, other: Self) -> Self {
        self.with(other, f64::sub)
    }
}

impl Mul for Lanes {
    type Output = Self;

    #[inline]
    fn mul(self, other: Self) -> Self {
        self.with(other, f64::mul)
    }
}

impl Div for Lanes {
    type Output = Self;

    #[inline]
    fn div(self, other: Self) -> Self {
        self.with(other, f64::div)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_lane_is_computed_by_itself() {
        let steps = Lanes::lanes(|at| at as f64);
        let sum = steps * Lanes::of(2.0) + Lanes::of(1.0);
        assert_eq!(sum, Lanes([1.0, 3.0, 5.0, 7.0, 9.0, 11.0, 13.0, 15.0]));
        assert_eq!((sum / sum).sqrt(), Lanes::of(1.0));
        assert_eq!(steps.max(Lanes::of(4.0)), Lanes([4.0, 4.0, 4.0, 4.0, 4.0, 5.0, 6.0, 7.0]));
        assert_eq!(steps.min(Lanes::of(4.0)), Lanes([0.0, 1.0, 2.0, 3.0, 4.0, 4.0, 4.0, 4.0]));
    }

    #[test]
    fn mirrored_lanes_cancel_in_pairs() {
        let steps = Lanes::lanes(|at| at as f64 + 1.0);
        assert_eq!(steps.mirrored(false), Lanes([1.0, -1.0, 2.0, -2.0, 3.0, -3.0, 4.0, -4.0]));
        assert_eq!(steps.mirrored(true), Lanes([5.0, -5.0, 6.0, -6.0, 7.0, -7.0, 8.0, -8.0]));
    }
}
