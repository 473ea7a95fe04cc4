//! Surveys without noise: they come back exactly, however they were read and written down.

use crate::field;
mod turned;

use field::{Rebuilt, Tables};
use perchline::adjustment::closure::ClosureKind;
use perchline::maths::quantity::{Bearing, Incline, Turn};

/// Bearings as written, and the usual precisions.
const USUAL: &str = "bearings.north = 'true'\n";

/// Anchors of an invented walk, none of its legs steep: east, north and height.
const WALK: [[f64; 3]; 6] = [
    [0.0, 0.0, 0.0],
    [2.4, 1.1, 0.9],
    [3.1, 4.6, 2.3],
    [-0.8, 5.9, 3.0],
    [-2.7, 2.2, 1.6],
    [-1.2, -1.9, 0.4],
];

/// A line as it would be read without any error.
#[derive(Clone, Copy)]
struct Sight {
    tape: f64,
    bearing: Bearing,
    incline: Incline,
}

fn sight(from: [f64; 3], to: [f64; 3]) -> Sight {
    let [e, n, rise] = [0, 1, 2].map(|k| to[k] - from[k]);
    let run = e.hypot(n);
    Sight {
        tape: run.hypot(rise),
        bearing: Bearing::of_vector(e, n).unwrap(),
        incline: Incline::of_rise(rise, run),
    }
}

/// A walk without error under these headings; `cells` fills them from the sight to an anchor, the
/// sight before it and the anchor's number.
fn exact(headings: &str, cells: impl Fn(Sight, Sight, usize) -> String) -> Tables {
    let first = sight(WALK[0], WALK[1]);
    let blank = ",".repeat(headings.matches(',').count());
    let mut anchors = format!("trail,anchor,height_m,{headings}\nBor,0,0,{blank}\n");
    let mut before = first;
    for k in 1..WALK.len() {
        let leg = sight(WALK[k - 1], WALK[k]);
        anchors += &format!("Bor,{k},{},{}\n", WALK[k][2], cells(leg, before, k));
        before = leg;
    }
    Tables { anchors, settings: USUAL.into(), ..Tables::default() }
}

fn assert_at(ours: &Rebuilt, name: &str, place: [f64; 3]) {
    let found = ours.adjusted.positions[ours.node(name)];
    for k in 0..3 {
        assert!((found[k] - place[k]).abs() < 1e-6, "{name}: {found:?} for {place:?}");
    }
}

fn assert_exact(tables: &Tables) {
    let ours = tables.rebuild();
    for (k, &place) in WALK.iter().enumerate() {
        assert_at(&ours, &k.to_string(), place);
    }
}

#[test]
fn a_survey_without_noise_comes_back_however_it_was_read() {
    assert_exact(&exact("tape_m,bearing_deg", |leg, _, _| {
        format!("{},{}", leg.tape, leg.bearing.to_degrees())
    }));
    assert_exact(&exact("tape_m,back_bearing_deg", |leg, _, _| {
        format!("{},{}", leg.tape, leg.bearing.reversed().to_degrees())
    }));
    assert_exact(&exact("tape_m,bearing_gon", |leg, _, _| {
        format!("{},{}", leg.tape, leg.bearing.to_degrees() / 0.9)
    }));
    assert_exact(&exact("tape_ft,bearing_deg,incline_deg", |leg, _, _| {
        let (bearing, incline) = (leg.bearing.to_degrees(), leg.incline.to_degrees());
        format!("{},{bearing},{incline}", leg.tape / 0.3048)
    }));
    assert_exact(&exact("tape_m,bearing_deg,turn_deg", |leg, before, k| {
        if k == 1 {
            return format!("{},{},", leg.tape, leg.bearing.to_degrees());
        }
        format!("{},,{}", leg.tape, leg.bearing.turn_from(before.bearing).to_degrees())
    }));
}

#[test]
fn a_clinometer_alone_carries_the_heights() {
    let mut tables = exact("tape_m,bearing_deg,incline_deg", |leg, _, _| {
        let (bearing, incline) = (leg.bearing.to_degrees(), leg.incline.to_degrees());
        format!("{},{bearing},{incline}", leg.tape)
    });
    for (k, place) in WALK.iter().enumerate().skip(1) {
        let with_height = format!("Bor,{k},{},", place[2]);
        tables.anchors = tables.anchors.replace(&with_height, &format!("Bor,{k},,"));
    }
    assert_exact(&tables);
}

#[test]
fn a_plumb_leg_needs_no_bearing() {
    let tables = Tables {
        anchors: "trail,anchor,tape_m,bearing_deg,height_m\n\
                  Bor,0,,,0.5\nBor,1,3,90,0.5\nBor,2,4,,4.5\nBor,3,2,0,4.5\n"
            .into(),
        settings: USUAL.into(),
        ..Tables::default()
    };
    let ours = tables.rebuild();
    assert_at(&ours, "2", [3.0, 0.0, 4.5]);
    assert_at(&ours, "3", [3.0, 2.0, 4.5]);
}

#[test]
fn on_sloping_ground_heights_stand_on_the_slope() {
    let angle = Incline::from_degrees(20.0).unwrap();
    let fall = angle.to_radians().tan();
    let height = |at: [f64; 3]| at[2] + fall * at[0]; // downhill is east
    let mut anchors = String::from("trail,anchor,height_m,tape_m,bearing_deg\nBor,0,0,,\n");
    for (k, &at) in WALK.iter().enumerate().skip(1) {
        let leg = sight(WALK[k - 1], at);
        anchors += &format!("Bor,{k},{},{},{}\n", height(at), leg.tape, leg.bearing.to_degrees());
    }
    let slope = "[ground]\nmodel = 'slope'\nangle_deg = 20\ndirection_deg = 90\n";
    let tables = Tables { anchors, settings: format!("{USUAL}{slope}"), ..Tables::default() };
    let ours = tables.rebuild();
    for (k, &at) in WALK.iter().enumerate() {
        assert_at(&ours, &k.to_string(), at);
        let own = ours.adjusted.heights[ours.node(&k.to_string())];
        assert!((own.height - height(at)).abs() < 1e-6);
    }
}

#[test]
fn straight_on_carries_the_direction_on() {
    let anchors = "trail,anchor,tape_m,bearing_deg,height_m\n\
                   Bor,0,,,0\nBor,1,3,90,0\nBor,2,2,,0\nBor,3,4,0,0\n";
    let carried = format!("missing_bearing = 'straight_on'\n{USUAL}");
    let tables = Tables { anchors: anchors.into(), settings: carried, ..Tables::default() };
    let ours = tables.rebuild();
    assert_at(&ours, "2", [5.0, 0.0, 0.0]);
    assert_at(&ours, "3", [5.0, 4.0, 0.0]);
    let north = |name: &str| ours.adjusted.covariances[ours.node(name)][(1, 1)].sqrt();
    assert!(north("2") > 10.0 * north("1"));
    let in_profile = Tables { settings: USUAL.into(), ..tables }.rebuild();
    assert!(!in_profile.network.trails[0].layout.has_plan()); // one leg in three
}

/// A loop of readings that do not fit, with a tie across; all bearings turned by `turn`.
fn misread(turn: f64) -> Tables {
    let bearing = |degrees: f64| (degrees + turn).rem_euclid(360.0);
    let legs = [
        ("1", 2.83, 64.0, 0.95),
        ("2", 3.82, 12.5, 2.2),
        ("3", 4.14, 290.0, 3.05),
        ("4", 4.41, 206.0, 1.55),
        ("5", 4.54, 161.0, 0.45),
        ("0", 2.25, 30.0, 0.0),
    ];
    let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,height_m\nBor,0,,,0\n");
    for (name, tape, degrees, height) in legs {
        anchors += &format!("Bor,{name},{tape},{},{height}\n", bearing(degrees));
    }
    let tie = format!("Bor,1,4,5.3,{},7.2,0.7\n", bearing(281.5));
    let ties = format!("trail,from,to,tape_m,bearing_deg,incline_deg,rise_m\n{tie}");
    Tables { anchors, ties, settings: USUAL.into(), ..Tables::default() }
}

#[test]
fn turning_all_bearings_turns_the_survey() {
    let straight = misread(0.0).rebuild();
    for degrees in [17.0, 90.0, 143.5, 180.0, 299.9] {
        let turned = misread(degrees).rebuild();
        let (sin, cos) = Turn::from_degrees(degrees).to_radians().sin_cos();
        for node in 0..straight.network.nodes.len() {
            let [e, n, up] = straight.adjusted.positions[node];
            assert_at(&turned, straight.name(node), [e * cos + n * sin, n * cos - e * sin, up]);
        }
        let pairs = straight.adjusted.residuals.iter().zip(&turned.adjusted.residuals);
        for (a, b) in pairs {
            assert!((a.residual - b.residual).abs() < 1e-6, "{a:?} {b:?}");
        }
    }
}

/// The two surveys have the same positions, standard deviations and global test.
fn assert_same(a: &Rebuilt, b: &Rebuilt) {
    assert_eq!(a.network.nodes.len(), b.network.nodes.len());
    for node in 0..a.network.nodes.len() {
        assert_at(b, a.name(node), a.adjusted.positions[node]);
        let other = b.adjusted.covariances[b.node(a.name(node))];
        assert!((a.adjusted.covariances[node] - other).amax() < 1e-9);
    }
    for (a, b) in a.adjusted.fits.iter().zip(&b.adjusted.fits) {
        assert!((a.degrees_of_freedom - b.degrees_of_freedom).abs() < 1e-6, "{a:?} {b:?}");
        assert!((a.statistic - b.statistic).abs() < 1e-6, "{a:?} {b:?}");
    }
}

#[test]
fn a_tie_may_be_written_from_either_end() {
    let there = misread(0.0);
    let back = Tables {
        ties: "trail,from,to,tape_m,bearing_deg,incline_deg,rise_m\n\
               Bor,4,1,5.3,101.5,-7.2,-0.7\n"
            .into(),
        ..there.clone()
    };
    assert_same(&there.rebuild(), &back.rebuild());
}

#[test]
fn trails_that_share_nothing_do_not_touch_each_other() {
    let (one, other) = (misread(0.0), misread(63.0));
    let renamed = |text: &str| text.split_once('\n').unwrap().1.replace("Bor,", "Lipa,");
    let (anchors, ties) = (renamed(&other.anchors), renamed(&other.ties));
    let both = Tables {
        anchors: one.anchors.clone() + &anchors,
        ties: one.ties.clone() + &ties,
        ..one.clone()
    };
    let (both, apart) = (both.rebuild(), [one.rebuild(), other.rebuild()]);
    let count = apart[0].network.nodes.len();
    for (own, nodes) in apart.iter().zip([0..count, count..2 * count]) {
        assert_eq!(both.adjusted.positions[nodes.clone()], own.adjusted.positions);
        assert_eq!(both.adjusted.covariances[nodes], own.adjusted.covariances);
    }
    let residuals: Vec<f64> = both.adjusted.residuals.iter().map(|r| r.residual).collect();
    let own = apart.iter().flat_map(|own| own.adjusted.residuals.iter().map(|r| r.residual));
    assert_eq!(residuals, own.collect::<Vec<_>>());
}

#[test]
fn an_anchor_passed_again_closes_a_loop() {
    let ours = Tables { ties: String::new(), ..misread(0.0) }.rebuild();
    let closure = ours.closure();
    assert_eq!((closure.kind, closure.legs), (ClosureKind::Loop, 6));
    assert_eq!(ours.network.nodes.len(), 6);
    assert!(ours.adjusted.fits[0].degrees_of_freedom > 0.0);
}

#[test]
fn a_leg_measured_again_is_known_better() {
    let legs = misread(0.0);
    let again = "trail,from,to,tape_m,bearing_deg\nBor,1,2,3.85,13\nBor,2,1,3.84,193\n";
    let once = Tables { ties: String::new(), ..legs.clone() }.rebuild();
    let thrice = Tables { ties: again.into(), ..legs }.rebuild();
    let line = 1; // the leg from 1 to 2
    assert!(
        thrice.adjusted.line_covariances[line].trace()
            < once.adjusted.line_covariances[line].trace()
    );
    assert_eq!(thrice.adjusted.closures.len(), 3);
}

#[test]
fn a_trail_of_one_anchor_stands_where_its_height_puts_it() {
    let anchors = "trail,anchor,height_m\nBor,0,1.5\n";
    let ours = Tables { anchors: anchors.into(), ..Tables::default() }.rebuild();
    assert_at(&ours, "0", [0.0, 0.0, 1.5]);
    assert!(ours.adjusted.fits.is_empty() && ours.adjusted.closures.is_empty());
}

#[test]
fn a_lost_anchor_is_placed_by_ties_from_a_trail_that_stands_nowhere() {
    let anchors = "trail,anchor,tape_m,bearing_deg,height_m\n\
                   Bor,0,,,0\nBor,1,4,0,0\nBor,2,3,90,0\nBor,3,,,0\n";
    for ties in ["tape_m\nBor,0,3,5\nBor,1,3,5\n", "bearing_deg\nBor,0,3,90\nBor,2,3,180\n"] {
        let tables = Tables {
            anchors: anchors.into(),
            ties: format!("trail,from,to,{ties}"),
            settings: USUAL.into(),
            ..Tables::default()
        };
        let ours = tables.rebuild();
        assert_at(&ours, "2", [3.0, 4.0, 0.0]);
        assert!(ours.network.nodes[0].plan_held && !ours.network.nodes[3].plan_held);
        assert!(ours.adjusted.covariances[3].trace().sqrt() < 1.0);
    }
}
