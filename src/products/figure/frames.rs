//! Maps of different extent on one page, at one scale.

use super::canvas::Area;

/// What one frame must hold.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tile {
    /// Metres across and down.
    pub(super) metres: [f64; 2],
    /// Millimetres added around that on each side, for marks and names.
    pub(super) margin: f64,
    /// Millimetres above it, for a heading.
    pub(super) head: f64,
    /// Fewest millimetres across.
    pub(super) least: f64,
}

/// Frames laid out in rows, in order.
pub(super) struct Frames {
    pub(super) mm_per_m: f64,
    /// Each frame, without its heading.
    pub(super) areas: Vec<Area>,
    /// Millimetres down.
    pub(super) height: f64,
}

/// Between frames, millimetres.
const GAP_MM: f64 = 2.5;
/// Nothing is drawn larger than this, millimetres a metre: 1 : 20.
const LARGEST: f64 = 50.0;

/// More frames than this have little room each, so that margins and names are cut short.
pub(super) const MANY: usize = 20;
/// What many frames may take down the page, millimetres.
const PAGE_MM: f64 = 205.0;

/// The largest scale at which all tiles fit in `width`, in rows, and in `most` millimetres down;
/// laid out from `[0, 0]`. So many tiles that their headings alone take up `most` may have the page.
pub(super) fn pack(tiles: &[Tile], width: f64, most: f64) -> Frames {
    let low = largest(most, |scale| lay(tiles, width, scale));
    // A little smaller may fill the page much better.
    let smaller = (1..=12).map(|step| low * (1.0 - 0.025 * f64::from(step)));
    let best = lay(tiles, width, low).map_or(f64::INFINITY, |frames| frames.height);
    let mut better = smaller.filter_map(|scale| lay(tiles, width, scale));
    if let Some(frames) = better.find(|frames| frames.height < 0.7 * best) {
        return frames;
    }
    lay(tiles, width, low).unwrap_or(Frames { mm_per_m: low, areas: Vec::new(), height: 0.0 })
}

/// The same without rows: each tile stands as high as there is room for it, so that small ones fill
/// the gaps beside large ones.
pub(super) fn fill(tiles: &[Tile], width: f64, most: f64) -> Frames {
    let low = largest(most, |scale| drop_in(tiles, width, scale));
    drop_in(tiles, width, low).unwrap_or(Frames { mm_per_m: low, areas: Vec::new(), height: 0.0 })
}

/// The largest scale at which what is laid out is no higher than `most`.
fn largest(most: f64, laid: impl Fn(f64) -> Option<Frames>) -> f64 {
    let (mut low, mut high) = (1e-6_f64, LARGEST);
    let bare = laid(low).map_or(0.0, |frames| frames.height);
    let most = if bare > 0.6 * most { PAGE_MM.max(1.3 * bare) } else { most };
    for _ in 0..50 {
        let middle = (low * high).sqrt();
        if laid(middle).is_some_and(|frames| frames.height <= most) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// Tiles at a scale, each where it comes to stand highest; `None` where one is wider than the page.
fn drop_in(tiles: &[Tile], width: f64, mm_per_m: f64) -> Option<Frames> {
    // How far down the page is taken: from where, and by how much.
    let mut taken: Vec<[f64; 2]> = vec![[0.0, 0.0]];
    let mut areas = Vec::with_capacity(tiles.len());
    for tile in tiles {
        let [wide, high] = tile.metres.map(|m| m * mm_per_m + 2.0 * tile.margin);
        let wide = wide.max(tile.least.min(width));
        let depth = |from: f64| {
            let ends = taken.iter().skip(1).map(|step| step[0]).chain([f64::INFINITY]);
            let under = taken
                .iter()
                .zip(ends)
                .filter(|(step, end)| step[0] < from + wide + GAP_MM - 1e-9 && *end > from + 1e-9);
            under.map(|(step, _)| step[1]).fold(0.0, f64::max)
        };
        let starts = taken.iter().map(|step| step[0]);
        let fitting = starts.filter(|from| from + wide <= width + 1e-6);
        let (left, top) = fitting
            .map(|from| (from, depth(from)))
            .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.total_cmp(&b.0)))?;
        areas.push(Area::new(left, top + tile.head, wide, high));
        let (right, below) = (left + wide + GAP_MM, top + tile.head + high + GAP_MM);
        let after = taken.iter().rev().find(|step| step[0] <= right + 1e-9).map_or(0.0, |s| s[1]);
        taken.retain(|step| step[0] < left - 1e-9 || step[0] > right + 1e-9);
        taken.extend([[left, below], [right, after]]);
        taken.sort_by(|a, b| a[0].total_cmp(&b[0]));
    }
    let height = areas.iter().map(|area| area.bottom).fold(0.0, f64::max);
    Some(Frames { mm_per_m, areas, height })
}

/// Rows at a scale; `None` where a tile is wider than the page.
fn lay(tiles: &[Tile], width: f64, mm_per_m: f64) -> Option<Frames> {
    let size = |tile: &Tile| {
        let [wide, high] = tile.metres.map(|m| m * mm_per_m + 2.0 * tile.margin);
        [wide.max(tile.least.min(width)), high]
    };
    let mut rows: Vec<Vec<usize>> = Vec::new();
    let mut used = f64::INFINITY;
    for (at, tile) in tiles.iter().enumerate() {
        let [wide, _] = size(tile);
        if wide > width + 1e-6 {
            return None;
        }
        if used + GAP_MM + wide > width + 1e-6 {
            rows.push(Vec::new());
            used = -GAP_MM;
        }
        if let Some(row) = rows.last_mut() {
            row.push(at);
        }
        used += GAP_MM + wide;
    }
    let mut areas = Vec::with_capacity(tiles.len());
    let mut y = 0.0;
    for row in &rows {
        let head = row.iter().map(|&at| tiles[at].head).fold(0.0, f64::max);
        let high = row.iter().map(|&at| size(&tiles[at])[1]).fold(0.0, f64::max);
        let taken: f64 = row.iter().map(|&at| size(&tiles[at])[0]).sum();
        let gaps = GAP_MM * row.len().saturating_sub(1) as f64;
        // What is left over goes to the frames, alike; but an unfilled last row keeps its sizes.
        let left_over = width - taken - gaps;
        let share = left_over / row.len() as f64;
        let share = if share > 0.35 * width && tiles.len() > 1 { 0.0 } else { share };
        let mut x = 0.0;
        for &at in row {
            let wide = size(&tiles[at])[0] + share;
            areas.push(Area::new(x, y + head, wide, high));
            x += wide + GAP_MM;
        }
        y += head + high + GAP_MM;
    }
    Some(Frames { mm_per_m, areas, height: (y - GAP_MM).max(0.0) })
}

/// The box around places in plan, metres: west, south, east, north.
pub(super) fn extent(places: impl IntoIterator<Item = [f64; 2]>) -> [f64; 4] {
    let none = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    let found = places
        .into_iter()
        .fold(none, |e, [x, y]| [e[0].min(x), e[1].min(y), e[2].max(x), e[3].max(y)]);
    if found[0] > found[2] { [0.0; 4] } else { found }
}

/// Places that lie so far apart that one frame would be mostly empty are parted: the widest gap is
/// cut while that leaves out half of the area. In: the box around each; out: their places in order.
pub(super) fn places(boxes: &[[f64; 4]]) -> Vec<Vec<usize>> {
    let all: Vec<usize> = (0..boxes.len()).collect();
    if all.is_empty() {
        return Vec::new();
    }
    let mut done = part(boxes, all);
    for place in &mut done {
        place.sort_unstable();
    }
    done.sort_by_key(|place| place.first().copied());
    done
}

fn part(boxes: &[[f64; 4]], members: Vec<usize>) -> Vec<Vec<usize>> {
    let Some((one, other)) = parted(boxes, &members) else { return vec![members] };
    let [whole, a, b] = [&members, &one, &other].map(|members| area(boxes, members));
    if a + b > 0.5 * whole {
        return vec![members];
    }
    [one, other].into_iter().flat_map(|members| part(boxes, members)).collect()
}

/// Area of the box around several, with a margin so that a single point has some.
fn area(boxes: &[[f64; 4]], members: &[usize]) -> f64 {
    const MARGIN_M: f64 = 10.0;
    let corners = members.iter().flat_map(|&at| {
        let [w, s, e, n] = boxes[at];
        [[w, s], [e, n]]
    });
    let [w, s, e, n] = extent(corners);
    (e - w + MARGIN_M) * (n - s + MARGIN_M)
}

/// The two sides of the widest gap on the shortest tree that joins the boxes.
fn parted(boxes: &[[f64; 4]], members: &[usize]) -> Option<(Vec<usize>, Vec<usize>)> {
    let gap = |a: usize, b: usize| {
        let ([aw, as_, ae, an], [bw, bs, be, bn]) = (boxes[a], boxes[b]);
        let x = (bw - ae).max(aw - be).max(0.0);
        let y = (bs - an).max(as_ - bn).max(0.0);
        x.hypot(y)
    };
    // Prim's rule, in order of the members.
    let mut joined = vec![*members.first()?];
    let mut edges: Vec<(usize, usize, f64)> = Vec::new();
    while joined.len() < members.len() {
        let open = members.iter().filter(|at| !joined.contains(at));
        let pairs = open.flat_map(|&b| joined.iter().map(move |&a| (a, b)));
        let next = pairs.map(|(a, b)| (a, b, gap(a, b))).min_by(|x, y| x.2.total_cmp(&y.2))?;
        joined.push(next.1);
        edges.push(next);
    }
    let widest = edges.iter().enumerate().max_by(|x, y| x.1.2.total_cmp(&y.1.2))?.0;
    edges.remove(widest);
    let mut one = vec![members[0]];
    // Edges stand in the order in which they joined: one pass reaches all but what hangs backwards.
    for _ in 0..=edges.len() {
        for &(a, b, _) in &edges {
            match (one.contains(&a), one.contains(&b)) {
                (true, false) => one.push(b),
                (false, true) => one.push(a),
                _ => {}
            }
        }
    }
    let other: Vec<usize> = members.iter().copied().filter(|at| !one.contains(at)).collect();
    (!other.is_empty()).then_some((one, other))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_places_far_apart_have_two_frames() {
        let near = |x: f64, y: f64| [x, y, x + 20.0, y + 20.0];
        let boxes = [near(0.0, 0.0), near(400.0, 300.0), near(30.0, 10.0), near(420.0, 340.0)];
        assert_eq!(places(&boxes), [vec![0, 2], vec![1, 3]]);
        assert_eq!(places(&boxes[..1]), [vec![0]]);
    }

    #[test]
    fn frames_fit_the_page() {
        let tile = |wide| Tile { metres: [wide, 30.0], margin: 3.0, head: 4.0, least: 10.0 };
        let frames = pack(&[tile(20.0), tile(50.0), tile(0.0)], 85.0, 100.0);
        assert!(frames.height <= 100.0 && frames.height > 60.0, "{}", frames.height);
        assert!(frames.areas.iter().all(|area| area.right <= 85.001 && area.left >= 0.0));
    }

    #[test]
    fn small_tiles_fill_the_gaps_and_none_lies_on_another() {
        let tile = |wide, high| Tile { metres: [wide, high], margin: 2.0, head: 4.0, least: 8.0 };
        let mut tiles = vec![tile(30.0, 90.0)];
        tiles.extend((1_u8..20).map(|at| tile(f64::from(at * 7 % 23), f64::from(40 - 2 * at))));
        let (filled, rows) = (fill(&tiles, 120.0, 150.0), pack(&tiles, 120.0, 150.0));
        assert!(filled.height <= 150.0 && filled.mm_per_m > rows.mm_per_m);
        let whole = |area: &Area| Area { top: area.top - 4.0, ..*area };
        for (at, area) in filled.areas.iter().enumerate() {
            assert!(area.right <= 120.001 && area.left >= 0.0);
            let others = &filled.areas[..at];
            assert!(others.iter().all(|other| !whole(other).meets(&whole(area))), "{at}");
        }
    }
}
