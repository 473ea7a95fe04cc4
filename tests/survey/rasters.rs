//! Ground rasters written by GDAL, held against what it reads back and against the slope they show.

use approx::assert_abs_diff_eq;
use perchline::adjustment::network::build;
use perchline::adjustment::{Method, adjust};
use perchline::maths::ground::Ground;
use perchline::maths::quantity::{Bearing, Incline};
use perchline::results::ground;
use perchline::survey::Survey;
use perchline::survey::elevations::PlanSystem;
use perchline::survey::fault::{Code, Fault, Faults, Severity};
use perchline::survey::input::source::read_survey;
use proptest::prelude::{Just, Strategy, any, prop_assert, prop_oneof, proptest};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};
use tempfile::TempDir;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/rasters");
const REFERENCE: &str = include_str!("../rasters/rasters.json");

const ANCHORS: &str = "trail,anchor,tape_m,bearing_deg,height_m\nA,R,,,1.0\nA,1,12.3,40,0.2\n\
                       A,2,14.2,95,0.4\nA,3,2.8,,3.1\nA,4,9.7,170,0.3\nA,5,20.5,283,0.1\n";
const CONTROLS: &str = "control,latitude,longitude,elevation_m\nR,46.1,14.9,612\n";

fn survey(file: &str, controls: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    let settings =
        format!("[bearings]\nnorth = \"true\"\n[ground]\nmodel = \"raster\"\nfile = \"{file}\"\n");
    let files = [("anchors.csv", ANCHORS), ("controls.csv", controls), ("survey.toml", &settings)];
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn laid(folder: &Path) -> (Survey, Ground, Faults) {
    let (survey, mut faults) = read_survey(folder, &[]).unwrap();
    let (ground, more) = ground(&survey, &build(&survey));
    faults.append(more);
    (survey, ground, faults)
}

fn by_gdal(file: &str) -> (Survey, Ground) {
    let folder = survey(&format!("{FOLDER}/{file}"), CONTROLS);
    let (survey, ground, faults) = laid(folder.path());
    assert!(faults.is_empty(), "{file}: {:#?}", faults.sorted());
    (survey, ground)
}

fn numbers(value: &Value) -> Vec<Option<f64>> {
    value.as_array().unwrap().iter().map(Value::as_f64).collect()
}

#[test]
fn cells_and_their_places_are_those_that_gdal_reads() {
    let reference: Value = serde_json::from_str(REFERENCE).unwrap();
    let cases = reference["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 10);
    for case in cases {
        let file = case["file"].as_str().unwrap();
        let raster = by_gdal(file).0.elevations.unwrap();
        let system = match case["epsg"].as_u64() {
            None | Some(4326) => PlanSystem::Geographic, // GDAL knows no number for a .prj of Esri's
            Some(32632) => PlanSystem::Utm { zone: 32, south: false },
            Some(32633 | 25833) => PlanSystem::Utm { zone: 33, south: false },
            other => panic!("{other:?}"),
        };
        assert_eq!(raster.system, system, "{file}");
        let size = raster.size.map(|side| Some(side as f64));
        assert_eq!(numbers(&case["size"]), size, "{file}");
        for (key, ours) in
            [("first", raster.first), ("to_column", raster.to_column), ("to_row", raster.to_row)]
        {
            for (gdal, ours) in numbers(&case[key]).into_iter().zip(ours) {
                assert_abs_diff_eq!(gdal.unwrap(), ours, epsilon = 1e-9);
            }
        }
        let elevations = numbers(&case["elevations"]);
        assert_eq!(elevations.len(), raster.elevations.len(), "{file}");
        for (gdal, ours) in elevations.iter().zip(raster.elevations.iter()) {
            match gdal {
                Some(gdal) => assert_abs_diff_eq!(*gdal, *ours, epsilon = 5e-5), // GDAL rounds text
                None => assert!(ours.is_nan(), "{file}: {ours}"),
            }
        }
    }
}

/// The plane of which the rasters were made, by another library's projection, lies in the local
/// frame: on a grid turned by 4.3° and askew to it as well as on one nearly along it.
#[test]
fn a_raster_of_a_slope_is_that_slope() {
    let angle = Incline::from_degrees(12.0).unwrap();
    let slope = Ground::slope(angle, Bearing::from_degrees(200.0)).unwrap();
    let reference: Value = serde_json::from_str(REFERENCE).unwrap();
    for case in reference["cases"].as_array().unwrap() {
        let file = case["file"].as_str().unwrap();
        let whole = case["dtype"].as_str().unwrap().contains("int");
        let ground = by_gdal(file).1;
        for (east, north) in [(0.0, 0.0), (31.0, -42.0), (-38.5, 27.0), (44.0, 12.0)] {
            let [ours, exact] = [&ground, &slope].map(|ground| ground.at(east, north).unwrap());
            // at 612 m the cells of a map are a ten-thousandth wider than on the ellipsoid
            let close = if whole { 1.0 } else { 2e-3 };
            assert_abs_diff_eq!(ours.elevation, exact.elevation, epsilon = close);
            if !whole {
                assert_abs_diff_eq!(ours.slope_east, exact.slope_east, epsilon = 1e-4);
                assert_abs_diff_eq!(ours.slope_north, exact.slope_north, epsilon = 1e-4);
            }
        }
    }
}

#[test]
fn a_survey_on_a_raster_of_a_slope_is_that_on_the_slope() {
    let on = |ground: &str| {
        let folder = survey("", CONTROLS);
        let settings = format!("[bearings]\nnorth = \"true\"\n[ground]\n{ground}\n");
        fs::write(folder.path().join("survey.toml"), settings).unwrap();
        let (survey, ground, faults) = laid(folder.path());
        assert!(faults.is_empty(), "{:#?}", faults.sorted());
        let precision = &survey.settings.precision;
        adjust(&build(&survey), precision, &ground, Method::LeastSquares, false)
    };
    let slope = on("model = \"slope\"\nangle_deg = 12\ndirection_deg = 200");
    for file in ["utm32_float64_plain.tif", "degrees_float64_deflate.tif", "utm32_grid.asc"] {
        let raster = on(&format!("model = \"raster\"\nfile = \"{FOLDER}/{file}\""));
        for (ours, exact) in raster.heights.iter().zip(&slope.heights) {
            assert_abs_diff_eq!(ours.height, exact.height, epsilon = 1e-3);
            assert_abs_diff_eq!(ours.ground, exact.ground, epsilon = 1e-3);
        }
        for (ours, exact) in raster.positions.iter().zip(&slope.positions) {
            (0..3).for_each(|k| assert_abs_diff_eq!(ours[k], exact[k], epsilon = 1e-3));
        }
    }
    let last = slope.positions.last().unwrap();
    assert!(last[1].abs() > 1.0 && last[2].abs() > 0.3, "it is no level survey: {last:?}");
}

/// The one fault of a survey on this raster.
fn refusal(file: &str, controls: &str) -> Fault {
    let folder = survey(file, controls);
    let faults = laid(folder.path()).2;
    let sorted = faults.sorted();
    assert_eq!(sorted.len(), 1, "{file}: {sorted:#?}");
    let fault = sorted[0].clone();
    assert!(!fault.expected.is_empty() && !fault.hint.is_empty());
    fault
}

#[test]
fn what_is_no_raster_that_can_be_used_is_refused_by_name() {
    let own = |name: &str| format!("{FOLDER}/{name}");
    for (file, found) in [
        (own("other_system.tif"), "EPSG:3794"),
        (own("no_system.tif"), "without a reference system"),
        (own("three_bands.tif"), "RGB"),
        (own("zstd.tif"), "ZSTD"),
        (own("huge.tif"), "100000 columns and 100000 rows"),
        (own("make.py"), "neither of the two formats"),
        (own("nothing.tif"), "no file"),
        (own(""), "no file"),
    ] {
        let start = Instant::now();
        let fault = refusal(&file, CONTROLS);
        assert_eq!((fault.code, fault.severity), (Code::UnusableRaster, Severity::Error));
        assert_eq!(fault.place.phrase(), "survey.toml, column ground.file");
        assert!(fault.found.contains(found), "{file}: {}", fault.found);
        assert!(start.elapsed() < Duration::from_secs(20), "{file}: {:?}", start.elapsed());
    }
    let folder = survey("x", CONTROLS);
    fs::write(folder.path().join("survey.toml"), "[ground]\nmodel = \"raster\"\n").unwrap();
    assert_eq!(laid(folder.path()).2.sorted()[0].found, "no name of a raster");
}

/// Grids as text, written beside the survey under a path that starts there.
#[test]
fn a_grid_of_text_that_cannot_be_used_says_why() {
    const PRJ: &str = "GEOGCS[\"GCS_WGS_1984\"]";
    const HEAD: &str = "ncols 2\nnrows 2\nxllcenter 14.89\nyllcenter 46.09\ncellsize 0.02\n";
    let told = |grid: &str, prj: Option<&str>| {
        let folder = survey("dem/g.asc", CONTROLS);
        fs::create_dir(folder.path().join("dem")).unwrap();
        fs::write(folder.path().join("dem/g.asc"), grid).unwrap();
        if let Some(prj) = prj {
            fs::write(folder.path().join("dem/g.prj"), prj).unwrap();
        }
        let faults = laid(folder.path()).2;
        faults.sorted().first().map(|fault| (fault.code, fault.found.clone()))
    };
    assert_eq!(told(&format!("{HEAD}612 612\n612 612"), Some(PRJ)), None);
    for (grid, prj, found) in [
        (format!("{HEAD}612 612\n612 612"), None, "nowhere where on earth"),
        (format!("{HEAD}612 612\n612 612"), Some("GEOGCS[\"GCS_Bessel\"]"), "GCS_Bessel"),
        (format!("{HEAD}612 612\n612"), Some(PRJ), "3 elevations in 4 cells"),
        (format!("{HEAD}612 612\n612 612 612"), Some(PRJ), "more elevations than 4 cells"),
        (format!("{HEAD}612 612\n612 612,5"), Some(PRJ), "\"612,5\" where a number"),
        (HEAD.replace("nrows 2\n", ""), Some(PRJ), "no nrows"),
        (HEAD.replace("nrows 2", "nrows 1"), Some(PRJ), "1 row"),
        (HEAD.replace("nrows 2", "nrows 1e15"), Some(PRJ), "columns and 1000000000000000 rows"),
        (HEAD.replace("0.02", "0"), Some(PRJ), "cells of 0 × 0"),
        (format!("{HEAD}612 612\n612 \u{e9}"), Some(PRJ), "where a number"),
    ] {
        let (code, text) = told(&grid, prj).unwrap();
        assert_eq!(code, Code::UnusableRaster, "{text}");
        assert!(text.contains(found), "{text}");
    }
    let (code, text) = told(&format!("{HEAD}-9999 612\n612 612"), Some(PRJ)).unwrap();
    assert_eq!(code, Code::RasterElsewhere);
    assert!(
        text.contains("no elevation under 6 of 6 anchors; the first is R, 0.00 m east"),
        "{text}"
    );
}

#[test]
fn a_raster_that_does_not_lie_under_the_survey_is_told() {
    let file = format!("{FOLDER}/utm32_float64_plain.tif");
    let elsewhere = "control,latitude,longitude,elevation_m\nR,46.2,14.9,612\n";
    let fault = refusal(&file, elsewhere);
    assert_eq!((fault.code, fault.severity), (Code::RasterElsewhere, Severity::Error));
    assert!(fault.found.contains("6 of 6 anchors"), "{}", fault.found);
    // 67 m north of the middle of cells that reach 75 m: the next anchor lies beyond the edge.
    let fault = refusal(&file, "control,latitude,longitude\nR,46.1006,14.9\n");
    assert!(fault.found.contains("of 6 anchors; the first is 1 of trail A,"), "{}", fault.found);
    let fault = refusal(&file, "control,east_m,north_m\nR,0,0\n");
    assert_eq!(fault.code, Code::GroundIncomplete);
    let fault = refusal(&file, "control,latitude,longitude,elevation_m\nR,46.1,14.9,2008\n");
    assert_eq!((fault.code, fault.severity), (Code::RasterAgainstControl, Severity::Warning));
    assert_eq!(fault.place.phrase(), "controls.csv, row 2, column elevation_m");
    assert!(fault.expected.contains("612.0 m"), "{}", fault.expected);
}

#[test]
fn without_a_stated_elevation_the_ground_counts_from_the_raster() {
    let folder = survey(
        &format!("{FOLDER}/utm32_float64_plain.tif"),
        "control,latitude,longitude\nR,46.1,14.9\n",
    );
    let (_, ground, faults) = laid(folder.path());
    assert!(faults.is_empty(), "{:#?}", faults.sorted());
    assert_abs_diff_eq!(ground.at(0.0, 0.0).unwrap().elevation, 0.0, epsilon = 1e-12);
}

#[test]
fn a_trail_that_nothing_places_is_told() {
    let folder = survey(&format!("{FOLDER}/utm32_float64_plain.tif"), CONTROLS);
    let path = folder.path().join("anchors.csv");
    fs::write(&path, format!("{ANCHORS}B,0,,,1.0\nB,1,3,20,0.1\n")).unwrap();
    let faults = laid(folder.path()).2;
    let fault = faults.sorted()[0];
    assert_eq!((fault.code, fault.severity), (Code::RasterElsewhere, Severity::Warning));
    assert!(fault.found.contains("no known place for B"), "{}", fault.found);
}

fn damaged() -> impl Strategy<Value = (&'static str, usize, Option<u8>)> {
    let files = [
        "utm33_float32_deflate.tif",
        "utm32_int16_lzw_tiled.tif",
        "etrs89_uint16_packbits.tif",
        "utm33_int32_bigtiff.tif",
        "utm32_grid.asc",
    ];
    let file = (0..files.len()).prop_map(move |at| files[at]);
    // most of what matters stands in the first bytes
    let place = prop_oneof![0..600_usize, 0..4000_usize];
    (file, place, prop_oneof![Just(None), any::<u8>().prop_map(Some)])
}

proptest! {
    /// Cut short or with a byte changed: a fault or a raster, never a panic, and never for long.
    #[test]
    fn damaged_rasters_are_faults((file, at, byte) in damaged()) {
        let mut bytes = fs::read(Path::new(FOLDER).join(file)).unwrap();
        let at = at % bytes.len();
        match byte {
            None => bytes.truncate(at),
            Some(byte) => bytes[at] = byte,
        }
        let folder = survey("g.tif", CONTROLS);
        fs::write(folder.path().join("g.tif"), bytes).unwrap();
        fs::write(folder.path().join("g.prj"), "GEOGCS[\"WGS 84\"]").unwrap();
        let start = Instant::now();
        let (survey, _, faults) = laid(folder.path());
        prop_assert!(survey.elevations.is_some() || faults.stop());
        prop_assert!(start.elapsed() < Duration::from_secs(20));
    }
}
