//! The view without a graphics driver: what is shown where, what a click means, what is said.

#![cfg(feature = "viewer")]
#![expect(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

mod seen;

use approx::assert_abs_diff_eq;
use nalgebra::{Matrix3, Vector3};
use perchline::scene::palette::{ALERT, FAINT, QUIET, category};
use perchline::viewer::Rebuilt;
use perchline::viewer::colouring::Colouring;
use perchline::viewer::eye::{Eye, Look, dot, round_step};
use perchline::viewer::keys::{Asked, go_on, let_go, press};
use perchline::viewer::lay::Laid;
use perchline::viewer::marks::{Marks, Tube, half_axes};
use perchline::viewer::overlay::{Overlay, Setting};
use perchline::viewer::view::{ColourBy, Layers, Pick, View};
use seen::{of_tables, place, shown, two_trails, view_of};

const SIZE: [f64; 2] = [1200.0, 800.0];

fn marks(rebuilt: &Rebuilt, view: &View) -> Marks {
    shown(rebuilt, view, SIZE, |shown| shown.marks())
}

fn overlay(rebuilt: &Rebuilt, view: &View) -> Overlay {
    let width = |text: &str, _: bool| 7.0 * text.chars().count() as f64;
    let setting = Setting { line: 18.0, width: &width, left: 0.0 };
    shown(rebuilt, view, SIZE, |shown| shown.overlay(&shown.marks(), setting))
}

fn says(rebuilt: &Rebuilt, view: &View, words: &str) -> bool {
    overlay(rebuilt, view).texts.iter().any(|text| text.text.contains(words))
}

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

/// What a layer adds, and nothing else goes when it is turned off.
#[test]
fn a_layer_changes_its_own_marks_only() {
    let rebuilt = two_trails();
    let all = Layers {
        drops: true,
        grid: true,
        labels: true,
        ellipsoids: true,
        misclosures: true,
        raw: true,
        trunks: true,
    };
    let view = View { layers: all, ..view_of(&rebuilt, Look::Oblique, SIZE) };
    let whole = marks(&rebuilt, &view);
    let without = |change: &dyn Fn(&mut Layers)| {
        let mut less = view.clone();
        change(&mut less.layers);
        marks(&rebuilt, &less)
    };
    let drops = without(&|layers| layers.drops = false);
    assert_eq!(
        (&drops.tubes, &drops.beads, &drops.clouds),
        (&whole.tubes, &whole.beads, &whole.clouds)
    );
    assert_eq!(kept(&whole.lines, &drops.lines).len(), 7 + 9, "7 traces and 9 plumb lines");
    let grid = without(&|layers| layers.grid = false);
    assert!(kept(&whole.lines, &grid.lines).iter().all(|line| line.colour == FAINT));
    assert!(grid.lines.iter().all(|line| line.colour != FAINT));
    assert_eq!(grid.tubes, whole.tubes);
    let trunks = without(&|layers| layers.trunks = false);
    let trunk = kept(&whole.lines, &trunks.lines);
    assert_eq!(trunk.len(), 1);
    assert_abs_diff_eq!(trunk[0].ends[1][2] - trunk[0].ends[0][2], 4.2, epsilon = 0.1);
    let raw = without(&|layers| layers.raw = false);
    assert_eq!(kept(&whole.lines, &raw.lines).len(), 7);
    let clouds = without(&|layers| layers.ellipsoids = false);
    assert!(clouds.clouds.is_empty() && !whole.clouds.is_empty());
    assert_eq!(Marks { clouds: whole.clouds.clone(), ..clouds }, whole);
    let misclosures = without(&|layers| layers.misclosures = false);
    let arrows = kept(&whole.tubes, &misclosures.tubes);
    assert_eq!(arrows.len(), 1);
    assert_eq!(arrows[0].colour, ALERT);
    assert_eq!(without(&|layers| layers.labels = false), whole, "names are no marks");
}

/// What `some` lacks of `all`; the rest stands in the same order.
fn kept(all: &[Tube], some: &[Tube]) -> Vec<Tube> {
    let mut rest = some.iter().peekable();
    let mut gone = Vec::new();
    for tube in all {
        if rest.peek() == Some(&tube) {
            rest.next();
        } else {
            gone.push(*tube);
        }
    }
    assert!(rest.next().is_none(), "something was added");
    gone
}

#[test]
fn hiding_a_trail_moves_no_other() {
    let rebuilt = two_trails();
    let mut view = View { colour: ColourBy::Trail, ..view_of(&rebuilt, Look::Oblique, SIZE) };
    view.layers.grid = false;
    let both = marks(&rebuilt, &view);
    view.toggle("A");
    let one = marks(&rebuilt, &view);
    assert_eq!(one.tubes.len(), 2);
    assert!(one.tubes.iter().all(|tube| both.tubes.contains(tube)));
    assert!(one.beads.iter().all(|bead| both.beads.contains(bead)));
    view.toggle("A");
    assert_eq!(marks(&rebuilt, &view), both);
}

#[test]
fn misclosures_are_magnified_by_what_is_said() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Oblique, SIZE);
    view.layers.misclosures = true;
    view.magnified = 25.0;
    let arrow = marks(&rebuilt, &view).tubes.into_iter().find(|t| t.colour == ALERT).unwrap();
    let drawn = Vector3::from(arrow.ends[1]) - Vector3::from(arrow.ends[0]);
    let known = Vector3::from(rebuilt.space.misclosures[0].vector);
    assert!(known.norm() > 0.3, "two degrees in twelve metres");
    assert_abs_diff_eq!(drawn, 25.0 * known, epsilon = 1e-9);
    assert!(says(&rebuilt, &view, "misclosures drawn 25 times longer"));
}

/// The ellipsoid of a covariance with known axes; 0.95 quantile of chi-squared with three degrees
/// of freedom, 7.815 (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4).
#[test]
fn ellipsoids_of_95_percent() {
    let known = Matrix3::from_diagonal(&Vector3::new(0.04, 0.01, 0.25));
    let turn = nalgebra::Rotation3::from_euler_angles(0.3, -0.4, 1.1);
    let axes = half_axes(turn.matrix() * known * turn.matrix().transpose()).unwrap();
    let mut lengths = axes.map(|axis| dot(axis, axis).sqrt());
    lengths.sort_by(f64::total_cmp);
    for (length, sd) in lengths.into_iter().zip([0.1, 0.2, 0.5]) {
        assert_abs_diff_eq!(length, 7.815_f64.sqrt() * sd, epsilon = 1e-4);
    }
    assert!(half_axes(Matrix3::zeros()).is_none());
}

#[test]
fn colours_say_what_the_legend_says() {
    let rebuilt = two_trails();
    let by = |by| Colouring::of(&rebuilt.space, by);
    let trails = by(ColourBy::Trail);
    assert_eq!(trails.legs[1], [category(1).colour; 2]);
    assert_eq!(trails.keys[1], (category(1).colour, "B".to_owned()));
    let supports = by(ColourBy::Support);
    let key = |words: &str| supports.keys.iter().find(|(_, key)| key == words).unwrap().0;
    assert_eq!(supports.legs[0][1], key("litter"));
    assert_eq!(supports.legs[0][0], key("crossing"));
    let sections = by(ColourBy::Section);
    assert_ne!(sections.legs[0][0], sections.legs[0][4], "seen at a3");
    let groups = by(ColourBy::Group);
    assert_eq!(groups.legs[0][0], QUIET);
    assert!(groups.keys[0].1.contains("no column"));
    let known = by(ColourBy::Uncertainty);
    assert!(known.keys.iter().all(|(_, words)| words.starts_with('±')), "{:?}", known.keys);
    let height = by(ColourBy::Height);
    assert_eq!(height.keys.first().unwrap().1, "≥ 10 m");
    assert_eq!(height.keys.len(), rebuilt.space.scene.strata());
}

#[test]
fn heights_are_stretched_about_the_ground_and_that_is_said() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::North, SIZE);
    assert!(!says(&rebuilt, &view, "taller"));
    view.stretch = 3.0;
    let laid = Laid::of(&rebuilt.space, &view);
    let up = rebuilt.space.scene.trails[0].points[3].position[2];
    assert_abs_diff_eq!(laid.points[0][3][2] - laid.floor, 3.0 * (up - laid.floor), epsilon = 1e-9);
    assert!(says(&rebuilt, &view, "heights drawn 3 times taller"));
    let heights = marks(&rebuilt, &view).heights;
    let place = |metres: f64| laid.floor + 3.0 * metres;
    assert!(heights.len() > 3);
    assert!(heights.iter().all(|(metres, left)| (place(*metres) - left[2]).abs() < 1e-9));
}

/// A trail without bearings is unrolled: metres along the thread, then height.
#[test]
fn a_trail_without_bearings_is_unrolled() {
    let rebuilt =
        of_tables(&[("anchors.csv", "trail,anchor,tape_m,height_m\nP,1,,1\nP,2,5,4\nP,3,6,4\n")]);
    let view = view_of(&rebuilt, Look::North, SIZE);
    assert!(says(&rebuilt, &view, "unrolled on a plane"));
    let laid = Laid::of(&rebuilt.space, &view);
    let points = &rebuilt.space.scene.trails[0].points;
    for (laid, point) in laid.points[0].iter().zip(points) {
        assert_abs_diff_eq!(laid[0], point.along, epsilon = 1e-9);
        assert_abs_diff_eq!(laid[1], 0.0);
    }
    let tubes = marks(&rebuilt, &view).tubes;
    assert!(tubes.iter().all(|tube| tube.ends.iter().all(|end| end[1].abs() < 1e-9)));
}

#[test]
fn trails_that_lie_far_apart_stand_side_by_side_and_that_is_said() {
    let far = "control,east_m,north_m\nwest,0,0\nsouth,900,-700\n";
    let rebuilt = of_tables(&[
        ("anchors.csv", seen::ANCHORS),
        ("controls.csv", far),
        ("trails.csv", seen::TRAILS),
    ]);
    let mut view = view_of(&rebuilt, Look::Plan, SIZE);
    assert!(says(&rebuilt, &view, "side by side"));
    assert_eq!(press('a', &mut view, &rebuilt.space, 0), Asked::Fit);
    assert!(!Laid::of(&rebuilt.space, &view).apart);
    assert!(!says(&rebuilt, &view, "side by side"));
}

/// A scale bar is as long as it says, and a grid as wide.
#[test]
fn bar_and_grid_have_the_metres_they_name() {
    let rebuilt = two_trails();
    let view = view_of(&rebuilt, Look::Plan, SIZE);
    let overlay = overlay(&rebuilt, &view);
    let bar = overlay.strokes.iter().find(|stroke| stroke.width < 3.0).unwrap();
    let metres = (bar.ends[1][0] - bar.ends[0][0]) * view.eye.metres_per_pixel(SIZE);
    assert!(overlay.texts.iter().any(|text| text.text == format!("{} m", metres.round())));
    let marks = marks(&rebuilt, &view);
    let mut easts: Vec<f64> = marks
        .lines
        .iter()
        .filter(|line| line.colour == FAINT && (line.ends[0][0] - line.ends[1][0]).abs() < 1e-9)
        .map(|line| line.ends[0][0])
        .collect();
    easts.sort_by(f64::total_cmp);
    for pair in easts.windows(2) {
        assert_abs_diff_eq!(pair[1] - pair[0], marks.grid_m, epsilon = 1e-9);
    }
    assert!(says(&rebuilt, &view, &format!("grid {} m", marks.grid_m)));
    let longest = round_step(180.0 * view.eye.metres_per_pixel(SIZE));
    assert_abs_diff_eq!(longest, metres, epsilon = 1e-9);
}

#[test]
fn names_never_run_into_each_other() {
    let rebuilt = two_trails();
    for look in Look::ALL {
        let overlay = overlay(&rebuilt, &view_of(&rebuilt, look, SIZE));
        let named =
            overlay.texts.iter().filter(|text| "ab".contains(text.text.chars().next().unwrap()));
        let boxes: Vec<[f64; 4]> = named
            .filter(|text| text.text.chars().count() == 2)
            .map(|text| [text.at[0], text.at[1] - 8.0, text.at[0] + 14.0, text.at[1] + 8.0])
            .collect();
        for (at, a) in boxes.iter().enumerate() {
            for b in &boxes[at + 1..] {
                assert!(a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1]);
            }
        }
    }
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
    let at = shown(&rebuilt, &view, SIZE, |shown| shown.walked()).unwrap();
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
fn legs_are_thin_where_there_are_many_short_ones() {
    let mut text = String::from("trail,anchor,tape_m,bearing_deg,height_m\nL,0,,,0.1\n");
    for n in 1..=3000_u32 {
        text += &format!("L,{n},0.20,{},0.1\n", (n * 7) % 360);
    }
    let rebuilt = of_tables(&[("anchors.csv", &text)]);
    let mut view = view_of(&rebuilt, Look::Plan, SIZE);
    view.eye.metres_high = 400.0;
    let marks = marks(&rebuilt, &view);
    let thin = 0.8 * view.eye.metres_per_pixel(SIZE);
    assert!(marks.tubes.iter().all(|tube| tube.radius <= (0.2 * 0.21_f64).max(thin)));
    assert_eq!(marks.beads.len(), 2, "beads at both ends only");
}
