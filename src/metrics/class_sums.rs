//! What the legs of each class add to a path, by which its noise is told apart from its movement.

use super::shape::Shape;
use super::subject::Subject;
use crate::path::LegClass;
use crate::quantity::Number;

/// Why a leg's noise bends a sum: by what is stated, by what is measured, or not at all.
pub(super) const STATED: usize = 0;
/// See [`STATED`].
pub(super) const MEASURED: usize = 1;

/// Sums by class of leg: run, ascent and descent of stated legs, then of measured ones, as far as
/// their noise is in the estimate already.
pub(super) fn by_class<N: Number>(subject: &Subject, shape: &Shape<'_, N>) -> [[N; 3]; 2] {
    let zero = N::of(0.0);
    let mut sums = [[zero; 3]; 2];
    for (leg, class) in subject.class.iter().enumerate() {
        let (which, share) = match class {
            LegClass::Plumb => (STATED, 1.0),
            LegClass::Measured | LegClass::Steep => (MEASURED, subject.bent(leg)),
            LegClass::Unmeasured => continue,
        };
        let (rise, share) = (shape.rises[leg], N::of(share));
        let [run, up, down] = sums[which];
        let own = if *class == LegClass::Steep { zero } else { shape.runs[leg] };
        sums[which] =
            [run + share * own, up + share * rise.max(zero), down - share * rise.min(zero)];
    }
    sums
}
