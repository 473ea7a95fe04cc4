//! Places, looks and texts as SVG writes them.

use super::area::Spot;
use super::looks::Stroke;
use crate::maths::quantity::Turn;
use std::fmt::Write;

/// Where a text says how wide it is, so that another font cannot push it over its neighbours.
pub(in crate::products::figure) const LENGTH: &str = " textLength=\"";
/// What follows the width.
pub(in crate::products::figure) const ADJUST: &str = "\" lengthAdjust=\"spacingAndGlyphs\"";

/// Numbers are rounded here and nowhere else: to a hundredth of a millimetre.
pub(in crate::products::figure) fn mm(value: f64) -> String {
    let mut text = format!("{value:.2}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".to_owned() } else { text }
}

pub(super) fn path(places: &[Spot]) -> String {
    let mut path = String::new();
    for (at, [x, y]) in places.iter().enumerate() {
        let _ = write!(path, "{}{} {}", if at == 0 { "M" } else { "L" }, mm(*x), mm(*y));
    }
    path
}

/// An ellipse as two arcs, from one end of its first axis to the other and back.
pub(super) fn oval([x, y]: Spot, [a, b]: [Spot; 2]) -> String {
    let turned = mm(Turn::from_radians(a[1].atan2(a[0])).to_degrees());
    let arc = |sign: f64| {
        let [long, wide] = [a, b].map(|axis| mm(axis[0].hypot(axis[1])));
        let [right, down] = [2.0 * sign * a[0], 2.0 * sign * a[1]].map(mm);
        format!("a{long} {wide} {turned} 1 0 {right} {down}")
    };
    format!("M{} {}{}{}Z", mm(x + a[0]), mm(y + a[1]), arc(-1.0), arc(1.0))
}

pub(super) fn look(stroke: Stroke) -> String {
    let dash: Vec<String> = stroke.dash.iter().map(|length| mm(*length)).collect();
    let dash = if dash.is_empty() {
        String::new()
    } else {
        format!(" stroke-dasharray=\"{}\" stroke-linecap=\"butt\"", dash.join(" "))
    };
    format!(" stroke=\"{}\" stroke-width=\"{}\"{dash}", stroke.colour.hex(), mm(stroke.width))
}
