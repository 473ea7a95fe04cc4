//! Free trees turned onto what is known of them: in closed form, before anything is adjusted.
//!
//! A walk by turning angles has its shape before it has a north. An adjustment that starts with the
//! wrong north ends in a wrong minimum; this one starts where the positions want the walk as a whole.
//! Source: [`Source::Schonemann1966`](crate::survey::sources::Source::Schonemann1966); in the plane the
//! rotation is one angle.

use super::{Network, Turned};
use std::collections::BTreeMap;

/// A vector as it was walked, as it is known, and how much that counts.
#[derive(Clone, Copy, Debug)]
struct Pair {
    walked: [f64; 2],
    known: [f64; 2],
    weight: f64,
}

/// Bearings of ties turn a tree as if they were known to this, radians: next to the instrument's own
/// precision it matters only where positions turn the tree as well, and the adjustment settles that.
const TIE: f64 = 0.05;

/// The azimuth to which each free tree is turned, by root, radians: `so_far` and what `positions`, laid
/// out by it, ask for beyond.
pub(super) fn azimuths(
    network: &Network,
    positions: &[[f64; 3]],
    so_far: &BTreeMap<usize, f64>,
) -> BTreeMap<usize, f64> {
    let mut pairs = tied(network, positions);
    for (root, (known, _)) in known(network, positions) {
        pairs.entry(root).or_default().extend(known);
    }
    let far =
        if network.turned.is_empty() { BTreeMap::new() } else { farthest(network, positions) };
    let of_tree = |(&root, turned): (&usize, &Turned)| {
        let by = match turned {
            Turned::Freely => far.get(&root).map(|[east, north]| -east.atan2(*north)),
            _ => pairs.get(&root).map(|pairs| rotation(pairs)),
        };
        (root, so_far.get(&root).unwrap_or(&0.0) + by.unwrap_or(0.0))
    };
    network.turned.iter().map(of_tree).collect()
}

/// The clockwise rotation that brings what was walked nearest to what is known, radians.
///
/// ```text
/// θ = atan2( Σ w (q_e p_n − q_n p_e), Σ w (q_e p_e + q_n p_n) )       p walked, q known
/// ```
fn rotation(pairs: &[Pair]) -> f64 {
    let (mut across, mut along) = (0.0, 0.0);
    for Pair { walked: [e, n], known: [east, north], weight } in pairs {
        across += weight * (east * n - north * e);
        along += weight * (east * e + north * n);
    }
    across.atan2(along)
}

/// How far each turned tree is to be shifted so that the mean of its positions lies where it is known
/// to lie, by root, metres east and north.
pub(super) fn shifts(network: &Network, positions: &[[f64; 3]]) -> BTreeMap<usize, [f64; 2]> {
    known(network, positions).into_iter().map(|(root, (_, by))| (root, by)).collect()
}

/// The known positions of each turned tree about their weighted mean, and how far that mean lies from
/// where it was walked to, metres.
fn known(network: &Network, positions: &[[f64; 3]]) -> BTreeMap<usize, (Vec<Pair>, [f64; 2])> {
    let mut trees: BTreeMap<usize, Vec<Pair>> = BTreeMap::new();
    for (node, entered) in network.nodes.iter().enumerate() {
        let root = network.tree[node].root;
        let Some(known) = entered.known.filter(|known| known.in_plan) else { continue };
        if network.turned.contains_key(&root) {
            let [east, north, _] = positions[node];
            let weight = known.sd.unwrap_or(1.0).max(1e-3).powi(-2);
            let known = [known.east, known.north];
            trees.entry(root).or_default().push(Pair { walked: [east, north], known, weight });
        }
    }
    trees.into_iter().map(|(root, pairs)| (root, about_mean(pairs))).collect()
}

fn about_mean(mut pairs: Vec<Pair>) -> (Vec<Pair>, [f64; 2]) {
    let total: f64 = pairs.iter().map(|pair| pair.weight).sum();
    let mean = |of: fn(&Pair) -> [f64; 2]| {
        [0, 1].map(|k| pairs.iter().map(|pair| pair.weight * of(pair)[k]).sum::<f64>() / total)
    };
    let (walked, known) = (mean(|pair| pair.walked), mean(|pair| pair.known));
    for pair in &mut pairs {
        pair.walked = [0, 1].map(|k| pair.walked[k] - walked[k]);
        pair.known = [0, 1].map(|k| pair.known[k] - known[k]);
    }
    (pairs, [0, 1].map(|k| known[k] - walked[k]))
}

/// Ties whose needle was read, by the root of their tree: as walked, and in the direction read.
fn tied(network: &Network, positions: &[[f64; 3]]) -> BTreeMap<usize, Vec<Pair>> {
    let mut trees: BTreeMap<usize, Vec<Pair>> = BTreeMap::new();
    if network.turned.is_empty() {
        return trees;
    }
    for line in &network.lines {
        let roots = [line.from, line.to].map(|node| network.tree[node].root);
        let Some(needle) = line.needle() else { continue };
        if roots[0] != roots[1] || network.turned.get(&roots[0]) != Some(&Turned::OntoTies) {
            continue;
        }
        let (a, b) = (positions[line.from], positions[line.to]);
        let walked = [b[0] - a[0], b[1] - a[1]];
        let run = walked[0].hypot(walked[1]);
        let (sin, cos) = needle.sin_cos();
        let weight = (TIE * run).max(1e-3).powi(-2);
        trees.entry(roots[0]).or_default().push(Pair {
            walked,
            known: [run * sin, run * cos],
            weight,
        });
    }
    trees
}

/// The point of each tree that lies farthest from its root in plan, metres.
fn farthest(network: &Network, positions: &[[f64; 3]]) -> BTreeMap<usize, [f64; 2]> {
    let mut far: BTreeMap<usize, [f64; 2]> = BTreeMap::new();
    for (node, [east, north, _]) in positions.iter().enumerate() {
        let root = network.tree[node].root;
        let away = [east - positions[root][0], north - positions[root][1]];
        let farthest = far.entry(root).or_default();
        if away[0].hypot(away[1]) > farthest[0].hypot(farthest[1]) {
            *farthest = away;
        }
    }
    far
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::quantity::{Turn, wrap_half_turn};
    use nalgebra::{Matrix2, Vector2};
    use proptest::array::uniform2;
    use proptest::prelude::*;

    /// Three points a quarter turn clockwise of where they were walked, two of them ± 2 m, one ± 1 m.
    #[test]
    fn a_quarter_turn_is_found() {
        let walked = [[0.0, 0.0], [3.0, 1.0], [-2.0, 4.0]];
        let pairs = walked.into_iter().zip([0.25, 0.25, 1.0]);
        let pairs = pairs.map(|([e, n], weight)| Pair {
            walked: [e, n],
            known: [n + 10.0, 7.0 - e],
            weight,
        });
        let (pairs, shift) = about_mean(pairs.collect());
        let quarter = Turn::from_degrees(90.0).to_radians();
        assert!((rotation(&pairs) - quarter).abs() < 1e-12, "{}", rotation(&pairs));
        // The mean was walked to at (−5/6, 17/6) and is known at (77/6, 47/6).
        assert!((shift[0] - 82.0 / 6.0).abs() < 1e-12 && (shift[1] - 5.0).abs() < 1e-12);
    }
    /// The clockwise rotation by the singular value decomposition of Σ w p qᵀ = U S Vᵀ: V D Uᵀ, where D
    /// keeps it from being a mirror image.
    fn by_singular_values(pairs: &[Pair]) -> f64 {
        let outer = |pair: &Pair| {
            Vector2::from(pair.walked) * Vector2::from(pair.known).transpose() * pair.weight
        };
        let svd = pairs.iter().map(outer).sum::<Matrix2<f64>>().svd(true, true);
        let (u, v_t) = (svd.u.unwrap(), svd.v_t.unwrap());
        let proper = (v_t.transpose() * u.transpose()).determinant();
        let rotation = v_t.transpose() * Matrix2::new(1.0, 0.0, 0.0, proper) * u.transpose();
        rotation[(0, 1)].atan2(rotation[(0, 0)])
    }

    proptest! {
        #[test]
        fn the_rotation_is_that_of_the_singular_values(
            rows in prop::collection::vec(
                (uniform2(-50.0..50.0_f64), uniform2(-3.0..3.0_f64), 0.1..9.0_f64),
                3..12,
            ),
            by in -3.1..3.1_f64,
        ) {
            let (sin, cos) = by.sin_cos();
            let pairs = rows.into_iter().map(|([e, n], [de, dn], weight)| {
                let known = [e * cos + n * sin + de + 400.0, n * cos - e * sin + dn - 90.0];
                Pair { walked: [e, n], known, weight }
            });
            let (pairs, _) = about_mean(pairs.collect());
            let weight = |at: fn(&Pair) -> [f64; 2]| {
                pairs.iter().map(|pair| pair.weight * (at(pair)[0].hypot(at(pair)[1])).powi(2)).sum::<f64>()
            };
            // Points in one place, or nearly, have no rotation.
            prop_assume!(weight(|pair| pair.walked) > 500.0 && weight(|pair| pair.known) > 500.0);
            let apart = wrap_half_turn(rotation(&pairs) - by_singular_values(&pairs));
            prop_assert!(apart.abs() < 1e-9, "{} {}", rotation(&pairs), by_singular_values(&pairs));
        }
    }
}
