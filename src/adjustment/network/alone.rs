//! One connected part of a network by itself: what is tried on it costs the part, not the survey.

use super::{Component, Course, HeightReading, Line, Network, Node, Trail, Visit, layout, tree};

/// A connected part with its own numbers, and those it had in the whole.
#[derive(Clone, Debug)]
pub struct Alone {
    /// The part as a network.
    pub network: Network,
    /// The number in the whole of each of its nodes, ...
    pub nodes: Vec<usize>,
    /// ... of each of its lines, ...
    pub lines: Vec<usize>,
    /// ... of each of its trails, ...
    pub trails: Vec<usize>,
    /// ... and of each of its heights.
    pub heights: Vec<usize>,
}

impl Alone {
    /// The part `part` of `whole`.
    pub fn of(whole: &Network, part: &Component) -> Self {
        let (nodes, lines, trails) = (part.nodes.clone(), part.lines.clone(), part.trails.clone());
        let here = |list: &[usize], number: usize| list.binary_search(&number).ok();
        let mut network = Network {
            frame: whole.frame,
            convergence: whole.convergence,
            out_of_reach: Vec::new(),
            ..Network::default()
        };
        network.nodes = nodes
            .iter()
            .map(|&node| {
                let entered = &whole.nodes[node];
                Node { trail: entered.trail.and_then(|t| here(&trails, t)), ..entered.clone() }
            })
            .collect();
        network.lines = lines
            .iter()
            .map(|&line| {
                renumbered(
                    whole.lines[line],
                    |n| here(&nodes, n),
                    |l| here(&lines, l),
                    |t| here(&trails, t),
                )
            })
            .collect();
        for &trail in &trails {
            let first = network.visits.len();
            let own = whole.visits_of(&whole.trails[trail]).iter();
            network.visits.extend(own.filter_map(|visit| {
                Some(Visit {
                    node: here(&nodes, visit.node)?,
                    from: visit.from.and_then(|node| here(&nodes, node)),
                    line: visit.line.and_then(|line| here(&lines, line)),
                    ..*visit
                })
            }));
            let visits = first..network.visits.len();
            network.trails.push(Trail { visits, ..whole.trails[trail].clone() });
        }
        let of_part = |(at, read): (usize, &HeightReading)| {
            here(&nodes, read.node).map(|node| (at, HeightReading { node, ..*read }))
        };
        let (heights, readings): (Vec<usize>, Vec<HeightReading>) =
            whole.heights.iter().enumerate().filter_map(of_part).unzip();
        network.heights = readings;
        network.first_height = first_heights(&network);
        tree::grow(&mut network);
        network.turned = layout::turned(&network);
        Self { network, nodes, lines, trails, heights }
    }

    /// A line of the part with the numbers of the whole.
    pub fn in_whole(&self, line: Line) -> Line {
        let number = |list: &'_ [usize], at: usize| list.get(at).copied();
        renumbered(
            line,
            |node| number(&self.nodes, node),
            |line| number(&self.lines, line),
            |trail| number(&self.trails, trail),
        )
    }
}

fn renumbered(
    line: Line,
    node: impl Fn(usize) -> Option<usize>,
    other: impl Fn(usize) -> Option<usize>,
    trail: impl Fn(usize) -> Option<usize>,
) -> Line {
    Line {
        from: node(line.from).unwrap_or_default(),
        to: node(line.to).unwrap_or_default(),
        trail: trail(line.trail).unwrap_or_default(),
        turned_from: line.turned_from.and_then(&other),
        course: Course::of_line(line.course, &other),
        ..line
    }
}

/// For each node where its heights begin, which are sorted by node.
fn first_heights(network: &Network) -> Vec<usize> {
    let before = |node: usize| network.heights.partition_point(|reading| reading.node < node);
    (0..=network.nodes.len()).map(before).collect()
}
