//! The rows of a made-up trail of any length.

use std::fmt::Write;

/// The headings of the two tables.
pub(crate) const HEADINGS: [&str; 2] =
    ["trail,anchor,tape_m,bearing_deg,height_m\n", "trail,from,to,tape_m,bearing_deg\n"];

/// The rows of anchors and of ties of a chain of legs that climb and descend, with a tie over thirty
/// legs at every so many anchors. The readings are exact to their rounding: what is timed is the
/// work, not the luck.
pub(crate) fn rows(trail: &str, legs: usize, every: usize) -> [String; 2] {
    let mut anchors = format!("{trail},0,,,1.00\n");
    let mut places = vec![[0.0_f64, 0.0, 1.0]];
    for leg in 1..=legs {
        let [e, n, u] = places[leg - 1];
        let (bearing, turn) = (leg as f64 * 0.7, (leg as f64 * 0.31).sin());
        let heading = bearing.sin() * 1.2 + leg as f64 * 0.02;
        let up = (u + 0.6 * turn).clamp(0.0, 12.0);
        let (run, rise) = (1.5, up - u);
        let place = [e + run * heading.sin(), n + run * heading.cos(), up];
        let degrees = (heading / std::f64::consts::TAU).rem_euclid(1.0) * 360.0;
        let tape = run.hypot(rise);
        let _written = writeln!(anchors, "{trail},{leg},{tape:.3},{degrees:.2},{up:.3}");
        places.push(place);
    }
    let mut ties = String::new();
    for from in (5..legs.saturating_sub(30)).step_by(every) {
        let (a, b) = (places[from], places[from + 30]);
        let v = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
        let tape = v[0].hypot(v[1]).hypot(v[2]);
        let degrees = (v[0].atan2(v[1]) / std::f64::consts::TAU).rem_euclid(1.0) * 360.0;
        let _written = writeln!(ties, "{trail},{from},{},{tape:.3},{degrees:.2}", from + 30);
    }
    [anchors, ties]
}
