//! Pictures, drawn by whatever Vulkan driver there is: what stands at the places of known anchors.
//! Without a driver these tests say so and pass, but fail where CI is set.

#![cfg(feature = "viewer")]

use crate::made_up;
use crate::run;
use crate::seen;

use made_up::protocol::Protocol;
use made_up::{Wish, study};

use perchline::products::scene::palette::{Colour, FAINT, PAPER, category};
use perchline::viewer::camera::Look;
use perchline::viewer::view::{ColourBy, View};
use perchline::viewer::{Rebuilt, Refused, is_black, snapshot};
use resvg::tiny_skia::Pixmap;
use run::{command, survey};
use seen::{place, shown, two_trails, view_of};
use std::fs;

const GOOD: &str =
    "trail,anchor,tape_m,bearing_deg,height_m\nA,0,,,1.0\nA,1,3.1,20,0.1\nA,2,4.2,95,0.2\n";
const SIZE: [u32; 2] = [900, 600];
const PIXELS: [f64; 2] = [900.0, 600.0];

/// The picture and its bytes; `None` without a driver.
fn drawn(rebuilt: &Rebuilt, view: &View) -> Option<(Pixmap, Vec<u8>)> {
    match snapshot(rebuilt, view, SIZE) {
        Ok(png) => Some((Pixmap::decode_png(&png).unwrap(), png)),
        Err(why) => {
            assert_eq!(why, Refused::NoDriver);
            assert!(std::env::var_os("CI").is_none(), "{why}");
            eprintln!("NOT TESTED: {why}");
            None
        }
    }
}

fn colour(picture: &Pixmap, x: f64, y: f64) -> [i32; 3] {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "pixels")]
    let pixel = picture.pixel(x.round() as u32, y.round() as u32).unwrap();
    [pixel.red(), pixel.green(), pixel.blue()].map(i32::from)
}

fn off(seen: [i32; 3], Colour(r, g, b): Colour) -> i32 {
    let wanted = [r, g, b].map(i32::from);
    seen.iter().zip(wanted).map(|(a, b)| (a - b).abs()).max().unwrap()
}

/// How far the pixel nearest in colour around a place is from `wanted`.
fn nearest(picture: &Pixmap, [x, y, _]: [f64; 3], wanted: Colour) -> i32 {
    let around = (-2..=2).flat_map(|dx| (-2..=2).map(move |dy| (f64::from(dx), f64::from(dy))));
    around.map(|(dx, dy)| off(colour(picture, x + dx, y + dy), wanted)).min().unwrap()
}

#[test]
fn trails_have_their_colours_where_their_anchors_stand() {
    let rebuilt = two_trails();
    for look in [Look::Oblique, Look::Plan, Look::East] {
        let mut view = View { colour: ColourBy::Trail, ..view_of(&rebuilt, look, PIXELS) };
        view.layers.drops = false; // one may stand in front of a leg
        let Some((picture, _)) = drawn(&rebuilt, &view) else { return };
        for (trail, from, to) in [(0, 1, 2), (0, 3, 4), (1, 0, 1), (1, 1, 2)] {
            let [a, b] = [from, to].map(|point| place(&rebuilt, &view, trail, point));
            for share in [0.35, 0.65] {
                let at = [0, 1, 2].map(|k| a[k] + share * (b[k] - a[k]));
                let at = view.eye.project(at, PIXELS);
                let seen = nearest(&picture, at, category(trail).colour);
                // Seen nearly end on, a leg lies under its anchors' beads.
                let [p, q] = [a, b].map(|place| view.eye.project(place, PIXELS));
                let long = (p[0] - q[0]).hypot(p[1] - q[1]) > 90.0;
                assert!(!long || seen < 30, "{look:?}: trail {trail}, leg {from} to {to}: {seen}");
            }
        }
        assert_eq!(off(colour(&picture, 890.0, 8.0), PAPER), 0, "the corner is paper");
    }
}

#[test]
fn the_grid_has_the_metres_it_names() {
    let rebuilt = two_trails();
    let mut view = view_of(&rebuilt, Look::Plan, PIXELS);
    view.layers.labels = false;
    let Some((picture, _)) = drawn(&rebuilt, &view) else { return };
    view.layers.grid = false;
    let (bare, _) = drawn(&rebuilt, &view).unwrap();
    view.layers.grid = true;
    let marks = shown(&rebuilt, &view, PIXELS, |shown| shown.marks());
    let apart = marks.grid_m / view.eye.metres_per_pixel(PIXELS);
    // A row between two level lines of the grid.
    let level = marks
        .lines
        .iter()
        .find(|l| l.colour == FAINT && (l.ends[0][1] - l.ends[1][1]).abs() < 1e-9);
    let y = view.eye.project(level.unwrap().ends[0], PIXELS)[1] - 0.4 * apart;
    let dark = |x: u32| {
        let [with, without] =
            [&picture, &bare].map(|p| colour(p, f64::from(x), y).iter().sum::<i32>());
        with < without - 20
    };
    let mut lines: Vec<f64> = Vec::new();
    for x in 0..SIZE[0] {
        let x_now = f64::from(x);
        if dark(x) && lines.last().is_none_or(|last| x_now - last > 3.0) {
            lines.push(x_now);
        }
    }
    assert!(lines.len() >= 4, "{lines:?}");
    let mean = (lines.last().unwrap() - lines[0]) / (lines.len() - 1) as f64;
    assert!((mean - apart).abs() < 0.5, "{mean} against {apart}: {lines:?}");
}

/// Hiding a trail changes pixels near that trail and nowhere else.
#[test]
fn hiding_a_trail_changes_its_own_pixels_only() {
    let rebuilt = two_trails();
    let mut view = View { colour: ColourBy::Height, ..view_of(&rebuilt, Look::Oblique, PIXELS) };
    view.layers.labels = false;
    view.layers.grid = false;
    let Some((both, _)) = drawn(&rebuilt, &view) else { return };
    view.hidden.insert("B".to_owned());
    let (one, _) = drawn(&rebuilt, &view).unwrap();
    let near: Vec<[f64; 3]> = (0..3)
        .flat_map(|point| {
            let [e, n, u] = place(&rebuilt, &view, 1, point);
            [[e, n, u], [e, n, 0.0]]
        })
        .map(|place| view.eye.project(place, PIXELS))
        .collect();
    let range = |axis: usize| {
        let at = near.iter().map(|place| place[axis]);
        let low = at.clone().fold(f64::INFINITY, f64::min) - 14.0;
        low..at.fold(f64::NEG_INFINITY, f64::max) + 14.0
    };
    let (across, down) = (range(0), range(1));
    let mut changed = 0;
    for x in 0..SIZE[0] {
        for y in 0..SIZE[1] {
            let (x, y) = (f64::from(x), f64::from(y));
            if colour(&both, x, y) != colour(&one, x, y) {
                changed += 1;
                // The legend and what is said stand at the left edge.
                assert!((across.contains(&x) && down.contains(&y)) || x < 260.0, "{x} {y}");
            }
        }
    }
    assert!(changed > 300, "{changed}");
}

#[test]
fn the_same_view_gives_the_same_bytes() {
    let rebuilt = two_trails();
    let view = view_of(&rebuilt, Look::Oblique, PIXELS);
    let Some((_, first)) = drawn(&rebuilt, &view) else { return };
    assert_eq!(drawn(&rebuilt, &view).unwrap().1, first);
}

#[test]
fn a_black_picture_is_refused() {
    let mut pixels = vec![0_u8; 3 * 300 * 200];
    assert!(is_black(&pixels));
    pixels[..9000].fill(255); // words with paper around them, and nothing else
    assert!(is_black(&pixels));
    pixels.fill(255);
    assert!(!is_black(&pixels));
}

/// Without a driver the library draws black, or nothing, and would end well.
#[test]
fn without_a_driver_it_says_what_to_install() {
    let folder = survey(GOOD);
    let arguments = ["view", "survey", "--snapshot", "out.png", "--size", "300x200"];
    let output = command(folder.path(), &arguments)
        .env("VK_DRIVER_FILES", "/nonexistent")
        .env("VK_ICD_FILENAMES", "/nonexistent")
        .output()
        .unwrap();
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(3), "{told}");
    assert!(told.contains("mesa-vulkan-drivers") && told.contains("perchline figure"), "{told}");
    assert!(!folder.path().join("out.png").exists());
}

#[test]
fn the_program_writes_a_picture_and_refuses_what_it_cannot() {
    let folder = survey(GOOD);
    let view = |more: &[&str]| {
        let arguments = [&["view", "survey", "--snapshot"], more].concat();
        let output = command(folder.path(), &arguments).output().unwrap();
        (output.status.code(), String::from_utf8(output.stderr).unwrap())
    };
    for (more, words) in [
        (&["out.jpg"][..], ".png"),
        (&["out.png", "--size", "12"], "1600x1000"),
        (&["out.png", "--size", "90000x10"], "1600x1000"),
        (&["survey/out.png"], "survey itself"),
    ] {
        let (status, told) = view(more);
        assert_eq!(status, Some(2), "{told}");
        assert!(told.contains(words), "{told}");
    }
    let (status, told) = view(&["out.png", "--size", "400x300", "--look", "plan"]);
    if status == Some(3) && std::env::var_os("CI").is_none() {
        eprintln!("NOT TESTED: {told}");
        return;
    }
    assert_eq!(status, Some(0), "{told}");
    let picture = Pixmap::load_png(folder.path().join("out.png")).unwrap();
    assert_eq!((picture.width(), picture.height()), (400, 300));
    fs::write(folder.path().join("survey/anchors.csv"), "trail,anchor,tape_m\nA,0,\nA,1,x\n")
        .unwrap();
    assert_eq!(view(&["other.png"]).0, Some(1), "the survey has errors");
}

/// A survey by each protocol is drawn, with what is known of its plan under its picture.
#[test]
fn every_protocol_can_be_seen() {
    for protocol in Protocol::ALL {
        let study = study(&Wish::of(protocol, [3, 12], 240_001));
        let folder = survey(&study.anchors);
        fs::write(folder.path().join("survey/survey.toml"), &study.settings).unwrap();
        let run = ["view", "survey", "--snapshot", "seen.png", "--size", "600x400"];
        let output = command(folder.path(), &run).output().unwrap();
        let told = String::from_utf8(output.stderr).unwrap();
        if output.status.code() == Some(3) && std::env::var_os("CI").is_none() {
            eprintln!("NOT TESTED: {told}");
            return;
        }
        assert_eq!(output.status.code(), Some(0), "{}: {told}", protocol.name());
        let png = fs::read(folder.path().join("seen.png")).unwrap();
        let picture = Pixmap::decode_png(&png).unwrap();
        let Colour(r, g, b) = PAPER;
        let inked = picture.pixels().iter().filter(|p| [p.red(), p.green(), p.blue()] != [r, g, b]);
        assert!(inked.count() > 500, "{}: next to nothing is drawn", protocol.name());
    }
}

#[test]
fn without_a_display_no_window_opens_and_that_is_said() {
    let folder = survey(GOOD);
    let mut window = command(folder.path(), &["view", "survey"]);
    window.env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY");
    let output = window.output().unwrap();
    let told = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(3), "{told}");
    assert!(told.contains("no display") && told.contains("--snapshot"), "{told}");
}
