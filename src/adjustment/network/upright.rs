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

#[cfg(test)]
mod tests {
    use super::super::written::survey;
    use super::stands_up;

    /// Whether a leg between these rows stands up, in a trail with directions elsewhere and in one
    /// without. Columns: tape, incline, height, support, support of the leg.
    fn stands(rows: [&str; 2]) -> [bool; 2] {
        let headings = "trail,anchor,tape_m,incline_deg,height_m,support,leg_support";
        let (survey, _) = survey(&format!("{headings}\nBor,0,{}\nBor,1,{}", rows[0], rows[1]), "");
        let ends = [&survey.anchors[0], &survey.anchors[1]];
        [true, false].map(|elsewhere| stands_up(&survey, ends, elsewhere))
    }

    /// A leg of 5 m from the ground. Heights of 0 and 4 m are known to 0.05 and 0.094 m, the tape to
    /// 0.032 m, the ground to 0.1 m at either end: 2.5 times all of it are 0.45 m.
    #[test]
    fn a_leg_stands_up_by_nine_tenths_of_its_tape() {
        let rises = |height: f64| stands([",,0,,", &format!("5,,{height},,")])[0];
        assert!(rises(5.0) && rises(4.6) && rises(5.3));
        assert!(!rises(4.4) && !rises(3.5) && !rises(0.0));
        // Downward likewise.
        assert!(stands([",,5,,", "5,,0,,"])[0]);
        // One of 2 m: 2.5 √(0.05² + 0.06² + 0.03² + 2 · 0.1²) = 0.41 m may be missing.
        let short = |height: f64| stands([",,0,,", &format!("2,,{height},,")])[0];
        assert!(short(1.62) && !short(1.4), "0.7 of its tape");
    }

    /// Whatever the heights are uncertain by, what does not rise does not stand.
    #[test]
    fn a_level_leg_does_not_stand() {
        assert_eq!(stands([",,1,,", "0.4,,1,,"]), [false; 2]);
        assert_eq!(stands([",,1,,", "0.4,,1.05,trunk,trunk"]), [false; 2]);
        // Without heights, or without a tape, nothing tells.
        assert_eq!(stands([",,1,,", "2,,,trunk,"]), [false; 2]);
        assert_eq!(stands([",,,,", "2,,2,trunk,"]), [false; 2]);
        assert_eq!(stands([",,0,,", ",,2,trunk,"]), [false; 2]);
    }

    /// asin 0.9 = 64.2°, whatever the heights say.
    #[test]
    fn a_clinometer_tells_what_stands() {
        assert_eq!(stands([",,0,,", "2,65,0,,"]), [true, false]);
        assert_eq!(stands([",,0,,", "2,-65,,,"]), [true, false]);
        assert_eq!(stands([",,0,,", "2,63,2,,"]), [false; 2]);
    }

    #[test]
    fn a_trail_without_directions_needs_something_that_stands() {
        let on = |from: &str, to: &str, leg: &str| {
            stands([&format!(",,0,{from},"), &format!("2,,2,{to},{leg}")])
        };
        assert_eq!(on("", "", ""), [true, false]);
        assert_eq!(on("litter", "branch", ""), [true, false]);
        for standing in ["trunk", "stem", "wall", "Trunk"] {
            assert_eq!(on("litter", standing, ""), [true; 2], "{standing}");
            assert_eq!(on(standing, "branch", ""), [true; 2], "{standing}");
            assert_eq!(on("litter", "branch", standing), [true; 2], "{standing}");
        }
        // What the leg itself lies on is told by the leg.
        assert_eq!(on("litter", "trunk", "liana"), [true, false]);
    }
}
