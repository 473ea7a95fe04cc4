//! The intervals of a difference that permutation tests leave: the differences that they do not refuse.
//!
//! In: two groups, in strata or not, paired differences, or two columns, and a seed. Out: both ends of the
//! 95 % interval. A difference δ belongs to it where the test finds p above 0.05 once δ is taken off the first group, by
//! the arrangements of the test itself; so p and interval cannot contradict each other. `None` where there
//! are so few arrangements that none can be refused: three and three have 20, and p is never below 0.1.
//! Source: [`Source::Fisher1935`](crate::survey::sources::Source::Fisher1935).

mod difference;
mod linear;

pub use difference::interval_of_difference;
pub(super) use linear::Linear;
pub use linear::{interval_of_pairs, interval_of_slope, interval_within_strata};

/// A difference is refused where no more than one in so many arrangements is as far out.
const ONE_IN: usize = 20;

/// How many of `all` arrangements must be as far out for a difference to stand; of drawn ones the observed
/// arrangement is one more of each.
fn fewest_that_stand(all: usize, exact: bool) -> usize {
    if exact { all / ONE_IN + 1 } else { (all + 1) / ONE_IN }
}

#[cfg(test)]
mod tests;
