//! The raw traverse: each leg laid on the end of the leg it hangs on, as a pencil would.

use super::turning::{azimuths, shifts};
use super::{Course, Line, Network};
use std::collections::BTreeMap;

/// A line as its own readings and the heights at its ends give it, before any adjustment.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RawLine {
    /// Horizontal length, metres.
    pub horizontal: f64,
    /// Rise, metres.
    pub rise: f64,
    /// Direction in plan, radians.
    pub azimuth: f64,
}

impl RawLine {
    /// East, north and up, metres.
    pub fn vector(self) -> [f64; 3] {
        let (sin, cos) = self.azimuth.sin_cos();
        [self.horizontal * sin, self.horizontal * cos, self.rise]
    }
}

/// The raw traverse of a network.
#[derive(Clone, Debug, Default)]
pub struct Traverse {
    /// East, north and up of every node, metres.
    pub positions: Vec<[f64; 3]>,
    /// Every line; those that lack a length lie between their placed ends.
    pub lines: Vec<RawLine>,
}

/// The steepest slope by which a line without a tape still tells a rise.
const STEEPEST: f64 = 10.0;

/// Walks the tree of `network` over the ground whose elevation `ground` tells. Where
/// `horizontal_of` knows a line's horizontal length better than its tape, that one is taken.
pub fn walk(
    network: &Network,
    ground: impl Fn(f64, f64) -> f64,
    horizontal_of: impl Fn(usize) -> Option<f64>,
) -> Traverse {
    let mut walk = Walk {
        network,
        ground,
        horizontal_of,
        turned: BTreeMap::new(),
        positions: vec![[0.0; 3]; network.nodes.len()],
        lines: vec![RawLine::default(); network.lines.len()],
    };
    walk.lay();
    // On sloping ground a trail that is turned lies at other elevations, and its legs otherwise.
    for _ in 0..if network.turned.is_empty() { 0 } else { TURNS } {
        walk.turned = azimuths(network, &walk.positions, &walk.turned);
        walk.lay();
    }
    walk.shift_to_known();
    walk.lay_closing_lines();
    Traverse { positions: walk.positions, lines: walk.lines }
}

/// How often a free trail is turned until it lies still on its ground.
const TURNS: usize = 2;

struct Walk<'a, Ground, Horizontal> {
    network: &'a Network,
    ground: Ground,
    horizontal_of: Horizontal,
    /// The direction of the free line in the tree of each root, radians.
    turned: BTreeMap<usize, f64>,
    positions: Vec<[f64; 3]>,
    lines: Vec<RawLine>,
}

impl<Ground, Horizontal> Walk<'_, Ground, Horizontal>
where
    Ground: Fn(f64, f64) -> f64,
    Horizontal: Fn(usize) -> Option<f64>,
{
    /// Lays every node on the tree, its directions first.
    fn lay(&mut self) {
        self.direct();
        let mut last = [0.0; 3];
        for &node in &self.network.order {
            last = match self.network.tree[node].line {
                Some(line) => self.place_by(line, node),
                None => self.place_root(node, last),
            };
        }
    }

    /// A root stands where it is known to be; the first of a trail at the origin; the root of a
    /// later piece where the piece before it ended.
    fn place_root(&mut self, node: usize, last: [f64; 3]) -> [f64; 3] {
        let entered = &self.network.nodes[node];
        let known = entered.known.filter(|known| known.in_plan);
        let continues = entered.trail.is_some_and(|trail| {
            let visits = self.network.visits_of(&self.network.trails[trail]);
            visits.first().is_some_and(|visit| visit.node != node)
        });
        let (east, north) = match known {
            Some(known) => (known.east, known.north),
            None if continues => (last[0], last[1]),
            None => (0.0, 0.0),
        };
        let elevation = entered.known.and_then(|known| known.elevation).map(|(up, _)| up);
        let ground = (self.ground)(east, north);
        let height = self.network.height_at(node);
        let up = height.map_or_else(|| elevation.unwrap_or(ground), |height| ground + height);
        self.positions[node] = [east, north, up];
        self.positions[node]
    }

    fn place_by(&mut self, line: usize, node: usize) -> [f64; 3] {
        let Line { from, to, .. } = self.network.lines[line];
        let (near, sign) = if to == node { (from, 1.0) } else { (to, -1.0) };
        let start = self.positions[near];
        let mut position = start;
        // On sloping ground the rise depends on where the far end comes to lie, and the reverse.
        for _ in 0..4 {
            let rise = self.rise(line, near, node, start, position).map(|rise| rise * sign);
            let raw = self.raw(line, rise);
            self.lines[line] = raw;
            let [east, north, up] = raw.vector();
            position = [start[0] + sign * east, start[1] + sign * north, start[2] + sign * up];
            if rise.is_none() {
                break;
            }
        }
        self.positions[node] = position;
        position
    }

    /// The rise from `near` to `node` by their heights, or by the elevation of a control.
    #[expect(clippy::too_many_arguments, reason = "two ends, each with its place")]
    fn rise(
        &self,
        line: usize,
        near: usize,
        node: usize,
        start: [f64; 3],
        guess: [f64; 3],
    ) -> Option<f64> {
        let known = self.network.nodes[node].known.and_then(|known| known.elevation);
        let above = |height: f64| (self.ground)(guess[0], guess[1]) + height;
        let up = self.network.height_at(node).map(above).or(known.map(|(up, _)| up));
        let both = self.network.height_at(near).is_some() || self.has_no_rise(line);
        up.filter(|_| both).map(|up| up - start[2])
    }

    fn has_no_rise(&self, line: usize) -> bool {
        let line = &self.network.lines[line];
        line.incline.is_none() && line.rise.is_none()
    }

    /// A line's own geometry, given its rise from the heights where they tell it.
    fn raw(&self, line: usize, by_heights: Option<f64>) -> RawLine {
        let l = &self.network.lines[line];
        let tape = l.tape.unwrap_or(0.0);
        let sloped = l.incline.map(|incline| tape * incline.sin());
        let rise = by_heights.or(l.rise).or(sloped).unwrap_or(0.0);
        let by_incline = l.incline.map(|incline| tape * incline.cos());
        let by_rise = (tape * tape - rise * rise).max(0.0).sqrt();
        let horizontal = match l.course {
            Course::Plumb => 0.0,
            _ => (self.horizontal_of)(line).or(by_incline).unwrap_or(by_rise),
        };
        RawLine { horizontal, rise, azimuth: self.lines[line].azimuth }
    }

    /// The direction of every line: of those that know it, then of those that hang on a line behind
    /// them, last first, then of those that hang on a line before.
    fn direct(&mut self) {
        let lines = &self.network.lines;
        for (at, line) in lines.iter().enumerate() {
            self.lines[at].azimuth = match line.course {
                Course::Free => {
                    let root = self.network.tree[line.from].root;
                    self.turned.get(&root).copied().unwrap_or(0.0)
                }
                Course::Profile => 0.0,
                _ => line.needle().unwrap_or(0.0),
            };
        }
        for (at, line) in lines.iter().enumerate().rev() {
            if let Course::TurnBack(behind) | Course::StraightBack(behind) = line.course {
                let turn = lines[behind].turn.filter(|_| line.course == Course::TurnBack(behind));
                self.lines[at].azimuth = self.lines[behind].azimuth - turn.unwrap_or(0.0);
            }
        }
        for (at, line) in lines.iter().enumerate() {
            if let Course::Turn(before) | Course::StraightOn(before) = line.course {
                let turn = line.turn.filter(|_| line.course == Course::Turn(before));
                self.lines[at].azimuth = self.lines[before].azimuth + turn.unwrap_or(0.0);
            }
        }
    }

    /// A tree whose root is not known, but some other node of it, moves there as a whole; one that was
    /// turned, to the mean of what is known of it.
    fn shift_to_known(&mut self) {
        let mut shift: Vec<Option<[f64; 2]>> = vec![None; self.positions.len()];
        for (root, by) in shifts(self.network, &self.positions) {
            shift[root] = Some(by);
        }
        for &node in &self.network.order {
            let root = self.network.tree[node].root;
            let rooted = self.network.nodes[root].known.is_some_and(|known| known.in_plan);
            let known = self.network.nodes[node].known.filter(|known| known.in_plan && !rooted);
            if let (Some(known), None) = (known, shift[root]) {
                let at = self.positions[node];
                shift[root] = Some([known.east - at[0], known.north - at[1]]);
            }
        }
        for (node, position) in self.positions.iter_mut().enumerate() {
            if let Some([east, north]) = shift[self.network.tree[node].root] {
                position[0] += east;
                position[1] += north;
            }
        }
    }

    /// Lines that close a loop: by their own readings where they have them, else as they lie.
    fn lay_closing_lines(&mut self) {
        for line in (0..self.lines.len()).filter(|&line| !self.network.in_tree(line)) {
            let l = self.network.lines[line];
            let (a, b) = (self.positions[l.from], self.positions[l.to]);
            let mut raw = self.raw(line, self.has_no_rise(line).then_some(b[2] - a[2]));
            let lying = [b[0] - a[0], b[1] - a[1]];
            if l.tape.is_none() {
                raw.horizontal = lying[0].hypot(lying[1]);
                if let (None, Some(incline)) = (l.rise, l.incline) {
                    raw.rise = raw.horizontal * incline.tan().clamp(-STEEPEST, STEEPEST);
                }
            }
            if l.course == Course::Open && l.needle().is_none() {
                raw.azimuth = lying[0].atan2(lying[1]);
            }
            self.lines[line] = raw;
        }
    }
}
