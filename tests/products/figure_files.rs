//! Files of figures: that SVG, PDF and PNG are of one drawing, the same each time, and when the
//! program writes them.

use crate::computed;
use crate::run;

use computed::demo;
use perchline::products::figure::encode::{Format, encode};
use perchline::products::figure::{KINDS, Kind, Width, svg};
use std::fs;

/// Page sizes, text and picture of one drawing.
#[test]
fn pdf_and_png_are_of_the_same_drawing() {
    let drawing = svg(Kind::Profile, &demo(), Width::Middle).unwrap();
    let png = encode(&drawing, Format::Png).unwrap();
    assert_eq!(&png[1..4], b"PNG");
    let size = |at: usize| f64::from(u32::from_be_bytes(png[at..at + 4].try_into().unwrap()));
    assert!((size(16) - drawing.width_mm / 25.4 * 300.0).abs() < 1.0);
    assert!((size(20) - drawing.height_mm / 25.4 * 300.0).abs() < 1.0);
    assert!(png.windows(4).any(|name| name == b"pHYs"));
    let pdf = encode(&drawing, Format::Pdf).unwrap();
    assert!(pdf.starts_with(b"%PDF"));
    let has = |name: &[u8]| pdf.windows(name.len()).any(|window| window == name);
    assert!(has(b"/FontFile2") || has(b"/FontFile3"), "the font is embedded");
    assert!(has(b"/ToUnicode"), "text can be taken out again");
}

#[test]
fn the_same_survey_gives_the_same_bytes() {
    let (one, other) = (demo(), demo());
    for (kind, name, _) in KINDS {
        let draw = |analysis| svg(kind, analysis, Width::Narrow).unwrap().svg;
        assert_eq!(draw(&one), draw(&other), "{name}");
    }
}

/// Of a drawing in both weights: the order of fonts by hash would differ each time.
#[test]
fn the_same_drawing_gives_the_same_pdf_and_png() {
    let drawing = svg(Kind::Groups, &demo(), Width::Wide).unwrap();
    for format in Format::ALL {
        let first = encode(&drawing, format).unwrap();
        assert!((0..8).all(|_| encode(&drawing, format).unwrap() == first), "{format:?}");
    }
}

/// A machine without the typeface shows the same letters; they cost little.
#[test]
fn an_svg_carries_its_letters() {
    let analysis = demo();
    for (kind, name, _) in KINDS {
        let drawing = svg(kind, &analysis, Width::Wide).unwrap();
        let file = String::from_utf8(encode(&drawing, Format::Svg).unwrap()).unwrap();
        let document = roxmltree::Document::parse(&file).unwrap();
        let style = document.descendants().find(|node| node.has_tag_name("style")).unwrap();
        let rules = style.text().unwrap();
        assert!(rules.contains("@font-face") && rules.contains("data:font/ttf"), "{name}");
        assert!(rules.len() < 40_000, "{name}: {}", rules.len());
    }
}

#[test]
fn the_command_writes_one_file_or_none() {
    let folder = run::survey(run::GOOD);
    let out = |name: &str, kind: &str| {
        run::perchline(folder.path(), &["figure", "survey", kind, "--out", name, "--draws", "0"])
    };
    for name in ["plan.svg", "plan.PDF", "plan.png"] {
        let output = out(name, "plan");
        assert_eq!(output.status.code(), Some(0), "{output:?}");
        assert!(folder.path().join(name).is_file());
    }
    let output = out("plan.gif", "plan");
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains(".svg, .pdf or .png"), "{output:?}");
    let output = out("nowhere/plan.svg", "plan");
    assert_eq!(output.status.code(), Some(2), "{output:?}");
    let output = out("selection.svg", "selection");
    assert_eq!(output.status.code(), Some(1), "{output:?}");
    assert!(String::from_utf8_lossy(&output.stderr).contains("available"), "{output:?}");
    assert_eq!(out("x.svg", "portrait").status.code(), Some(2));
    let left: Vec<String> = run::contents(folder.path()).into_keys().collect();
    let expected = ["plan.PDF", "plan.png", "plan.svg", "survey", "survey/anchors.csv"];
    assert_eq!(left, expected);
}

#[test]
fn a_rebuild_leaves_figures_and_captions_unless_only_tables_are_wanted() {
    let folder = run::survey(run::GOOD);
    let output = run::perchline(folder.path(), &["rebuild", "survey", "--draws", "10"]);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    let figures = folder.path().join("survey-results/figures");
    let captions = fs::read_to_string(figures.join("captions.md")).unwrap();
    assert!(captions.contains("**plan.** Plan of 1 trail") && captions.contains("- selection: "));
    for ending in ["svg", "pdf", "png"] {
        assert!(figures.join(format!("plan.{ending}")).is_file(), "{ending}");
    }
    run::perchline(folder.path(), &["rebuild", "survey", "--draws", "10", "--tables-only"]);
    assert!(!figures.exists());
}
