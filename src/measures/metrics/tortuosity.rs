//! How a path winds: sinuosity, the correlated random walk, mean squared displacement.

use crate::adjustment::path::equal_steps::slope;

/// Sinuosity of a path whose turns are symmetric about zero.
/// Source: [`Source::Benhamou2004`](crate::survey::sources::Source::Benhamou2004), equation 8.
///
/// ```text
/// S = 2 / √( p · ( (1 + c) / (1 − c) + b² ) )
/// ```
/// p mean step (metres), c mean cosine of the turns, b coefficient of variation of the steps.
/// `None` where the path is straight (c = 1).
pub fn sinuosity(p: f64, c: f64, b: f64) -> Option<f64> {
    let bracket = (1.0 + c) / (1.0 - c) + b * b;
    (p > 0.0 && c < 1.0 && bracket > 0.0).then(|| 2.0 / (p * bracket).sqrt())
}

/// Sinuosity where the turns prefer one side: s is their mean sine. It reduces to [`sinuosity`]
/// at s = 0; derived from the limit of the expected net squared displacement of
/// [`Source::Kareiva1983`](crate::survey::sources::Source::Kareiva1983).
///
/// ```text
/// S = 2 / √( p · ( (1 − c² − s²) / ((1 − c)² + s²) + b² ) )
/// ```
pub fn sinuosity_general(p: f64, c: f64, s: f64, b: f64) -> Option<f64> {
    let below = (1.0 - c).powi(2) + s * s;
    let bracket = (1.0 - c * c - s * s) / below + b * b;
    (p > 0.0 && below > 0.0 && bracket > 0.0).then(|| 2.0 / (p * bracket).sqrt())
}

/// Expected squared net displacement of a correlated random walk after n moves, m².
/// Source: [`Source::Kareiva1983`](crate::survey::sources::Source::Kareiva1983), in complex notation.
///
/// ```text
/// E(R²) = n m₂ + 2 m₁² Re Σ (n − k) zᵏ,   k = 1 … n − 1,   z = c + i s
/// ```
/// m₁ mean step, m₂ mean squared step, c and s mean cosine and sine of the turns. The closed form
/// divides by (1 − z)² and loses all digits on a nearly straight path. `None` without moves.
pub fn expected_squared_net(n: usize, [m1, m2]: [f64; 2], [c, s]: [f64; 2]) -> Option<f64> {
    let z = nalgebra::Complex::new(c, s);
    let mut power = nalgebra::Complex::new(1.0, 0.0);
    let mut sum = 0.0;
    for k in 1..n {
        power *= z;
        sum += (n - k) as f64 * power.re;
    }
    (n > 0).then_some(n as f64 * m2 + 2.0 * m1 * m1 * sum)
}

/// Slope of log mean squared displacement against log lag, over lags up to a quarter of the
/// points: 1 for a random walk, 2 for a straight line. `None` under twelve points.
pub fn msd_slope(points: &[[f64; 2]]) -> Option<f64> {
    let most = points.len() / 4;
    if most < 3 {
        return None;
    }
    let at_lag = |lag: usize| {
        let squares = points.windows(lag + 1).map(|window| {
            let (a, b) = (window[0], window[lag]);
            (b[0] - a[0]).powi(2) + (b[1] - a[1]).powi(2)
        });
        let mean = squares.sum::<f64>() / (points.len() - lag) as f64;
        (mean > 0.0).then(|| ((lag as f64).ln(), mean.ln()))
    };
    let pairs: Vec<(f64, f64)> = (1..=most).filter_map(at_lag).collect();
    (pairs.len() >= 3).then(|| slope(&pairs))
}
