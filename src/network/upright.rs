//! Which legs without a direction stand plumb: those that stand up by tape and heights.

use crate::survey::Survey;
use crate::survey::names::Name;
use crate::survey::rows::AnchorRow;
use crate::survey::settings::Precision;

/// A leg that rises by this share of its length stands up: within 26° of the plumb line. Common
/// practice, no source.
const UPRIGHT: f64 = 0.9;
/// Standard deviations by which the rise of a plumb leg may fall short of its tape, where it lies on
/// what stands up, or leads from one such place to another: of true trunk legs one in 30,000; ...
const ALLOWED_STANDING: f64 = 4.0;
/// ... and where the trail has directions elsewhere, so that the blank says something, and nothing
/// says that the leg lies on what does not stand up. Else none: branches leave trunks.
const ALLOWED_BLANK: f64 = 2.5;
/// The supports that stand up.
const STANDING: [&str; 3] = ["trunk", "stem", "wall"];

/// Whether a leg without any direction stands plumb: it stands up, and either the trail has
/// directions elsewhere or an end of it lies on what stands up.
pub(super) fn stands_up(
    survey: &Survey,
    [from, to]: [&AnchorRow; 2],
    directed_elsewhere: bool,
) -> bool {
    let Some(tape) = to.readings.tape else { return false };
    let on = |name: Option<Name>| {
        let name = name.map(|name| survey.text(name));
        name.is_some_and(|name| STANDING.iter().any(|standing| standing.eq_ignore_ascii_case(name)))
    };
    let ends = [on(from.support), on(to.support)];
    let standing = |by_ends: bool| to.leg_support.map_or(by_ends, |own| on(Some(own)));
    let unsaid = to.leg_support.is_none() && (from.support.is_none() || to.support.is_none());
    let allowed = match (standing(ends.contains(&true)), directed_elsewhere) {
        _ if standing(ends == [true; 2]) => ALLOWED_STANDING,
        (one_end, true) if one_end || unsaid => ALLOWED_BLANK,
        (false, false) => return false,
        _ => 0.0,
    };
    rises(&survey.settings.precision, [from, to], (tape.to_metres(), allowed))
}

/// Whether a leg rises by nine tenths of its tape, or falls short of all of it by no more than both are
/// uncertain by.
///
/// ```text
/// |Δz| ≥ 0.9 d  or  |Δz| + c √( σΔz² + 2 ρ² + σd² ) ≥ d          by a clinometer: |incline| ≥ asin 0.9
/// ```
fn rises(precision: &Precision, [from, to]: [&AnchorRow; 2], (d, allowed): (f64, f64)) -> bool {
    if let Some(incline) = to.readings.incline {
        return incline.to_radians().abs() >= UPRIGHT.asin();
    }
    let Some((a, b)) = from.height.zip(to.height) else { return false };
    let (a, b) = (a.to_metres(), b.to_metres());
    let sd_rise = precision.height(a, from.height_by).hypot(precision.height(b, to.height_by));
    let rough = precision.ground_m.hypot(precision.ground_m);
    let (rise, short) = ((b - a).abs(), allowed * sd_rise.hypot(rough).hypot(precision.tape(d)));
    rise > sd_rise && (rise >= UPRIGHT * d || rise + short >= d)
}
