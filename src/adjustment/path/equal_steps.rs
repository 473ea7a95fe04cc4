//! The equally stepped path: a pair of dividers walked along the legs.

/// The points that dividers opened to `ruler` meet along the polyline `points`, the first point
/// included; the rest beyond the last whole step is left out. Steps are chords of exactly the
/// ruler's length. Source: [`Source::Mandelbrot1967`](crate::survey::sources::Source::Mandelbrot1967).
pub fn stepped<const N: usize>(points: &[[f64; N]], ruler: f64) -> Vec<[f64; N]> {
    let Some(&first) = points.first() else { return Vec::new() };
    let mut met = vec![first];
    if ruler.is_nan() || ruler <= 0.0 {
        return met;
    }
    let (mut centre, mut from) = (first, 0.0);
    let mut segment = 0;
    while segment + 1 < points.len() {
        let (a, b) = (&points[segment], &points[segment + 1]);
        if let Some(t) = leaves(a, b, &centre, ruler, from) {
            centre = std::array::from_fn(|k| a[k] + t * (b[k] - a[k]));
            met.push(centre);
            from = t;
        } else {
            segment += 1;
            from = 0.0;
        }
    }
    met
}

/// Closer than this share of the ruler is as far as the ruler reaches.
const TOUCHING: f64 = 1e-9;

/// The first share of the segment a → b, from `from` on, at which it leaves the ball about
/// `centre`.
///
/// ```text
/// |a + t (b − a) − c|² = r²
/// ```
fn leaves<const N: usize>(
    a: &[f64; N],
    b: &[f64; N],
    centre: &[f64; N],
    ruler: f64,
    from: f64,
) -> Option<f64> {
    let (mut dd, mut df, mut ff) = (0.0, 0.0, 0.0);
    for k in 0..N {
        let (d, f) = (b[k] - a[k], a[k] - centre[k]);
        dd += d * d;
        df += d * f;
        ff += f * f;
    }
    if dd <= 0.0 {
        return None;
    }
    let root = (df * df - dd * (ff - ruler * ruler)).max(0.0).sqrt();
    let t = (root - df) / dd;
    // The ruler is often one of the legs: its end is met, whichever way it is rounded.
    let outside = ff + 2.0 * df + dd - ruler * ruler >= -TOUCHING * ruler * ruler;
    (t > from && t <= 1.0 + TOUCHING && outside).then(|| t.min(1.0))
}

/// The divider dimension: 1 less the slope of log length against log ruler, over rulers from
/// `smallest` to `largest`; what is left over beyond the last whole step counts as its part of a
/// step. `None` where the path is too short for three rulers, and where the fit is none of a line,
/// whose dimension lies between 1 and 2: by more than its standard error under 1, or over 2.
pub fn dimension<const N: usize>(points: &[[f64; N]], smallest: f64, largest: f64) -> Option<f64> {
    const RULERS: i32 = 6;
    if smallest.is_nan() || largest.is_nan() || smallest <= 0.0 || largest < 2.0 * smallest {
        return None;
    }
    let ratio = (largest / smallest).powf(1.0 / f64::from(RULERS - 1));
    let pair = |k| {
        let ruler = smallest * ratio.powi(k);
        let met = stepped(points, ruler);
        let rest = distance(met.last()?, points.last()?);
        let steps = met.len() as f64 - 1.0;
        (steps >= 1.0).then(|| (ruler.ln(), (steps * ruler + rest).ln()))
    };
    let pairs: Vec<(f64, f64)> = (0..RULERS).filter_map(pair).collect();
    if pairs.len() < 3 {
        return None;
    }
    let dimension = 1.0 - slope(&pairs);
    let least = 1.0 - slope_error(&pairs) - TOUCHING;
    (least..=2.0).contains(&dimension).then(|| dimension.max(1.0))
}

fn distance<const N: usize>(a: &[f64; N], b: &[f64; N]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
}

/// Standard error of that slope.
///
/// ```text
/// √( Σ (y − ŷ)² / (n − 2) / Σ (x − x̄)² )
/// ```
fn slope_error(pairs: &[(f64, f64)]) -> f64 {
    let n = pairs.len() as f64;
    let (x, y) = pairs.iter().fold((0.0, 0.0), |sum, p| (sum.0 + p.0 / n, sum.1 + p.1 / n));
    let slope = slope(pairs);
    let off: f64 = pairs.iter().map(|p| (p.1 - y - slope * (p.0 - x)).powi(2)).sum();
    let xx: f64 = pairs.iter().map(|p| (p.0 - x).powi(2)).sum();
    (off / (n - 2.0) / xx).sqrt()
}

/// Slope of the least-squares line through the pairs.
pub fn slope(pairs: &[(f64, f64)]) -> f64 {
    let n = pairs.len() as f64;
    let (x, y) = pairs.iter().fold((0.0, 0.0), |sum, p| (sum.0 + p.0 / n, sum.1 + p.1 / n));
    let xy: f64 = pairs.iter().map(|p| (p.0 - x) * (p.1 - y)).sum();
    let xx: f64 = pairs.iter().map(|p| (p.0 - x).powi(2)).sum();
    xy / xx
}
