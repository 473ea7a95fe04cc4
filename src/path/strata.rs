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

impl Stretch {
    /// How much of its length lies below `edge`; a level stretch on the edge does not.
    ///
    /// ```text
    /// length · (edge − low) / (high − low), cut to [0, length]
    /// ```
    pub fn below(&self, edge: f64) -> f64 {
        let (low, high) = (self.from.min(self.to), self.from.max(self.to));
        if high <= edge {
            if low < edge { self.length } else { 0.0 }
        } else if low >= edge {
            0.0
        } else {
            self.length * (edge - low) / (high - low)
        }
    }
}

/// Metres in each stratum `[edge, next edge)`, the first from minus infinity, the last open.
pub fn by_stratum(stretches: &[Stretch], edges: &[f64]) -> Vec<f64> {
    let total: f64 = stretches.iter().map(|stretch| stretch.length).sum();
    let below = |edge: f64| stretches.iter().map(|stretch| stretch.below(edge)).sum::<f64>();
    let mut cuts: Vec<f64> = vec![0.0];
    cuts.extend(edges.iter().map(|&edge| below(edge)));
    cuts.push(total);
    cuts.windows(2).map(|pair| pair[1] - pair[0]).collect()
}

/// Length-weighted mean height; `None` for a path without length.
pub fn mean_height(stretches: &[Stretch]) -> Option<f64> {
    let total: f64 = stretches.iter().map(|stretch| stretch.length).sum();
    let weighted: f64 = stretches.iter().map(|s| s.length * 0.5 * (s.from + s.to)).sum();
    (total > 0.0).then(|| weighted / total)
}

/// The height below which the share `q` of the length lies, exact on the piecewise linear
/// distribution that cut legs make; `None` for a path without length.
pub fn height_quantiles<const N: usize>(
    stretches: &[Stretch],
    shares: [f64; N],
) -> Option<[f64; N]> {
    let total: f64 = stretches.iter().map(|stretch| stretch.length).sum();
    if total.is_nan() || total <= 0.0 {
        return None;
    }
    // Sweep upward: where the density of length over height changes, and lumps of level legs.
    let mut events: Vec<(f64, f64, f64)> = Vec::with_capacity(2 * stretches.len());
    for s in stretches.iter().filter(|s| s.length > 0.0) {
        let (low, high) = (s.from.min(s.to), s.from.max(s.to));
        if high - low < 1e-9 {
            events.push((low, 0.0, s.length));
        } else {
            let density = s.length / (high - low);
            events.push((low, density, 0.0));
            events.push((high, -density, 0.0));
        }
    }
    events.sort_by(|a, b| a.0.total_cmp(&b.0));
    Some(shares.map(|q| sweep(&events, q * total)))
}

/// The height at which the swept length reaches `wanted`.
fn sweep(events: &[(f64, f64, f64)], wanted: f64) -> f64 {
    let (mut height, mut density, mut swept) = (f64::NAN, 0.0, 0.0);
    for &(at, change, lump) in events {
        let ahead = density * (at - height);
        if density > 0.0 && swept + ahead >= wanted {
            return height + (wanted - swept) / density;
        }
        if density > 0.0 {
            swept += ahead;
        }
        height = at;
        density = f64::max(density + change, 0.0);
        swept += lump;
        if swept >= wanted {
            return height;
        }
    }
    height
}
