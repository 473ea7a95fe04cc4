//! Names beside their marks: none lies on another, and none on a line if that can be helped.

use super::canvas::{Area, Canvas, Side, Spot, Stroke, Type};
use crate::products::scene::palette::QUIET;

/// Distances from the mark that are tried, millimetres; a leader is drawn from the third on.
const DISTANCES: [f64; 7] = [1.0, 2.0, 3.6, 5.5, 8.0, 11.0, 15.0];
/// How far a mark reaches from its middle, millimetres: leaders keep off it.
const MARK_MM: f64 = 1.3;
/// Clear space kept around a label, millimetres.
const CLEAR: f64 = 0.25;

/// Writes `text` near `mark`, within `bounds`, clear of every text on the canvas. Whether it found
/// room: one without is left out rather than put over another.
pub(super) fn label(canvas: &mut Canvas, mark: Spot, text: &str, set: Type, bounds: &Area) -> bool {
    let mut best: Option<(usize, Spot, Type, f64)> = None;
    for (tier, distance) in DISTANCES.into_iter().enumerate() {
        for (at, set) in around(mark, distance, set) {
            let area = set.area(at, text).grown(CLEAR);
            let leader = leader(mark, &set.area(at, text), distance);
            let covers = |other: &Area| {
                other.meets(&area)
                    || leader.is_some_and(|leader| crosses_text(&leader, other, mark))
            };
            if canvas.texts.iter().any(covers) || !bounds.holds(&area) {
                continue;
            }
            let crossed = canvas.lines.iter().filter(|line| crosses(line, &area)).count();
            let led_over = leader
                .map_or(0, |leader| canvas.lines.iter().filter(|line| cut(line, &leader)).count());
            let cost = crossed * 3 + led_over + tier;
            if best.is_none_or(|(least, ..)| cost < least) {
                best = Some((cost, at, set, distance));
            }
        }
        if best.is_some_and(|(least, ..)| least <= tier + 1) {
            break;
        }
    }
    let Some((_, at, set, distance)) = best else { return false };
    if let Some(leader) = leader(mark, &set.area(at, text), distance) {
        canvas.obstacle(&leader, Stroke::new(QUIET, 0.12));
    }
    canvas.text(at, text, set);
    true
}

/// The line from beside a mark to a label that stands far from it.
fn leader(mark: Spot, area: &Area, distance: f64) -> Option<[Spot; 2]> {
    let [x, y] = mark;
    let end = [x.clamp(area.left, area.right), y.clamp(area.top + 0.2, area.bottom - 0.2)];
    let aside = MARK_MM / (end[0] - x).hypot(end[1] - y);
    let start = [x + aside * (end[0] - x), y + aside * (end[1] - y)];
    (distance > 3.0).then_some([start, end])
}

/// Whether a leader runs over a text; what the mark itself stands on does not count.
fn crosses_text(leader: &[Spot; 2], text: &Area, mark: Spot) -> bool {
    let [x, y] = mark;
    let on = text.left <= x && x <= text.right && text.top <= y && y <= text.bottom;
    !on && crosses(leader, text)
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

/// Whether two straight lines cut each other.
fn cut(one: &[Spot; 2], other: &[Spot; 2]) -> bool {
    let side = |[from, to]: &[Spot; 2], at: Spot| {
        (to[0] - from[0]) * (at[1] - from[1]) - (to[1] - from[1]) * (at[0] - from[0])
    };
    let parted = |by: &[Spot; 2], ends: &[Spot; 2]| side(by, ends[0]) * side(by, ends[1]) < 0.0;
    parted(one, other) && parted(other, one)
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
    fn lines_cut_each_other_or_end_before() {
        let level = [[0.0, 1.0], [4.0, 1.0]];
        assert!(cut(&level, &[[1.0, 0.0], [2.0, 3.0]]));
        assert!(!cut(&level, &[[1.0, 0.0], [2.0, 0.9]]));
        assert!(!cut(&level, &[[5.0, 0.0], [5.0, 3.0]]));
    }

    #[test]
    fn a_leader_keeps_off_its_mark_and_out_of_lines() {
        let mut canvas = Canvas::new();
        let mark = [20.0, 15.0];
        // Others have taken what lies near, and a fence stands to the right.
        canvas.texts.push(Area::new(16.5, 11.5, 7.0, 7.0));
        canvas.obstacle(&[[25.0, 5.0], [25.0, 25.0]], Stroke::new(QUIET, 0.3));
        let written = canvas.lines.len();
        assert!(label(&mut canvas, mark, "D01", TEXT, &Area::new(0.0, 0.0, 40.0, 30.0)));
        let [[start, end]] = canvas.lines[written..] else { panic!("a leader is a line") };
        let away = (start[0] - mark[0]).hypot(start[1] - mark[1]);
        assert!((away - MARK_MM).abs() < 1e-9 && end[0] < 25.0, "{start:?} to {end:?}");
    }

    #[test]
    fn labels_of_one_place_never_overlap_and_stay_inside() {
        let mut canvas = Canvas::new();
        let bounds = Area::new(0.0, 0.0, 40.0, 30.0);
        let written =
            (0..60).filter(|_| label(&mut canvas, [20.0, 15.0], "Bramble", TEXT, &bounds)).count();
        assert!(written >= 4, "{written}");
        for (at, one) in canvas.texts.iter().enumerate() {
            assert!(bounds.holds(one));
            assert!(canvas.texts[..at].iter().all(|other| !other.meets(one)));
        }
    }
}
