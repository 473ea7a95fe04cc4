//! The view without a graphics driver: from where it is looked at, what a click means, and the walk.

#![cfg(feature = "viewer")]

use crate::seen;

use approx::assert_abs_diff_eq;
use nalgebra::Vector3;
use perchline::viewer::camera::{Eye, Look};
use perchline::viewer::keys::{Asked, let_go, press};
use perchline::viewer::view::{Pick, View};
use perchline::viewer::walk::go_on;
use seen::{place, shown, two_trails, view_of};

const SIZE: [f64; 2] = [1200.0, 800.0];

/// Across, up and towards the onlooker are a right-handed frame, and each look shows what it says.
#[test]
fn six_looks() {
    for look in Look::ALL {
        let axes = Eye::of(look).axes();
        let [across, up, into] = [axes.across, axes.up, axes.into].map(Vector3::from);
        assert_abs_diff_eq!(across.cross(&up), -into, epsilon = 1e-12);
    }
    let looked = |look: Look| Eye::of(look).axes();
    assert!(looked(Look::Plan).up[1] > 0.999 && looked(Look::Plan).into[2] < -0.999);
    assert!(looked(Look::North).into[1] > 0.999 && looked(Look::North).across[0] > 0.999);
    assert!(looked(Look::East).into[0] > 0.999 && looked(Look::East).across[1] < -0.999);
    assert!(looked(Look::South).into[1] < -0.999 && looked(Look::West).into[0] < -0.999);
    assert!(looked(Look::Oblique).into[2] < -0.3);
}

#[test]
fn framing_brings_everything_in_and_fills_the_picture() {
    let rebuilt = two_trails();
    for look in Look::ALL {
        let view = view_of(&rebuilt, look, SIZE);
        let points: Vec<[f64; 3]> = shown(&rebuilt, &view, SIZE, |shown| {
            shown.points().map(|point| view.eye.project(point, SIZE)).collect()
        });
        let range = |axis: usize| {
            let at = points.iter().map(|point| point[axis]);
            [at.clone().fold(f64::INFINITY, f64::min), at.fold(f64::NEG_INFINITY, f64::max)]
        };
        let [[left, right], [top, bottom]] = [range(0), range(1)];
        assert!(left > 30.0 && top > 30.0 && right < SIZE[0] - 30.0 && bottom < SIZE[1] - 30.0);
        assert!(right - left > 0.6 * SIZE[0] || bottom - top > 0.7 * SIZE[1], "{look:?}");
    }
}

#[test]
fn the_hand_moves_what_it_holds() {
    let eye = Eye { target: [3.0, -2.0, 1.0], ..Eye::of(Look::Oblique) };
    let point = [1.0, 2.0, 0.5];
    let before = eye.project(point, SIZE);
    let after = eye.panned([40.0, -25.0], SIZE).project(point, SIZE);
    assert_abs_diff_eq!(after[0], before[0] + 40.0, epsilon = 1e-9);
    assert_abs_diff_eq!(after[1], before[1] - 25.0, epsilon = 1e-9);
    let held = [before[0], before[1]];
    let nearer = eye.zoomed(2.0, held, SIZE);
    let after = nearer.project(point, SIZE);
    assert_abs_diff_eq!(after[0], before[0], epsilon = 1e-9);
    assert_abs_diff_eq!(after[1], before[1], epsilon = 1e-9);
    assert_abs_diff_eq!(nearer.metres_high, eye.metres_high / 2.0);
    let turned = eye.orbited([30.0, 10.0], SIZE);
    assert_abs_diff_eq!(turned.project(eye.target, SIZE)[0], 600.0, epsilon = 1e-9);
}

#[test]
fn an_anchor_is_picked_by_its_pixel_and_read_with_its_row() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Oblique, SIZE);
    for (trail, name, count) in [(0, "A", 6), (1, "B", 3)] {
        for point in 0..count {
            let [x, y, _] = view.eye.project(place(&rebuilt, &view, trail, point), SIZE);
            let under = shown(&rebuilt, &view, SIZE, |shown| shown.under([x + 2.0, y - 1.0]));
            assert_eq!(under, Some(Pick::Anchor(name.into(), point)));
        }
    }
    let [a, b] = [1, 2].map(|point| view.eye.project(place(&rebuilt, &view, 0, point), SIZE));
    let middle = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
    let leg = shown(&rebuilt, &view, SIZE, |shown| shown.under(middle));
    assert_eq!(leg, Some(Pick::Leg("A".into(), 1)));
    assert_eq!(shown(&rebuilt, &view, SIZE, |shown| shown.under([2.0, 2.0])), None);
    view.pick(leg);
    let read = shown(&rebuilt, &view, SIZE, |shown| shown.reading()).join("\n");
    assert!(read.contains("A, leg a1 to a2") && read.contains("anchors.csv, row 4"), "{read}");
    view.hidden.insert("A".into());
    assert_eq!(shown(&rebuilt, &view, SIZE, |shown| shown.under(middle)), None);
}

#[test]
fn of_two_anchors_behind_each_other_the_one_in_front_is_meant() {
    let rebuilt = two_trails();
    let view = view_of(&rebuilt, Look::Plan, SIZE);
    // a3 stands plumb above a2.
    let [x, y, _] = view.eye.project(place(&rebuilt, &view, 0, 2), SIZE);
    let under = shown(&rebuilt, &view, SIZE, |shown| shown.under([x, y]));
    assert_eq!(under, Some(Pick::Anchor("A".into(), 3)));
}

#[test]
fn two_anchors_give_their_distance() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Plan, SIZE);
    view.pick(Some(Pick::Anchor("A".into(), 2)));
    view.pick(Some(Pick::Anchor("A".into(), 3)));
    let read = shown(&rebuilt, &view, SIZE, |shown| shown.reading()).join("\n");
    assert!(read.contains("from A a2 to A a3") && read.contains("up 4.0"), "{read}");
    view.pick(Some(Pick::Anchor("B".into(), 0)));
    assert_eq!(view.picked.len(), 2);
    let_go(&mut view);
    assert!(view.picked.is_empty());
}

#[test]
fn a_walk_goes_along_the_thread_to_its_end() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Oblique, SIZE);
    view.pick(Some(Pick::Anchor("A".into(), 2)));
    press(' ', &mut view, &rebuilt.space, 0);
    let along = |view: &View| view.walk.as_ref().unwrap().along;
    assert_abs_diff_eq!(along(&view), 0.0);
    assert!(go_on(&mut view, &rebuilt.space, 3.0));
    let points = &rebuilt.space.scene.trails[0].points;
    let whole = points.last().unwrap().along;
    assert_abs_diff_eq!(along(&view), whole / 10.0, epsilon = 1e-9);
    let [at, _] = shown(&rebuilt, &view, SIZE, |shown| shown.walked()).unwrap();
    let [a, b] = [0, 1].map(|point| Vector3::from(place(&rebuilt, &view, 0, point)));
    let share = along(&view) / points[1].along;
    assert_abs_diff_eq!(Vector3::from(at), a + share * (b - a), epsilon = 1e-9);
    press('>', &mut view, &rebuilt.space, 0);
    assert_abs_diff_eq!(along(&view), whole / 10.0 + 0.5, epsilon = 1e-9);
    press(' ', &mut view, &rebuilt.space, 0);
    go_on(&mut view, &rebuilt.space, 300.0);
    assert_abs_diff_eq!(along(&view), whole, epsilon = 1e-9);
    assert!(!go_on(&mut view, &rebuilt.space, 1.0), "it has come to the end");
}

#[test]
fn a_walk_that_came_to_its_end_begins_anew_and_goes_to_where_one_clicks() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Oblique, SIZE);
    let walk = |view: &View| view.walk.clone().unwrap();
    press(' ', &mut view, &rebuilt.space, 0);
    go_on(&mut view, &rebuilt.space, 300.0);
    assert!(!walk(&view).going);
    press(' ', &mut view, &rebuilt.space, 0);
    assert!(walk(&view).going, "it can be walked again");
    assert_abs_diff_eq!(walk(&view).along, 0.0);
    view.pick(Some(Pick::Leg("B".into(), 0)));
    press(' ', &mut view, &rebuilt.space, 0);
    assert_eq!((walk(&view).trail.as_str(), walk(&view).going), ("B", true));
    view.pick(None);
    press(' ', &mut view, &rebuilt.space, 0);
    assert_eq!((walk(&view).trail.as_str(), walk(&view).going), ("B", false), "it stops");
    view.toggle("B");
    press(' ', &mut view, &rebuilt.space, 0);
    assert_eq!(walk(&view).trail, "A", "not along what is hidden");
}

/// Half-way up the plumb leg from a2 to a3 it is half-way between their heights.
#[test]
fn a_walk_tells_where_it_is() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Oblique, SIZE);
    press(' ', &mut view, &rebuilt.space, 0);
    let points = &rebuilt.space.scene.trails[0].points;
    let middle = 0.5 * (points[2].along + points[3].along);
    view.walk.as_mut().unwrap().along = middle;
    let height = shown(&rebuilt, &view, SIZE, |shown| shown.walked_height()).unwrap();
    assert_abs_diff_eq!(height, 0.5 * (points[2].height + points[3].height), epsilon = 1e-9);
    let read = shown(&rebuilt, &view, SIZE, |shown| shown.reading()).join("\n");
    for words in ["walk along A, leg a2 to a3", &format!("{height:.2} m above ground")] {
        assert!(read.contains(words), "{read}");
    }
}

#[test]
fn what_is_walked_to_is_kept_in_the_picture() {
    let eye = Eye { metres_high: 8.0, ..Eye::of(Look::Oblique) };
    let margins = [300.0, 50.0, 60.0, 70.0];
    for place in [[30.0, 4.0, 2.0], [-30.0, -20.0, 0.0], [0.0, 0.0, 9.0]] {
        let [x, y, _] = eye.keeping(place, SIZE, margins).project(place, SIZE);
        assert!((300.0 - 1e-6..=1140.0 + 1e-6).contains(&x), "{x}");
        assert!((50.0 - 1e-6..=730.0 + 1e-6).contains(&y), "{y}");
    }
    let inside = eye.target;
    assert_eq!(eye.keeping(inside, SIZE, margins), eye, "nothing moves without need");
}

#[test]
fn an_anchor_that_does_not_close_says_so() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Oblique, SIZE);
    let [trail, point] = rebuilt.space.misclosures[0].at;
    view.pick(Some(Pick::Anchor(rebuilt.space.scene.trails[trail].name.clone(), point)));
    let read = shown(&rebuilt, &view, SIZE, |shown| shown.reading()).join("\n");
    assert!(read.contains(&rebuilt.space.misclosures[0].words), "{read}");
}

/// What stands in the middle stays there when heights are stretched about the ground.
#[test]
fn stretched_heights_keep_the_middle() {
    let eye = Eye { target: [3.0, -2.0, 5.0], ..Eye::of(Look::Oblique) };
    let raised = eye.raised(1.0, 2.5);
    let [x, y, _] = raised.project([3.0, -2.0, 1.0 + 2.5 * 4.0], SIZE);
    assert_abs_diff_eq!(x, 0.5 * SIZE[0], epsilon = 1e-9);
    assert_abs_diff_eq!(y, 0.5 * SIZE[1], epsilon = 1e-9);
    assert_eq!(eye.raised(1.0, 1.0), eye);
}

/// A key that finds nothing to do asks the window to say so.
#[test]
fn without_a_suspect_its_key_is_answered() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Oblique, SIZE);
    assert_eq!(press('x', &mut view, &rebuilt.space, 0), Asked::Suspect);
    assert_eq!(view.tried, None);
    assert_eq!(press('x', &mut view, &rebuilt.space, 1), Asked::Suspect);
    assert_eq!(view.tried, Some(0));
}
