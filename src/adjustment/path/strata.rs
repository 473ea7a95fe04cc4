//! Metres of path by height: legs are cut at the edges, never counted by their midpoints.

use super::legs::{Geometry, Leg};
use crate::maths::quantity::Number;

/// A leg as its length and the heights at its ends, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch<N = f64> {
    /// Length along the leg.
    pub length: N,
    /// Height where it starts.
    pub from: N,
    /// Height where it ends.
    pub to: N,
}

/// The counted `legs` as stretches.
pub fn stretches<'a>(
    geometry: &'a Geometry,
    legs: &'a [Leg],
) -> impl Iterator<Item = Stretch> + 'a {
    legs.iter().filter(|leg| leg.counted).map(|leg| {
        let (from, to) = (geometry.heights[leg.from], geometry.heights[leg.to]);
        Stretch { length: geometry.length(leg), from, to }
    })
}

/// Less rise than this, metres, is level: its length then lies at one height.
const LEVEL_M: f64 = 1e-9;
/// Closer than this, metres, a height is found.
const FOUND_M: f64 = 1e-10;
/// Bisection alone would find a height within so many steps.
const MOST_STEPS: usize = 200;

/// How the length of a path lies over height: each stretch spread evenly from its lower to its
/// upper end. The sum of that is piecewise linear, so that what follows is exact.
#[derive(Clone, Debug)]
pub struct LengthByHeight<N = f64> {
    spreads: Vec<Spread<N>>,
    /// The lowest and the highest point.
    ends: [N; 2],
    total: N,
    /// Length times height, m².
    moment: N,
}

/// A stretch spread over height.
#[derive(Clone, Copy, Debug)]
struct Spread<N> {
    low: N,
    high: N,
    length: N,
    /// Metres of length for each metre of height.
    density: N,
}

impl<N: Number> Spread<N> {
    #[inline]
    fn below(&self, edge: N) -> N {
        ((edge - self.low) * self.density).max(N::of(0.0)).min(self.length)
    }

    #[inline]
    fn density(&self, height: N) -> N {
        N::lanes(|lane| {
            let height = height.lane(lane);
            let holds = self.low.lane(lane) < height && height <= self.high.lane(lane);
            if holds { self.density.lane(lane) } else { 0.0 }
        })
    }
}

/// The ends of nothing.
const NOTHING: [f64; 2] = [f64::INFINITY, f64::NEG_INFINITY];

impl<N: Number> Default for LengthByHeight<N> {
    fn default() -> Self {
        let ends = NOTHING.map(N::of);
        Self { spreads: Vec::new(), ends, total: N::of(0.0), moment: N::of(0.0) }
    }
}

impl FromIterator<Stretch> for LengthByHeight {
    fn from_iter<I: IntoIterator<Item = Stretch>>(stretches: I) -> Self {
        let mut spread = Self::default();
        stretches.into_iter().for_each(|stretch| spread.push(stretch));
        spread
    }
}

impl<N: Number> LengthByHeight<N> {
    /// Forgets all stretches and keeps the room they took.
    pub fn clear(&mut self) {
        self.spreads.clear();
        self.ends = NOTHING.map(N::of);
        (self.total, self.moment) = (N::of(0.0), N::of(0.0));
    }

    /// Adds one stretch.
    pub fn push(&mut self, Stretch { length, from, to }: Stretch<N>) {
        let (low, high) = (from.min(to), from.max(to));
        let level = N::of(LEVEL_M);
        let density = length / (high - low).max(level);
        self.moment = self.moment + length * N::of(0.5) * (low + high);
        let high = high.max(low + level);
        self.spreads.push(Spread { low, high, length, density });
        self.ends = [self.ends[0].min(low), self.ends[1].max(high)];
        self.total = self.total + length;
    }

    /// The whole length, metres.
    pub fn total(&self) -> N {
        self.total
    }

    /// How much of the length lies below `edge`, metres; a level stretch on the edge does not.
    ///
    /// ```text
    /// Σ length · (edge − low) / (high − low), each cut to [0, length]
    /// ```
    pub fn below(&self, edge: N) -> N {
        self.spreads.iter().fold(N::of(0.0), |sum, spread| sum + spread.below(edge))
    }

    /// The same, and how much length each metre of height holds just below `height`.
    fn below_and_density(&self, height: N) -> [N; 2] {
        self.spreads.iter().fold([N::of(0.0); 2], |[below, density], spread| {
            [below + spread.below(height), density + spread.density(height)]
        })
    }

    /// Metres in each stratum `[edge, next edge)`, the first from minus infinity, the last open.
    pub fn by_stratum<'a>(&'a self, edges: &'a [f64]) -> impl Iterator<Item = N> + 'a {
        let mut lower = N::of(0.0);
        let cuts = edges.iter().map(|&edge| self.below(N::of(edge))).chain([self.total]);
        cuts.map(move |upper| upper - std::mem::replace(&mut lower, upper))
    }

    /// Length-weighted mean height; not a number for a path without length.
    pub fn mean(&self) -> N {
        self.moment / self.total
    }

    /// The lowest height below which the share `share` of the length lies; not a number for a path
    /// without length. Newton's rule within a bracket, which ends as soon as it stands on the right
    /// piece; it begins at `near`, or where that is not a number at the mean.
    pub fn quantile(&self, share: f64, near: N) -> N {
        let wanted = N::of(share) * self.total;
        let mut height =
            near.with(self.mean(), |near, mean| if near.is_finite() { near } else { mean });
        let [mut low, mut high] = self.ends;
        for _ in 0..MOST_STEPS {
            let [below, density] = self.below_and_density(height);
            let missing = wanted - below;
            let next = height + missing / density;
            let higher = |lane: usize| missing.lane(lane) > 0.0;
            low = N::lanes(|at| if higher(at) { height.lane(at) } else { low.lane(at) });
            high = N::lanes(|at| if higher(at) { high.lane(at) } else { height.lane(at) });
            let mut found = true;
            height = N::lanes(|at| {
                let (low, high) = (low.lane(at), high.lane(at));
                let (height, next) = (height.lane(at), next.lane(at));
                if height.is_nan() || (next - height).abs() < FOUND_M || high - low < FOUND_M {
                    return height;
                }
                found = false;
                if next > low && next < high { next } else { 0.5 * (low + high) }
            });
            if found {
                break;
            }
        }
        height
    }
}
