//! What the short tests of groups and of pairs share: when a test is certain, and where an interval ends.
//!
//! In: whether each arrangement is as far out as the observed one. Out: whether p is 0.05 or less.

/// Most arrangements that are gone through one by one.
pub const MOST_GONE_THROUGH: u64 = 3_500;
/// How many are drawn where there are more: 0.05 is then the 50th of 1,000.
pub const DRAWS: u64 = 999;
/// A test ends at this draw where no more than [`FEW`] before it were as far out: with p at 0.05 that
/// happens once in 3,700 tests.
const EARLY: u64 = 250;
const FEW: u64 = 2;
/// How often an end is halved in: to a thousandth of where it was looked for.
const HALVINGS: usize = 10;
/// How often the search goes twice as far out.
const DOUBLINGS: usize = 20;

/// Counts arrangements as far out as the observed one, until p is certain to be below 0.05 or above.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tally {
    pub(super) exact: bool,
    seen: u64,
    as_large: u64,
    /// Most that may be as far out where p is to be 0.05: a twentieth; of draws, the observed one included.
    allowed: u64,
}

impl Tally {
    /// Of so many arrangements, gone through where there are no more than `most`.
    pub(super) fn of(ways: u64, most: u64) -> Self {
        let exact = ways <= most;
        let allowed = if exact { ways / 20 } else { DRAWS.div_ceil(20) - 1 };
        Self { exact, seen: 0, as_large: 0, allowed }
    }

    /// Whether it is worth going on.
    pub(super) fn add(&mut self, as_large: bool) -> bool {
        self.seen += 1;
        self.as_large += u64::from(as_large);
        let early = !self.exact && self.seen == EARLY && self.as_large <= FEW;
        self.as_large <= self.allowed && !early
    }

    /// Whether p is 0.05 or less, once all arrangements were added that were worth it.
    pub(super) fn refuses(self) -> bool {
        self.as_large <= self.allowed
    }
}

/// From one end to the other of the differences that a test does not refuse; `None` where it refuses none,
/// and of values without spread.
pub(super) fn width(estimate: f64, scale: f64, refuses: impl Fn(f64) -> bool) -> Option<f64> {
    let end = |side: f64| {
        let (mut inside, mut outside) = (estimate, estimate + 2.0 * side * scale);
        let mut doublings = 0;
        while !refuses(outside) {
            (inside, outside) = (outside, estimate + 2.0 * (outside - estimate));
            doublings += 1;
            if doublings > DOUBLINGS {
                return None;
            }
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (inside + outside);
            *(if refuses(middle) { &mut outside } else { &mut inside }) = middle;
        }
        Some(0.5 * (inside + outside))
    };
    (scale > 0.0 && scale.is_finite()).then_some(())?;
    Some(end(1.0)? - end(-1.0)?)
}
