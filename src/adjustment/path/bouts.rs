//! Bouts: stretches above the ground and on it, in turn.

use super::legs::{Geometry, Leg, Path};

/// A stretch above or on the ground.
#[derive(Clone, Debug, PartialEq)]
pub struct Bout {
    /// Whether it lies above the ground.
    pub above: bool,
    /// The point at or before which it begins.
    pub first: usize,
    /// The point at or after which it ends.
    pub last: usize,
    /// Metres of counted path.
    pub length: f64,
    /// The greatest height, metres.
    pub highest: f64,
    /// Length-weighted mean height, metres.
    pub mean_height: Option<f64>,
    /// How many of its legs cross a gap.
    pub gaps: usize,
    /// Length times height so far.
    weighted: f64,
}

/// The bouts of the given legs of a path, cut where a leg crosses the height `edge`.
pub fn bouts(legs: &[Leg], geometry: &Geometry, edge: f64) -> Vec<Bout> {
    let mut bouts: Vec<Bout> = Vec::new();
    for leg in legs {
        let (a, b) = (geometry.heights[leg.from], geometry.heights[leg.to]);
        let length = if leg.counted { geometry.length(leg) } else { 0.0 };
        if (a >= edge) == (b >= edge) {
            extend(&mut bouts, leg, b >= edge, (length, a, b));
        } else {
            let share = (edge - a) / (b - a);
            extend(&mut bouts, leg, a >= edge, (length * share, a, edge));
            extend(&mut bouts, leg, b >= edge, (length * (1.0 - share), edge, b));
        }
    }
    for bout in &mut bouts {
        bout.mean_height = (bout.length > 0.0).then(|| bout.weighted / bout.length);
    }
    bouts
}

/// Adds a piece of a leg to the bout it goes on with, or begins the next one.
fn extend(bouts: &mut Vec<Bout>, leg: &Leg, above: bool, (length, a, b): (f64, f64, f64)) {
    if bouts.last().is_none_or(|bout| bout.above != above) {
        bouts.push(Bout {
            above,
            first: leg.from,
            last: leg.to,
            length: 0.0,
            highest: f64::NEG_INFINITY,
            mean_height: None,
            gaps: 0,
            weighted: 0.0,
        });
    }
    let Some(bout) = bouts.last_mut() else { return };
    bout.last = leg.to;
    bout.length += length;
    bout.weighted += length * 0.5 * (a + b);
    bout.highest = bout.highest.max(a).max(b);
    bout.gaps += usize::from(leg.gap.is_some());
}

/// How many bouts above the ground a walk of these heights makes, without their details: what is
/// counted in every draw.
pub fn count_above(legs: &[Leg], heights: &[f64], edge: f64) -> usize {
    let mut above = false;
    let mut count = 0;
    for (at, leg) in legs.iter().enumerate() {
        let starts = at == 0 && heights[leg.from] >= edge;
        let now = heights[leg.to] >= edge;
        count += usize::from(starts) + usize::from(now && !(above || starts));
        above = now;
    }
    count
}

/// The place of a bout within its path, for a reader: the trees at which it is entered and left.
pub fn ends(path: &Path, bout: &Bout) -> [usize; 2] {
    [path.points[bout.first].row, path.points[bout.last].row]
}
