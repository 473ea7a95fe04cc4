//! Walks without noise by turning angles: they are those by bearings, as far as something tells north.

use super::{USUAL, WALK, assert_at, assert_exact, sight};
use crate::field::{Rebuilt, Tables};

/// A walk by turns along these anchors of the invented walk, the first leg by its bearing.
fn by_turns(walk: &[usize]) -> Tables {
    let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,turn_deg,height_m\n");
    anchors += &format!("Bor,{},,,,{}\n", walk[0], WALK[walk[0]][2]);
    let mut before = None;
    for ends in walk.windows(2) {
        let (leg, height) = (sight(WALK[ends[0]], WALK[ends[1]]), WALK[ends[1]][2]);
        let (tape, bearing) = (leg.tape, leg.bearing);
        let course = before.map_or_else(
            || format!("{},", bearing.to_degrees()),
            |before| format!(",{}", bearing.turn_from(before).to_degrees()),
        );
        anchors += &format!("Bor,{},{tape},{course},{height}\n", ends[1]);
        before = Some(bearing);
    }
    Tables { anchors, settings: USUAL.into(), ..Tables::default() }
}

#[test]
fn a_turn_is_taken_from_the_leg_before_even_where_the_walk_crosses_itself() {
    for walk in [[0, 1, 2, 3, 0, 4, 5], [0, 1, 2, 3, 1, 4, 5], [0, 1, 2, 1, 3, 4, 5]] {
        assert_exact(&by_turns(&walk));
    }
}

/// The invented walk by turns, with a bearing besides on the leg to one anchor, and under controls.
fn with_bearing_to(anchor: Option<usize>, controls: &str) -> Tables {
    let mut anchors =
        String::from("trail,anchor,tape_m,bearing_deg,turn_deg,height_m\nBor,0,,,,0\n");
    let mut before = None;
    for k in 1..WALK.len() {
        let leg = sight(WALK[k - 1], WALK[k]);
        let bearing = (anchor == Some(k)).then(|| leg.bearing.to_degrees().to_string());
        let turn = before.map(|before| leg.bearing.turn_from(before).to_degrees().to_string());
        let [bearing, turn] = [bearing, turn].map(Option::unwrap_or_default);
        anchors += &format!("Bor,{k},{},{bearing},{turn},{}\n", leg.tape, WALK[k][2]);
        before = Some(leg.bearing);
    }
    Tables { anchors, controls: controls.into(), settings: USUAL.into(), ..Tables::default() }
}

#[test]
fn one_bearing_on_any_leg_orients_all() {
    for anchor in 1..WALK.len() {
        assert_exact(&with_bearing_to(Some(anchor), ""));
    }
}

/// Two of its anchors as controls, exact or to a centimetre.
#[test]
fn two_positions_orient_all() {
    for ends in [[0, 5], [0, 3], [2, 4], [5, 1]] {
        for accuracy in ["0", "0.01"] {
            let mut controls = String::from("control,east_m,north_m,accuracy_m\n");
            for end in ends {
                let [east, north, _] = WALK[end];
                controls += &format!("{end},{east},{north},{accuracy}\n");
            }
            assert_exact(&with_bearing_to(None, &controls));
        }
    }
}

fn distance(ours: &Rebuilt, [a, b]: [usize; 2]) -> f64 {
    let place = |anchor: usize| ours.adjusted.positions[ours.node(&anchor.to_string())];
    let (a, b) = (place(a), place(b));
    (0..3).map(|k| (b[k] - a[k]).powi(2)).sum::<f64>().sqrt()
}

/// Every anchor is as far from every other as it was; the farthest lies due north of the release.
#[test]
fn turns_alone_keep_the_shape() {
    let ours = with_bearing_to(None, "").rebuild();
    let mut compared = 0;
    for (b, to) in WALK.iter().enumerate() {
        for (a, from) in WALK[..b].iter().enumerate() {
            let known = (0..3).map(|k| (to[k] - from[k]).powi(2)).sum::<f64>().sqrt();
            let found = distance(&ours, [a, b]);
            assert!((found - known).abs() < 1e-6, "{a} {b}: {found} for {known}");
            compared += 1;
        }
    }
    assert_eq!(compared, 15);
    let [e, n, up] = WALK[3];
    assert_at(&ours, "3", [0.0, e.hypot(n), up]);
}

/// Ten level legs of 0.40 m of which nobody read a direction: each is 0.40 m long, and none stands plumb.
#[test]
fn short_level_legs_without_directions_have_their_length() {
    let mut anchors = String::from("trail,anchor,tape_m,height_m\nBor,0,,0.5\n");
    (1..=10).for_each(|anchor| anchors += &format!("Bor,{anchor},0.40,0.5\n"));
    let tables = Tables { anchors, ..Tables::default() };
    let ours = tables.rebuild();
    assert!(!ours.network.trails[0].layout.has_plan());
    for anchor in 1..=10 {
        let found = distance(&ours, [anchor - 1, anchor]);
        assert!((found - 0.4).abs() < 1e-6, "{anchor}: {found}");
    }
}
