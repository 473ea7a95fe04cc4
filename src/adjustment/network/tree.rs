//! The spanning tree along the walking order, the connected parts, and what must be held.

use super::{Branch, Component, Course, Line, Network};

/// Grows the tree, finds the connected parts and marks what must be held.
pub(super) fn grow(network: &mut Network) {
    let count = network.nodes.len();
    let (mut plan, mut up, mut all) = (Sets::new(count), Sets::new(count), Sets::new(count));
    let mut tree_lines = Vec::with_capacity(count);
    for (index, line) in network.lines.iter().enumerate() {
        all.join(line.from, line.to);
        if carries_plan(line) && plan.join(line.from, line.to) {
            tree_lines.push(index);
        }
        if carries_plan(line) || line.rise.is_some() || line.incline.is_some() {
            up.join(line.from, line.to);
        }
    }
    hang(network, &tree_lines);
    hold_plan(network, &mut plan);
    hold_elevation(network, &mut up);
    network.components = components(network, &mut all);
}

/// Whether a line places its far end in plan once its near end is placed.
fn carries_plan(line: &Line) -> bool {
    line.tape.is_some() && line.course != Course::Open
}

/// Hangs every node on the tree, in walking order.
fn hang(network: &mut Network, tree_lines: &[usize]) {
    let count = network.nodes.len();
    let mut ends = vec![0_usize; count + 1];
    for &line in tree_lines {
        let Line { from, to, .. } = network.lines[line];
        ends[from + 1] += 1;
        ends[to + 1] += 1;
    }
    for node in 0..count {
        ends[node + 1] += ends[node];
    }
    let mut next = ends.clone();
    let mut touching = vec![0_usize; 2 * tree_lines.len()];
    for &line in tree_lines {
        let Line { from, to, .. } = network.lines[line];
        for node in [from, to] {
            touching[next[node]] = line;
            next[node] += 1;
        }
    }
    let mut order = Vec::with_capacity(count);
    let mut tree = vec![Branch::default(); count];
    let mut placed = vec![false; count];
    for root in 0..count {
        if placed[root] {
            continue;
        }
        placed[root] = true;
        tree[root].root = root;
        let mut at = order.len();
        order.push(root);
        while let Some(&node) = order.get(at) {
            at += 1;
            for &line in &touching[ends[node]..ends[node + 1]] {
                let Line { from, to, .. } = network.lines[line];
                let other = if from == node { to } else { from };
                if !placed[other] {
                    placed[other] = true;
                    tree[other] = Branch { line: Some(line), depth: tree[node].depth + 1, root };
                    order.push(other);
                }
            }
        }
    }
    network.tree = tree;
    network.order = order;
}

/// A part whose place in plan nothing tells is held at its root; but one that two lines reach from
/// placed parts, by length or direction alone, is left free, since they place it.
fn hold_plan(network: &mut Network, plan: &mut Sets) {
    let count = network.nodes.len();
    let mut placed = vec![false; count];
    for (node, entered) in network.nodes.iter().enumerate() {
        placed[plan.root(node)] |= entered.known.is_some_and(|known| known.in_plan);
    }
    let open = network.lines.iter().filter(|line| {
        line.course == Course::Open && (line.tape.is_some() || line.needle().is_some())
    });
    let between: Vec<[usize; 2]> =
        open.map(|line| [line.from, line.to].map(|node| plan.root(node))).collect();
    spread(&between, &mut placed);
    for node in 0..count {
        let part = plan.root(node);
        network.nodes[node].plan_held = !placed[part];
        if !placed[part] {
            placed[part] = true;
            if between.iter().flatten().any(|&end| end == part) {
                spread(&between, &mut placed);
            }
        }
    }
}

/// Marks the parts that two lines reach from placed ones, and those that are reached from them.
fn spread(between: &[[usize; 2]], placed: &mut [bool]) {
    loop {
        let mut reached = vec![0_u8; placed.len()];
        for &[a, b] in between {
            for (near, far) in [(a, b), (b, a)] {
                if placed[near] && !placed[far] {
                    reached[far] = reached[far].saturating_add(1);
                }
            }
        }
        let mut any = false;
        for (placed, reached) in placed.iter_mut().zip(reached) {
            any |= reached > 1;
            *placed |= reached > 1;
        }
        if !any {
            return;
        }
    }
}

/// A part whose elevation nothing tells is held at its root.
fn hold_elevation(network: &mut Network, up: &mut Sets) {
    let count = network.nodes.len();
    let mut known = vec![false; count];
    for reading in &network.heights {
        known[up.root(reading.node)] = true;
    }
    for (node, entered) in network.nodes.iter().enumerate() {
        known[up.root(node)] |= entered.known.is_some_and(|known| known.elevation.is_some());
    }
    let mut held = vec![false; count];
    for node in 0..count {
        let part = up.root(node);
        network.nodes[node].elevation_held = !known[part] && !held[part];
        held[part] = true;
    }
}

fn components(network: &Network, all: &mut Sets) -> Vec<Component> {
    let count = network.nodes.len();
    let mut place = vec![usize::MAX; count];
    let mut found: Vec<Component> = Vec::new();
    for node in 0..count {
        let root = all.root(node);
        if place[root] == usize::MAX {
            place[root] = found.len();
            let (nodes, lines, trails) = (Vec::new(), Vec::new(), Vec::new());
            found.push(Component { nodes, lines, trails, placed: false });
        }
        let part = &mut found[place[root]];
        part.nodes.push(node);
        part.placed |= network.nodes[node].known.is_some_and(|known| known.in_plan);
        if let Some(trail) = network.nodes[node].trail
            && part.trails.last() != Some(&trail)
        {
            part.trails.push(trail);
        }
    }
    for (index, line) in network.lines.iter().enumerate() {
        found[place[all.root(line.from)]].lines.push(index);
    }
    for part in &mut found {
        part.trails.sort_unstable();
        part.trails.dedup();
    }
    found
}

/// Disjoint sets with path halving.
struct Sets(Vec<usize>);

impl Sets {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn root(&mut self, mut of: usize) -> usize {
        while self.0[of] != of {
            self.0[of] = self.0[self.0[of]];
            of = self.0[of];
        }
        of
    }

    /// Joins two sets, the later to the earlier; `false` if they were one already.
    fn join(&mut self, a: usize, b: usize) -> bool {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a.max(b)] = a.min(b);
        a != b
    }
}
