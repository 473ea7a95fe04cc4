//! The view without a graphics driver: which marks stand where, and what is said of them.

#![cfg(feature = "viewer")]

use crate::seen;

use approx::assert_abs_diff_eq;
use nalgebra::{Matrix3, Vector3};
use perchline::products::scene::palette::{ALERT, FAINT, INK, QUIET, category};
use perchline::viewer::annotations::half_axes;
use perchline::viewer::camera::{Look, dot, round_step};
use perchline::viewer::colouring::Colouring;
use perchline::viewer::keys::{Asked, press};
use perchline::viewer::layout::Laid;
use perchline::viewer::marks::{Marks, Tube};
use perchline::viewer::overlay::{Overlay, Setting, Stroke};
use perchline::viewer::view::{ColourBy, Layers, View};
use perchline::viewer::{Rebuilt, framed};
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
    view.magnified = Some(25.0);
    let arrow = marks(&rebuilt, &view).tubes.into_iter().find(|t| t.colour == ALERT).unwrap();
    let drawn = Vector3::from(arrow.ends[1]) - Vector3::from(arrow.ends[0]);
    let [trail, point] = rebuilt.space.misclosures[0].at;
    let foot = Vector3::from(place(&rebuilt, &view, trail, point));
    assert_abs_diff_eq!(Vector3::from(arrow.ends[0]), foot, epsilon = 1e-12);
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
    assert_eq!(trails.legs[1], [[category(1).colour; 2]; 2]);
    assert_eq!(trails.keys[1], (category(1).colour, "B".to_owned()));
    let supports = by(ColourBy::Support);
    let key = |words: &str| supports.keys.iter().find(|(_, key)| key == words).unwrap().0;
    assert_eq!(supports.legs[0][1], [key("litter"); 2]);
    assert_eq!(supports.legs[0][0], [key("trunk"), key("litter")]);
    let sections = by(ColourBy::Section);
    assert_ne!(sections.legs[0][0], sections.legs[0][4], "seen at a3");
    let groups = by(ColourBy::Group);
    assert_eq!(groups.legs[0][0], [QUIET; 2]);
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
    assert!(says(&rebuilt, &view, "too few directions for a plan of P: height along the thread"));
    let laid = Laid::of(&rebuilt.space, &view);
    let points = &rebuilt.space.scene.trails[0].points;
    for (laid, point) in laid.points[0].iter().zip(points) {
        assert_abs_diff_eq!(laid[0], point.along, epsilon = 1e-9);
        assert_abs_diff_eq!(laid[1], 0.0);
    }
    let tubes = marks(&rebuilt, &view).tubes;
    assert!(tubes.iter().all(|tube| tube.ends.iter().all(|end| end[1].abs() < 1e-9)));
}

/// Aslant, no unrolled trail hides the one behind it, however high heights are drawn.
#[test]
fn unrolled_trails_hide_none_behind() {
    let rows = "P,1,,0\nP,2,10,4\nP,3,10,0\n";
    let anchors = format!("trail,anchor,tape_m,height_m\n{rows}{}", rows.replace('P', "Q"));
    let rebuilt = of_tables(&[("anchors.csv", &anchors)]);
    for stretch in [1.0, 3.0] {
        let view = View { stretch, ..view_of(&rebuilt, Look::Oblique, SIZE) };
        let laid = Laid::of(&rebuilt.space, &view);
        let pixel = |place| {
            let [x, y, _] = view.eye.project(place, SIZE);
            [x, y]
        };
        let [a, b] = [0, 2].map(|foot| pixel(laid.feet[0][foot]));
        for place in &laid.points[1] {
            let [x, y] = pixel(*place);
            let ground = a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0]);
            assert!(y > ground, "{stretch}: {y} over {ground}");
        }
    }
}

const TURNS: &str =
    "trail,anchor,tape_m,turn_deg,height_m\nT,0,,,1\nT,1,4,,1\nT,2,5,60,2\nT,3,4,40,1\n";

/// Turning angles alone: ahead and aside, never north and east, and no grid that runs to the north.
#[test]
fn a_trail_without_a_north_has_no_compass() {
    let free = of_tables(&[("anchors.csv", TURNS)]);
    let needle = TURNS.replace("turn_deg", "bearing_deg").replace("T,1,4,", "T,1,4,0");
    let needle = of_tables(&[("anchors.csv", &needle)]);
    let has = |rebuilt: &Rebuilt, look, words: &str| {
        let texts = overlay(rebuilt, &view_of(rebuilt, look, SIZE)).texts;
        texts.iter().any(|text| text.text == words)
    };
    for (look, compass, body) in [
        (Look::Plan, "N", "ahead"),
        (Look::North, "looking north", "looking ahead"),
        (Look::South, "looking south", "looking back"),
        (Look::West, "N", "ahead"),
    ] {
        assert!(has(&needle, look, compass) && !has(&needle, look, body), "{look:?}");
        assert!(!has(&free, look, compass) && has(&free, look, body), "{look:?}");
    }
    let view = view_of(&free, Look::Plan, SIZE);
    assert!(says(&free, &view, "no north is known of T: ahead is from the release"));
    assert!(says(&free, &view, "T (no north)"));
    assert_abs_diff_eq!(marks(&free, &view).grid_m, 0.0);
    let both = "trail,anchor,tape_m,turn_deg,bearing_deg,height_m\nT,0,,,,1\nT,1,4,,,1\nT,2,5,60,,2\n\
                B,0,,,,1\nB,1,4,,20,1\nB,2,5,,80,2\n";
    let both = of_tables(&[("anchors.csv", both)]);
    assert!(says(&both, &view_of(&both, Look::Plan, SIZE), "no north is known of T: N is that of"));
    assert!(marks(&needle, &view_of(&needle, Look::Plan, SIZE)).grid_m > 0.0);
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
    view.hidden.insert("A".into());
    assert!(!says(&rebuilt, &view, "side by side"), "one stands beside none");
    view.hidden.clear();
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
    let thin = |stroke: &&Stroke| stroke.colour == INK && stroke.width < 3.0;
    let bar = overlay.strokes.iter().find(thin).unwrap();
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

#[test]
fn a_misclosure_tells_its_size_beside_its_end() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Oblique, SIZE);
    let off = Vector3::from(rebuilt.space.misclosures[0].vector).norm();
    let words = format!("{off:.2} m off");
    assert!(!says(&rebuilt, &view, &words));
    view.layers.misclosures = true;
    assert!(says(&rebuilt, &view, &words), "{words}");
    view.layers.labels = false;
    assert!(says(&rebuilt, &view, &words), "names are another layer");
    view.toggle("A");
    assert!(!says(&rebuilt, &view, &words), "its trail is hidden");
}

/// Two trails from one release: each has its name, on another side of it.
#[test]
fn no_trail_loses_its_name_to_another() {
    let rebuilt = of_tables(&[
        (
            "anchors.csv",
            "trail,anchor,tape_m,bearing_deg,height_m\nA,a0,,,0.2\nA,a1,6,90,0.2\n\
             B,b0,,,0.2\nB,b1,7,180,0.2\n",
        ),
        ("controls.csv", "control,east_m,north_m\nwest,0,0\n"),
        ("trails.csv", "trail,animal,release\nA,Moss,west\nB,Fern,west\n"),
    ]);
    let mut view = view_of(&rebuilt, Look::Plan, SIZE);
    view.apart = Some(false);
    let overlay = overlay(&rebuilt, &view);
    let name = |name: &str| overlay.texts.iter().find(|text| text.text == name).unwrap().at;
    let ([x, y], [u, v]) = (name("A"), name("B"));
    assert!((x - u).abs().max((y - v).abs()) > 5.0, "{x} {y} {u} {v}");
}

/// A slip of metres, magnified ten times, would lead out of any picture.
#[test]
fn misclosures_are_drawn_no_longer_than_the_picture_has_room_for() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Plan, SIZE);
    view.layers.misclosures = true;
    let off = Vector3::from(rebuilt.space.misclosures[0].vector).norm();
    for (high, times, words) in [
        (1e4 * off, 10.0, "10 times longer"),
        (30.0 * off, 5.0, "5 times longer"),
        (off, 1.0, "as long as they are"),
    ] {
        view.eye.metres_high = high;
        assert_abs_diff_eq!(shown(&rebuilt, &view, SIZE, |shown| shown.magnified()), times);
        assert!(says(&rebuilt, &view, &format!("misclosures drawn {words}")));
    }
    view.magnified = Some(40.0);
    assert_abs_diff_eq!(shown(&rebuilt, &view, SIZE, |shown| shown.magnified()), 40.0);
}

/// However much there is to say, a picture that is framed keeps the path above it.
#[test]
fn notes_stand_below_what_is_framed() {
    let rebuilt = two_trails();
    let mut view = View::of(Look::Plan);
    view.layers = Layers { misclosures: true, ellipsoids: true, raw: true, ..view.layers };
    view.stretch = 2.0;
    view.apart = Some(true);
    let view = framed(&rebuilt, &view, SIZE, 0.0);
    let said = overlay(&rebuilt, &view);
    let note =
        |words: &str| said.texts.iter().find(|text| text.text.contains(words)).unwrap().at[1];
    let highest = note("the raw traverse");
    assert!(highest < note("side by side"), "the last one stands on top");
    let lowest = shown(&rebuilt, &view, SIZE, |shown| {
        shown.points().map(|point| view.eye.project(point, SIZE)[1]).fold(0.0, f64::max)
    });
    assert!(lowest < highest, "{lowest} {highest}");
}

/// An escape run up a trunk would vanish in a trunk as thick as it.
#[test]
fn an_escape_run_is_seen_on_the_trunk_that_it_climbs() {
    let rebuilt = of_tables(&[(
        "anchors.csv",
        "trail,anchor,tape_m,bearing_deg,height_m,support,tree,escape\n\
         E,1,,,0,trunk,T,\nE,2,2,,2,trunk,T,yes\nE,3,2,,4,trunk,T,yes\nE,4,3,90,4,branch,T,yes\n",
    )]);
    let mut view = view_of(&rebuilt, Look::North, SIZE);
    let with = marks(&rebuilt, &view);
    view.layers.trunks = false;
    let without = marks(&rebuilt, &view).lines;
    let trunks: Vec<&Tube> = with.lines.iter().filter(|line| !without.contains(line)).collect();
    assert!(!trunks.is_empty());
    let thinnest = with.tubes.iter().map(|tube| tube.radius).fold(f64::INFINITY, f64::min);
    assert!(trunks.iter().all(|trunk| trunk.radius < 0.9 * thinnest));
}

/// The legend names what it colours, and no trail that is not shown.
#[test]
fn the_legend_tells_of_what_is_shown() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Oblique, SIZE);
    view.colour = ColourBy::Trail;
    view.layers.labels = false;
    let named = |view: &View, name: &str| {
        overlay(&rebuilt, view).texts.iter().any(|text| text.text == name)
    };
    assert!(named(&view, "A") && named(&view, "B"));
    view.hidden.insert("A".into());
    assert!(!named(&view, "A") && named(&view, "B"));
    assert!(says(&rebuilt, &view, "black dots: release, found, end"));
    assert!(says(&rebuilt, &view, "plumb line, ground trace"));
    view.layers.drops = false;
    assert!(!says(&rebuilt, &view, "plumb line"));
}

/// What does not close on a trail that is hidden does not shorten what is drawn.
#[test]
fn misclosures_of_hidden_trails_do_not_count() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Oblique, SIZE);
    view.layers.misclosures = true;
    assert!(says(&rebuilt, &view, "misclosures drawn"));
    let names = rebuilt.space.misclosures.iter().map(|open| open.at[0]);
    view.hidden = names.map(|trail| rebuilt.space.scene.trails[trail].name.clone()).collect();
    assert!(says(&rebuilt, &view, "there is no misclosure to draw"));
}
