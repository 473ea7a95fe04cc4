//! Names beside their marks: none lies on another, and none on a line if that can be helped.

use super::canvas::{Area, Canvas, Side, Spot, Stroke, Type};
use crate::scene::palette::QUIET;

/// Distances from the mark that are tried, millimetres; a leader is drawn from the third on.
const DISTANCES: [f64; 7] = [1.0, 2.0, 3.6, 5.5, 8.0, 11.0, 15.0];
/// Clear space kept around a label, millimetres.
const CLEAR: f64 = 0.25;

/// Writes `text` near `mark`, within `bounds`, clear of every text on the canvas. Whether it found
/// room: one without is left out rather than put over another.
pub(super) fn label(canvas: &mut Canvas, mark: Spot, text: &str, set: Type, bounds: &Area) -> bool {
    let mut best: Option<(usize, Spot, Type, f64)> = None;
    for (tier, distance) in DISTANCES.into_iter().enumerate() {
        for (at, set) in around(mark, distance, set) {
            let area = set.area(at, text).grown(CLEAR);
            let taken = canvas.texts.iter().any(|other| other.meets(&area));
            if taken || !bounds.holds(&area) {
                continue;
            }
            let crossed = canvas.lines.iter().filter(|line| crosses(line, &area)).count();
            let cost = crossed * 3 + tier;
            if best.is_none_or(|(least, ..)| cost < least) {
                best = Some((cost, at, set, distance));
            }
        }
        if best.is_some_and(|(least, ..)| least <= tier + 1) {
            break;
        }
    }
    let Some((_, at, set, distance)) = best else { return false };
    if distance > 3.0 {
        let area = set.area(at, text);
        let end = [
            mark[0].clamp(area.left, area.right),
            mark[1].clamp(area.top + 0.2, area.bottom - 0.2),
        ];
        canvas.line(&[mark, end], Stroke::new(QUIET, 0.12));
    }
    canvas.text(at, text, set);
    true
}

/// Places about a mark at a distance: right, left, above, below, then the corners.
fn around(mark: Spot, distance: f64, set: Type) -> [(Spot, Type); 8] {
    let [x, y] = mark;
    let half = 0.5 * set.rise();
    let (right, left) = (set.side(Side::Start), set.side(Side::End));
    let middle = set.side(Side::Middle);
    let slant = 0.75 * distance;
    [
        ([x + distance, y + half], right),
        ([x - distance, y + half], left),
        ([x, y - distance], middle),
        ([x, y + distance + set.rise()], middle),
        ([x + slant, y - slant], right),
        ([x - slant, y - slant], left),
        ([x + slant, y + slant + set.rise()], right),
        ([x - slant, y + slant + set.rise()], left),
    ]
}

/// Whether a straight line meets a box.
fn crosses(line: &[Spot; 2], area: &Area) -> bool {
    let [a, b] = line;
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    let limits = [[area.left, area.right], [area.top, area.bottom]];
    for (axis, [low, high]) in limits.into_iter().enumerate() {
        let d = b[axis] - a[axis];
        if d.abs() < 1e-12 {
            if a[axis] < low || a[axis] > high {
                return false;
            }
            continue;
        }
        let (t, u) = ((low - a[axis]) / d, (high - a[axis]) / d);
        from = from.max(t.min(u));
        to = to.min(t.max(u));
    }
    from <= to
}

#[cfg(test)]
mod tests {
    use super::super::canvas::TEXT;
    use super::*;

    #[test]
    fn a_line_meets_a_box_or_not() {
        let area = Area::new(0.0, 0.0, 2.0, 1.0);
        assert!(crosses(&[[-1.0, 0.5], [3.0, 0.5]], &area));
        assert!(!crosses(&[[-1.0, 1.5], [3.0, 1.5]], &area));
        assert!(!crosses(&[[-1.0, 0.0], [0.0, 2.0]], &area));
        assert!(crosses(&[[0.5, 0.5], [0.6, 0.6]], &area));
    }

    #[test]
    fn labels_of_one_place_never_overlap_and_stay_inside() {
        let mut canvas = Canvas::new();
        let bounds = Area::new(0.0, 0.0, 40.0, 30.0);
        let written =
            (0..60).filter(|_| label(&mut canvas, [20.0, 15.0], "Bramble", TEXT, &bounds)).count();
        assert!(written > 8, "{written}");
        for (at, one) in canvas.texts.iter().enumerate() {
            assert!(bounds.holds(one));
            assert!(canvas.texts[..at].iter().all(|other| !other.meets(one)));
        }
    }
}
