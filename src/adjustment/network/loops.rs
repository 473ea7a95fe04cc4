//! The independent loops: each line that does not hang a node on the tree closes one.

use super::Network;

/// One line walked, forward (`1.0`) or backward (`-1.0`).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// The line.
    pub line: usize,
    /// Its sense.
    pub sense: f64,
}

/// The walk along the tree from one node to another; `None` where they hang on different trees.
pub fn along_tree(network: &Network, from: usize, to: usize) -> Option<Vec<Step>> {
    if network.tree[from].root != network.tree[to].root {
        return None;
    }
    let (mut up, mut down) = (Vec::new(), Vec::new());
    let (mut a, mut b) = (from, to);
    while a != b {
        if network.tree[a].depth >= network.tree[b].depth {
            a = climb(network, a, 1.0, &mut up)?;
        } else {
            b = climb(network, b, -1.0, &mut down)?;
        }
    }
    down.reverse();
    up.extend(down);
    Some(up)
}

/// Steps from `node` to the node it hangs on, and notes the line: walked from `node` towards the
/// root where `sense` is 1, away from the root where it is -1.
fn climb(network: &Network, node: usize, sense: f64, steps: &mut Vec<Step>) -> Option<usize> {
    let line = network.tree[node].line?;
    let l = &network.lines[line];
    let (other, towards) = if l.from == node { (l.to, 1.0) } else { (l.from, -1.0) };
    steps.push(Step { line, sense: sense * towards });
    Some(other)
}

/// The lines that close a loop, ascending.
pub fn closing_lines(network: &Network) -> impl Iterator<Item = usize> + '_ {
    (0..network.lines.len()).filter(|&line| {
        let l = &network.lines[line];
        !network.in_tree(line) && network.tree[l.from].root == network.tree[l.to].root
    })
}
