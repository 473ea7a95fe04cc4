//! How each leg's direction in plan is known, and whether a trail has a plan at all.

use crate::quantity::Turn;
use crate::survey::Survey;
use crate::survey::rows::{AnchorRow, Readings};
use crate::survey::settings::{MissingBearing, Precision};

/// What a leg's readings say of its direction, before its neighbours are asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Direction {
    Needle,
    Turn,
    Plumb,
    Missing,
    /// Nothing that could place its far end was measured.
    Unmeasured,
}

/// The direction of the leg from the anchor of row `from` to that of row `to`.
pub(super) fn direction(from: &AnchorRow, to: &AnchorRow, precision: &Precision) -> Direction {
    let Readings { tape, bearing, back_bearing, turn, .. } = to.readings;
    match tape {
        None => Direction::Unmeasured,
        Some(_) if bearing.is_some() || back_bearing.is_some() => Direction::Needle,
        Some(_) if turn.is_some() => Direction::Turn,
        Some(tape) if is_plumb(from, to, tape.to_metres(), precision) => Direction::Plumb,
        Some(_) if to.gap.is_some() => Direction::Unmeasured,
        Some(_) => Direction::Missing,
    }
}

/// Whether tape and rise leave no room for a horizontal offset of more than 3 `plumb_m`, their own
/// uncertainty of three standard deviations included.
///
/// ```text
/// q = d² − Δz² ≤ (3 plumb)² + 3 σ(q),   σ(q) = 2 √( (d σd)² + (Δz σΔz)² )
/// ```
fn is_plumb(from: &AnchorRow, to: &AnchorRow, d: f64, precision: &Precision) -> bool {
    let reach = (3.0 * precision.plumb_m).powi(2);
    if let Some(incline) = to.readings.incline {
        let (sin, cos) = incline.to_radians().sin_cos();
        let sd = d * sin * Turn::from_degrees(precision.incline_deg).to_radians();
        return d * cos <= reach.sqrt() + 3.0 * sd.abs();
    }
    let Some((a, b)) = from.height.zip(to.height) else { return d * d <= reach };
    let sd = |row: &AnchorRow, height: f64| precision.height(height, row.height_by);
    let sd_rise = sd(from, a.to_metres()).hypot(sd(to, b.to_metres()));
    let rise = b.to_metres() - a.to_metres();
    let sd_q = 2.0 * (d * precision.tape(d)).hypot(rise * sd_rise);
    d * d - rise * rise <= reach + 3.0 * sd_q
}

/// Whether a trail with these directions can be followed in profile only.
pub(super) fn is_profile_only(survey: &Survey, directions: &[Direction]) -> bool {
    survey.settings.missing_bearing == MissingBearing::ProfileOnly
        && directions.contains(&Direction::Missing)
}
