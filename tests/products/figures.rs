//! Figures: what lands where in millimetres, that nothing collides or leaves the page.

use crate::computed;

use computed::{analysed, demo};
use perchline::products::figure::encode::tree;
use perchline::products::figure::{Drawing, KINDS, Kind, NotDrawn, Width, svg};
use perchline::results::Analysis;
use resvg::usvg::{Group, Node, Tree};
use std::f64::consts::TAU;
use std::fs;
use tempfile::TempDir;

fn of_tables(tables: &[(&str, &str)]) -> Analysis {
    let folder = TempDir::new().unwrap();
    for (name, text) in tables {
        fs::write(folder.path().join(name), text).unwrap();
    }
    analysed(folder.path())
}

/// A made-up survey of so many trails, anchors a trail and letters a name.
fn made_up(trails: usize, anchors: usize, letters: usize) -> Analysis {
    let name = |at: usize| {
        let stem: String = "Wandering Bramble of the Hollow".chars().take(letters).collect();
        let number = at.to_string();
        format!("{}{number}", &stem[..letters.saturating_sub(number.len())])
    };
    let mut rows = String::from("trail,anchor,tape_m,bearing_deg,height_m,support,perch\n");
    let mut listed = String::from("trail,animal,release,ending,date\n");
    let mut animals = String::from("animal,sex,body_mass_g\n");
    let mut controls = String::from("control,east_m,north_m,accuracy_m\n");
    for trail in 0..trails {
        let name = name(trail);
        // Some releases share a trap, others lie far off.
        let trap = trail / 2;
        if trail % 2 == 0 {
            controls +=
                &format!("trap {trap},{},{},4\n", 37 * (trap % 5), 900 * (trap / 9) + 23 * trap);
        }
        listed += &format!("{name},{name},trap {trap},found,2025-09-06\n");
        animals += &format!("{name},{},{}\n", ["m", "f"][trail % 2], 80 + 3 * trail);
        rows += &format!("{name},1,,,1,trunk,\n");
        for anchor in 2..=anchors {
            let bearing = (37 * anchor * anchor + 91 * trail) % 360;
            let height = (anchor * 7 + trail) % 9;
            let before = ((anchor - 1) * 7 + trail) % 9;
            let rise =
                if anchor == 2 { height as f64 - 1.0 } else { height as f64 - before as f64 };
            let tape = 1.5_f64.hypot(rise);
            let perch = if anchor % 9 == 0 { "sign" } else { "" };
            let support = ["trunk", "branch", "liana"][anchor % 3];
            rows += &format!("{name},{anchor},{tape:.2},{bearing},{height},{support},{perch}\n");
        }
    }
    of_tables(&[
        ("anchors.csv", &rows),
        ("trails.csv", &listed),
        ("animals.csv", &animals),
        ("controls.csv", &controls),
    ])
}

/// The boxes of all texts, millimetres: left, top, right, bottom; and the smallest letters, points.
fn texts(group: &Group, scale: f64, found: &mut Vec<([f64; 4], String)>, least: &mut f64) {
    for node in group.children() {
        match node {
            Node::Group(inner) => texts(inner, scale, found, least),
            Node::Text(text) => {
                let area = text.abs_bounding_box();
                let edges = [area.left(), area.top(), area.right(), area.bottom()];
                let words = text.chunks().iter().map(|chunk| chunk.text()).collect();
                found.push((edges.map(|edge| f64::from(edge) / scale), words));
                for span in text.chunks().iter().flat_map(|chunk| chunk.spans()) {
                    let size = f64::from(span.font_size().get());
                    *least = least.min(size * 72.0 / 25.4);
                }
            }
            Node::Path(_) | Node::Image(_) => {}
        }
    }
}

/// The box of all that is drawn, in the units of the tree.
fn drawn(tree: &Tree) -> [f64; 4] {
    let area = tree.root().abs_layer_bounding_box();
    [area.left(), area.top(), area.right(), area.bottom()].map(f64::from)
}

fn judge(name: &str, drawing: &Drawing) {
    let tree = tree(&drawing.svg).unwrap();
    let scale = f64::from(tree.size().width()) / drawing.width_mm;
    let [left, top, right, bottom] = drawn(&tree).map(|edge| edge / scale);
    let (wide, high) = (drawing.width_mm, drawing.height_mm);
    let inside = left >= -0.01 && top >= -0.01 && right <= wide + 0.01 && bottom <= high + 0.01;
    assert!(inside, "{name}: {left} {top} {right} {bottom} of {wide} x {high}");
    assert!(high <= 262.0, "{name} is {high} mm high");
    let (mut all, mut least) = (Vec::new(), f64::INFINITY);
    texts(tree.root(), scale, &mut all, &mut least);
    assert!(!all.is_empty(), "{name} has no text");
    assert!(least >= 6.999, "{name}: text of {least} pt");
    for (at, (a, words)) in all.iter().enumerate() {
        for (b, others) in &all[..at] {
            let x = a[2].min(b[2]) - a[0].max(b[0]);
            let y = a[3].min(b[3]) - a[1].max(b[1]);
            assert!(x < 0.15 || y < 0.25, "{name}: {words:?} on {others:?} by {x:.2} x {y:.2} mm");
        }
    }
}

fn judge_all(what: &str, analysis: &Analysis) -> usize {
    let mut drawn = 0;
    for (kind, name, _) in KINDS {
        for width in Width::ALL {
            if let Ok(drawing) = svg(kind, analysis, width) {
                judge(&format!("{what}, {name}, {} mm", width.mm()), &drawing);
                assert!(!drawing.caption.is_empty() && !drawing.alt.is_empty());
                drawn += 1;
            }
        }
    }
    drawn
}

#[test]
fn the_demo_has_every_kind_at_every_width() {
    assert_eq!(judge_all("demo", &demo()), 3 * KINDS.len());
}

#[test]
fn one_trail_or_forty_of_short_or_long_names() {
    for (trails, anchors, letters) in [(1, 5, 3), (1, 500, 30), (40, 5, 30), (40, 20, 3)] {
        let analysis = made_up(trails, anchors, letters);
        let drawn = judge_all(&format!("{trails} x {anchors}, {letters} letters"), &analysis);
        assert!(drawn >= 3 * 7, "{drawn}");
    }
}

/// Frames and headings of many trails take much of the page; their paths must not vanish for it.
#[test]
fn forty_trails_that_nothing_places_are_still_seen() {
    let mut rows = String::from("trail,anchor,tape_m,bearing_deg,height_m\n");
    for trail in 0..40 {
        for anchor in 0..30 {
            let measured = if anchor == 0 {
                ",".into()
            } else {
                format!("3,{}", (17_i32 * anchor).rem_euclid(360))
            };
            rows += &format!("Wandering Bramble of the Hol {trail},{anchor},{measured},2\n");
        }
    }
    let analysis = of_tables(&[("anchors.csv", &rows)]);
    for (kind, width) in [Kind::Plan, Kind::Panel, Kind::Oblique]
        .into_iter()
        .flat_map(|kind| Width::ALL.map(|width| (kind, width)))
    {
        let drawing = svg(kind, &analysis, width).unwrap();
        judge(&format!("{kind:?} {}", width.mm()), &drawing);
        let points = path_of(&drawing.svg, "#3d8c78");
        let x = || points.iter().map(|point| point[0]);
        let wide = x().fold(0.0, f64::max) - x().fold(f64::INFINITY, f64::min);
        assert!(wide > 2.5, "{kind:?} {}: {wide} mm", width.mm());
    }
}

const SQUARE: &str = "trail,anchor,tape_m,bearing_deg,height_m\nS,0,,,0\nS,1,10,0,0\nS,2,10,90,0\n\
                      S,3,10,180,0\n";
const TRUE_NORTH: &str = "[bearings]\nnorth = \"true\"\n";

/// The points of the first path that is drawn in a colour.
fn path_of(svg: &str, colour: &str) -> Vec<[f64; 2]> {
    let mark = format!("stroke=\"{colour}\" stroke-width=\"0.5\"");
    let line = svg.lines().find(|line| line.contains(&mark)).unwrap();
    let d = line.split('"').nth(1).unwrap();
    let numbers = |part: &str| {
        let mut numbers = part.split(' ').map(|number| number.parse::<f64>().unwrap());
        [numbers.next().unwrap(), numbers.next().unwrap()]
    };
    d.split(['M', 'L']).filter(|part| !part.is_empty()).map(numbers).collect()
}

/// A square of 10 m is square on the page, with north up, and as large as the scale bar says.
#[test]
fn a_square_trail_lands_at_the_right_millimetres() {
    let analysis = of_tables(&[("anchors.csv", SQUARE), ("survey.toml", TRUE_NORTH)]);
    let drawing = svg(Kind::Plan, &analysis, Width::Narrow).unwrap();
    let lowest = "#e6c46a";
    let points = path_of(&drawing.svg, lowest);
    assert_eq!(points.len(), 4, "{points:?}");
    let side = points[0][1] - points[1][1];
    let expected = [[0.0, 0.0], [0.0, -side], [side, -side], [side, 0.0]];
    for (point, expected) in points.iter().zip(expected) {
        let off = [point[0] - points[0][0] - expected[0], point[1] - points[0][1] - expected[1]];
        assert!(off[0].hypot(off[1]) < 0.03, "{points:?}");
    }
    // The bar is an open line of four places; its words say how long it is.
    let bar = drawing.svg.lines().rev().find(|line| line.matches('L').count() == 3).unwrap();
    let d = bar.split('"').nth(1).unwrap();
    let x: Vec<f64> = d
        .split(['M', 'L'])
        .filter(|part| !part.is_empty())
        .map(|part| part.split(' ').next().unwrap().parse().unwrap())
        .collect();
    let words = drawing.svg.lines().find(|line| line.contains(" m</text>")).unwrap();
    let metres: f64 = words.split('>').nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    let wide = x[2] - x[1];
    assert!((wide / metres - side / 10.0).abs() < 0.02 * side / 10.0, "{wide} mm, {metres} m");
}

/// The whole drawing of a small trail, to be read in review.
#[test]
fn the_steps_of_a_small_trail_as_text() {
    let analysis = of_tables(&[("anchors.csv", SQUARE), ("survey.toml", TRUE_NORTH)]);
    let drawing = svg(Kind::Steps, &analysis, Width::Narrow).unwrap();
    let texts: Vec<&str> = drawing
        .svg
        .lines()
        .filter_map(|line| line.strip_prefix("<text")?.split('>').nth(1)?.strip_suffix("</text"))
        .collect();
    assert!(texts.contains(&"n = 3 legs") && texts.contains(&"length of leg (m)"), "{texts:?}");
    assert!(drawing.caption.starts_with("Lengths of 3 legs of 1 trail"), "{}", drawing.caption);
}

#[test]
fn every_bar_and_petal_is_drawn_from_zero() {
    let drawing = svg(Kind::Steps, &demo(), Width::Wide).unwrap();
    let value = |line: &str, name: &str| -> f64 {
        let at = line.split(&format!(" {name}=\"")).nth(1).unwrap();
        at.split('"').next().unwrap().parse().unwrap()
    };
    let bars: Vec<&str> = drawing.svg.lines().filter(|line| line.starts_with("<rect x=")).collect();
    assert!(bars.len() > 5);
    let foot = |line: &&str| value(line, "y") + value(line, "height");
    assert!(bars.iter().all(|bar| (foot(bar) - foot(&bars[0])).abs() < 0.021));
}

#[test]
fn every_group_has_its_symbol_in_the_legend() {
    let drawing = svg(Kind::Groups, &demo(), Width::Wide).unwrap();
    for group in ["adults", "subadults"] {
        // Below each of eight plots, and in the legend.
        assert_eq!(drawing.svg.matches(&format!(">{group}<")).count(), 9, "{group}");
    }
}

/// A name is text, whatever stands in it.
#[test]
fn names_with_markup_and_from_right_to_left() {
    let anchors = "trail,anchor,tape_m,bearing_deg,height_m\n<script>&\"x,0,,,1\n\
                   <script>&\"x,1,3,20,2\nעכבר,0,,,1\nעכבר,1,3,20,2\n";
    let anchors = anchors.replace("<script>&\"x", "\"<script>&\"\"x\"");
    let analysis = of_tables(&[("anchors.csv", &anchors)]);
    let drawing = svg(Kind::Panel, &analysis, Width::Narrow).unwrap();
    assert!(!drawing.svg.contains("<script"), "{}", drawing.svg);
    assert!(drawing.svg.contains("&lt;script&gt;&amp;&quot;x") && drawing.svg.contains("עכבר"));
    judge_all("odd names", &analysis);
}

fn reason(result: Result<Drawing, NotDrawn>) -> String {
    result.unwrap_err().reason
}

#[test]
fn without_bearings_there_is_a_profile_and_no_plan() {
    let anchors = "trail,anchor,tape_m,height_m\nP,0,,1\nP,1,3,1.2\nP,2,2.5,2\n";
    let analysis = of_tables(&[("anchors.csv", anchors)]);
    assert!(reason(svg(Kind::Plan, &analysis, Width::Wide)).contains("bearings"));
    assert!(reason(svg(Kind::Turns, &analysis, Width::Wide)).contains("directions"));
    judge("profile", &svg(Kind::Profile, &analysis, Width::Wide).unwrap());
}

#[test]
fn one_anchor_level_heights_and_no_animals() {
    let one = of_tables(&[("anchors.csv", "trail,anchor,height_m\nQ,0,1\n")]);
    judge_all("one anchor", &one);
    assert!(reason(svg(Kind::Steps, &one, Width::Wide)).contains("no leg"));
    let level = of_tables(&[("anchors.csv", SQUARE)]);
    assert!(judge_all("level", &level) >= 3 * 5);
    assert!(reason(svg(Kind::Groups, &level, Width::Wide)).contains("animals"));
    assert!(reason(svg(Kind::Selection, &level, Width::Wide)).contains("available"));
    assert!(reason(svg(Kind::Closure, &level, Width::Wide)).contains("no check measurement"));
    let (trails, animals) = ("trail,animal\nS,Hazel\n", "animal,sex,body_mass_g\nHazel,f,90\n");
    let one =
        of_tables(&[("anchors.csv", SQUARE), ("trails.csv", trails), ("animals.csv", animals)]);
    assert!(judge_all("one animal", &one) >= 3 * 7);
    assert!(reason(svg(Kind::Groups, &one, Width::Wide)).contains("divides the animals"));
    assert!(reason(svg(Kind::Covariate, &one, Width::Wide)).contains("numbers that differ"));
}

/// A region that is wide and thin leaves no empty room along the path: this straight trail by turning
/// angles, 40 m long, is unsure by metres across and by decimetres along.
#[test]
fn a_frame_ends_where_path_and_regions_end() {
    let mut straight = "trail,anchor,tape_m,turn_deg,height_m\nS,0,,,0\n".to_owned();
    for anchor in 1..=10 {
        let turn = if anchor == 1 { "" } else { "0" };
        straight += &format!("S,{anchor},4,{turn},0\n");
    }
    let drawing =
        svg(Kind::Panel, &of_tables(&[("anchors.csv", &straight)]), Width::Middle).unwrap();
    let points = path_of(&drawing.svg, "#e6c46a");
    let top = points.iter().map(|point| point[1]).fold(f64::INFINITY, f64::min);
    let mm_per_m = (points[0][1] - top) / 40.0;
    assert!(mm_per_m > 1.0 && top < 9.0 + 2.0 * mm_per_m, "{top} mm, {mm_per_m} mm/m");
}

/// Straight lines of every bearing keep their direction on the page: north up, east right.
#[test]
fn east_is_right() {
    for step in 0..8 {
        let bearing = 45 * step;
        let anchors =
            format!("trail,anchor,tape_m,bearing_deg,height_m\nS,0,,,0\nS,1,10,{bearing},0\n");
        let analysis = of_tables(&[("anchors.csv", &anchors), ("survey.toml", TRUE_NORTH)]);
        let drawing = svg(Kind::Panel, &analysis, Width::Narrow).unwrap();
        let [a, b] = path_of(&drawing.svg, "#e6c46a").try_into().unwrap();
        let (sin, cos) = (TAU * f64::from(step) / 8.0).sin_cos();
        let long = (b[0] - a[0]).hypot(b[1] - a[1]);
        assert!((b[0] - a[0] - long * sin).abs() < 0.05 && (a[1] - b[1] - long * cos).abs() < 0.05);
    }
}
