//! Straight walks of ten level legs of 10 m, turned by 0° at each anchor, with positions.

use super::{Certainty, Layout};
use crate::adjustment::network::written::survey;
use crate::adjustment::network::{Network, Turned};
use Certainty::{Estimated, Measured, Unknown};

/// Degrees of latitude in a metre, near enough.
const DEGREES: f64 = 1.0 / 111_130.0;

/// A walk whose legs read `first` and `other` (bearing, turn), with positions so many metres north at
/// some anchors, ± `sd` metres.
fn walk([first, other]: [&str; 2], positions: &[(usize, f64)], sd: f64, ties: &str) -> Network {
    let mut anchors = String::from(
        "trail,anchor,tape_m,bearing_deg,turn_deg,height_m,latitude,longitude,accuracy_m",
    );
    for anchor in 0..=10 {
        let leg = match anchor {
            0 => ",,".into(),
            1 => format!("10,{first}"),
            _ => format!("10,{other}"),
        };
        let position = positions.iter().find(|position| position.0 == anchor);
        let position = position
            .map_or(",,".into(), |(_, north)| format!("{},11,{sd}", 47.0 + north * DEGREES));
        anchors += &format!("\nBor,{anchor},{leg},1,{position}");
    }
    survey(&anchors, ties).1
}

const TURNS: [&str; 2] = [",", ",0"];
const BEARINGS: [&str; 2] = ["0,", "0,"];
const FIRST_BEARING: [&str; 2] = ["0,", ",0"];
const BLANK: [&str; 2] = [",", ","];

fn assert_known(network: &Network, shape: Certainty, orientation: Certainty, place: Certainty) {
    assert_eq!(network.trails[0].layout, Layout { shape, orientation, place });
}

/// The anchors whose position is used.
fn used(network: &Network) -> Vec<usize> {
    let known = |node: &usize| network.nodes[*node].known.is_some_and(|known| known.in_plan);
    (0..network.nodes.len()).filter(known).collect()
}

#[test]
fn turns_alone_have_a_shape_and_no_north() {
    let network = walk(TURNS, &[], 5.0, "");
    assert_known(&network, Measured, Unknown, Unknown);
    assert_eq!(network.turned.values().collect::<Vec<_>>(), [&Turned::Freely]);
    assert!(network.trails[0].layout.has_plan() && !network.trails[0].layout.is_oriented());
    let placed = walk(TURNS, &[(3, 30.0)], 5.0, "");
    assert_known(&placed, Measured, Unknown, Measured);
    assert_eq!(placed.turned.values().collect::<Vec<_>>(), [&Turned::Freely]);
}

/// Two positions 100 m apart, ± 5 m: ± √2 · 5 / 100 = 4°. 20 m apart, ± 10 m: ± 40°, more than 30°.
#[test]
fn two_positions_orient_a_trail_where_they_lie_far_enough_apart() {
    let far = walk(TURNS, &[(0, 0.0), (10, 100.0)], 5.0, "");
    assert_known(&far, Measured, Estimated, Measured);
    assert_eq!(
        (used(&far), far.turned.values().next()),
        (vec![0, 10], Some(&Turned::OntoPositions))
    );
    assert!(far.trails[0].layout.is_oriented());
    let near = walk(TURNS, &[(2, 20.0), (4, 40.0)], 10.0, "");
    assert_known(&near, Measured, Unknown, Measured);
    assert_eq!((used(&near), near.turned.values().next()), (vec![2], Some(&Turned::Freely)));
    // ± 5 m: 20°.
    let sharp = walk(TURNS, &[(2, 20.0), (4, 40.0)], 5.0, "");
    assert_known(&sharp, Measured, Estimated, Measured);
    // Two more that lie no farther add what they know: ± 10 m / √(4 · 10² + …).
    let several = walk(TURNS, &[(2, 20.0), (3, 30.0), (4, 40.0), (5, 50.0)], 10.0, "");
    assert_known(&several, Measured, Estimated, Measured);
    assert_eq!(used(&several), [2, 3, 4, 5]);
}

#[test]
fn needles_orient_what_they_are_read_along() {
    for read in [BEARINGS, FIRST_BEARING] {
        let network = walk(read, &[(2, 20.0), (4, 40.0)], 10.0, "");
        assert_known(&network, Measured, Measured, Measured);
        assert_eq!(used(&network), [2, 4], "no position is too coarse to help");
        assert!(network.turned.is_empty());
        assert_known(&walk(read, &[], 10.0, ""), Measured, Measured, Unknown);
    }
}

#[test]
fn a_tie_with_a_bearing_orients_a_trail() {
    let tie = "trail,from,to,tape_m,bearing_deg\nBor,0,4,40,";
    let network = walk(TURNS, &[], 5.0, &format!("{tie}0"));
    assert_known(&network, Measured, Measured, Unknown);
    assert_eq!(network.turned.values().collect::<Vec<_>>(), [&Turned::OntoTies]);
    // One without does not.
    assert_known(&walk(TURNS, &[], 5.0, tie), Measured, Unknown, Unknown);
}

/// The fifth anchor 500 m away, where 50 m of thread lead to it.
#[test]
fn a_position_out_of_reach_is_named_and_let_go() {
    let network = walk(TURNS, &[(0, 0.0), (5, 500.0), (10, 100.0)], 5.0, "");
    assert_known(&network, Measured, Estimated, Measured);
    assert_eq!(used(&network), [0, 10]);
    let [far] = network.out_of_reach.as_slice() else { panic!("{:?}", network.out_of_reach) };
    assert_eq!((far.node, far.from), (5, 0));
    assert!((far.apart - 500.0).abs() < 2.0 && (far.thread - 50.0).abs() < 1e-9, "{far:?}");
    // Of two that contradict each other alone the later one is let go.
    let two = walk(TURNS, &[(0, 0.0), (10, 500.0)], 5.0, "");
    assert_eq!((used(&two), two.out_of_reach[0].node), (vec![0], 10));
    assert_known(&two, Measured, Unknown, Measured);
    // 4 · 5 √2 = 28.3 m more than the thread is no contradiction.
    assert!(walk(TURNS, &[(0, 0.0), (10, 127.0)], 5.0, "").out_of_reach.is_empty());
    assert_eq!(walk(TURNS, &[(0, 0.0), (10, 130.0)], 5.0, "").out_of_reach.len(), 1);
    // Where bearings were read the adjustment judges positions.
    let read = walk(BEARINGS, &[(0, 0.0), (5, 500.0), (10, 100.0)], 5.0, "");
    assert_eq!((used(&read), read.out_of_reach.len()), (vec![0, 5, 10], 0));
}

#[test]
fn a_trail_with_a_profile_only_keeps_one_position() {
    let network = walk(BLANK, &[(2, 20.0), (4, 40.0), (10, 100.0)], 5.0, "");
    assert_known(&network, Unknown, Unknown, Measured);
    assert_eq!(used(&network), [2]);
    assert!(!network.trails[0].layout.has_plan() && !network.trails[0].layout.is_oriented());
}

/// One leg in ten whose direction was carried on.
#[test]
fn a_shape_with_an_undirected_leg_is_estimated() {
    let network = walk([",", "0,"], &[], 5.0, "");
    assert_known(&network, Estimated, Measured, Unknown);
}
