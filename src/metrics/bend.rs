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

use crate::statistics::describe::moments;

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
