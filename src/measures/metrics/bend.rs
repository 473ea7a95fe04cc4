//! What noise does to a number: how far it bends it, and how far it spreads it. The one rule by which
//! every interval is found.
//!
//! A reading is truth plus error, so that the estimate E carries such an error already: on average
//! what a second helping of it, drawn anew, adds once more. What is stated is a mean about which the
//! truth scatters: E lacks that scatter, and the truth has what it adds.
//!
//! ```text
//! b = mean of E + errors of readings, less E        s = mean of E + scatter of what is stated, less E
//! truth = E − b + s ± √( var b + var s )
//! ```

use crate::maths::statistics::describe::moments;

/// How noise bends and spreads a number.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Bend {
    /// What the errors of readings have added to the estimate, b.
    pub(super) read: f64,
    /// What the scatter about what is stated adds to the truth, s.
    pub(super) stated: f64,
    /// Standard deviation of both together.
    pub(super) sd: f64,
}

impl Bend {
    /// Of the estimate `e`, from draws of either origin.
    pub(super) fn of(e: f64, [read, stated]: [&[f64]; 2]) -> Self {
        let ((b, sd), (s, scatter)) = (moments(read), moments(stated));
        // Where too few draws of the scatter were asked for, it is left out.
        if stated.len() < 2 {
            return Self { read: b - e, stated: 0.0, sd };
        }
        Self { read: b - e, stated: s - e, sd: sd.hypot(scatter) }
    }

    /// The number freed of what bends it.
    pub(super) fn taken_off(&self, e: f64) -> f64 {
        e - self.read + self.stated
    }
}

#[cfg(test)]
mod tests {
    use super::Bend;
    use std::f64::consts::SQRT_2;

    fn assert_is(found: Bend, read: f64, stated: f64, sd: f64, freed: f64) {
        let Bend { read: b, stated: s, sd: spread } = found;
        for (found, expected) in
            [(b, read), (s, stated), (spread, sd), (found.taken_off(5.0), freed)]
        {
            assert!((found - expected).abs() < 1e-12, "{found:?} for {expected}");
        }
    }

    /// Readings make 6 ± √2 of 5, what is stated 7.5 ± √2: 5 − 1 + 2.5, and both spreads together are 2.
    #[test]
    fn what_is_read_is_taken_off_and_what_is_stated_added() {
        assert_is(Bend::of(5.0, [&[5.0, 7.0], &[6.5, 8.5]]), 1.0, 2.5, 2.0, 6.5);
        assert_is(Bend::of(5.0, [&[5.0, 7.0], &[5.0, 5.0]]), 1.0, 0.0, SQRT_2, 4.0);
        // Where nothing is stated, or one draw of it has no spread, readings alone are known.
        assert_is(Bend::of(5.0, [&[5.0, 7.0], &[]]), 1.0, 0.0, SQRT_2, 4.0);
        assert_is(Bend::of(5.0, [&[5.0, 7.0], &[9.0]]), 1.0, 0.0, SQRT_2, 4.0);
    }

    #[test]
    fn draws_that_are_none_tell_nothing() {
        assert!(Bend::of(5.0, [&[], &[]]).sd.is_nan());
    }
}
