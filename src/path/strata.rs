//! Metres of path by height: legs are cut at the edges, never counted by their midpoints.

use super::legs::{Geometry, Leg};

/// A leg as its length and the heights at its ends, metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Length along the leg.
    pub length: f64,
    /// Height where it starts.
    pub from: f64,
    /// Height where it ends.
    pub to: f64,
}

/// The counted `legs` as stretches.
pub fn stretches<'a>(
    geometry: &'a Geometry,
    legs: &'a [Leg],
) -> impl Iterator<Item = Stretch> + 'a {
    legs.iter().filter(|leg| leg.counted).map(|leg| {
        let [e, n, u] = geometry.along(leg);
        let (from, to) = (geometry.heights[leg.from], geometry.heights[leg.to]);
        Stretch { length: e.hypot(n).hypot(u), from, to }
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
#[derive(Clone, Debug, Default)]
pub struct LengthByHeight {
    low: Vec<f64>,
    high: Vec<f64>,
    length: Vec<f64>,
    /// Metres of length for each metre of height.
    density: Vec<f64>,
    total: f64,
    /// Length times height, m².
    moment: f64,
}

impl FromIterator<Stretch> for LengthByHeight {
    fn from_iter<I: IntoIterator<Item = Stretch>>(stretches: I) -> Self {
        let mut spread = Self::default();
        stretches.into_iter().for_each(|stretch| spread.push(stretch));
        spread
    }
}

impl LengthByHeight {
    /// Forgets all stretches and keeps the room they took.
    pub fn clear(&mut self) {
        for column in [&mut self.low, &mut self.high, &mut self.length, &mut self.density] {
            column.clear();
        }
        (self.total, self.moment) = (0.0, 0.0);
    }

    /// Adds one stretch.
    pub fn push(&mut self, stretch: Stretch) {
        let (low, high) = (stretch.from.min(stretch.to), stretch.from.max(stretch.to));
        self.low.push(low);
        self.high.push(high.max(low + LEVEL_M));
        self.length.push(stretch.length);
        self.density.push(stretch.length / (high - low).max(LEVEL_M));
        self.total += stretch.length;
        self.moment += stretch.length * 0.5 * (low + high);
    }

    /// The whole length, metres.
    pub const fn total(&self) -> f64 {
        self.total
    }

    /// How much of the length lies below `edge`, metres; a level stretch on the edge does not.
    ///
    /// ```text
    /// Σ length · (edge − low) / (high − low), each cut to [0, length]
    /// ```
    pub fn below(&self, edge: f64) -> f64 {
        let below = |low: f64, density: f64, length: f64| {
            let part = (edge - low) * density;
            if part < 0.0 { 0.0 } else { part.min(length) }
        };
        sum([&self.low, &self.density, &self.length], below)
    }

    /// How much length each metre of height holds just below `height`.
    fn density(&self, height: f64) -> f64 {
        let held = |low: f64, high: f64, density: f64| {
            if low < height && height <= high { density } else { 0.0 }
        };
        sum([&self.low, &self.high, &self.density], held)
    }

    /// Metres in each stratum `[edge, next edge)`, the first from minus infinity, the last open.
    pub fn by_stratum<'a>(&'a self, edges: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
        let mut lower = 0.0;
        let cuts = edges.iter().map(|&edge| self.below(edge)).chain([self.total]);
        cuts.map(move |upper| upper - std::mem::replace(&mut lower, upper))
    }

    /// Length-weighted mean height; `None` for a path without length.
    pub fn mean(&self) -> Option<f64> {
        (self.total > 0.0).then(|| self.moment / self.total)
    }

    /// The lowest height below which the share `share` of the length lies; `None` for a path
    /// without length. Newton's rule within a bracket, which ends as soon as it stands on the right
    /// piece; it begins at `near`, or where that is not a number at the mean.
    pub fn quantile(&self, share: f64, near: f64) -> Option<f64> {
        let wanted = share * self.total;
        let mean = self.mean()?;
        let mut height = if near.is_finite() { near } else { mean };
        let mut low = self.low.iter().copied().fold(f64::INFINITY, f64::min);
        let mut high = self.high.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        for _ in 0..MOST_STEPS {
            let missing = wanted - self.below(height);
            if missing > 0.0 {
                low = height;
            } else {
                high = height;
            }
            let next = height + missing / self.density(height);
            if (next - height).abs() < FOUND_M || high - low < FOUND_M {
                break;
            }
            height = if next > low && next < high { next } else { 0.5 * (low + high) };
        }
        Some(height)
    }
}

/// Sum of f over three columns, in lanes that the processor adds at once.
#[inline]
fn sum(columns: [&Vec<f64>; 3], f: impl Fn(f64, f64, f64) -> f64) -> f64 {
    const LANES: usize = 4;
    let [a, b, c] = columns.map(|column| column.chunks_exact(LANES));
    let rest = (a.remainder().iter().zip(b.remainder())).zip(c.remainder());
    let rest: f64 = rest.map(|((&a, &b), &c)| f(a, b, c)).sum();
    let mut sums = [0.0; LANES];
    for ((a, b), c) in a.zip(b).zip(c) {
        for lane in 0..LANES {
            sums[lane] += f(a[lane], b[lane], c[lane]);
        }
    }
    sums.iter().sum::<f64>() + rest
}
