//! Errors that all readings of an instrument share, on made-up studies whose truth is known.

use perchline::adjustment::common::Instrument;
use perchline::adjustment::network::build;
use perchline::adjustment::path::Geometry;
use perchline::maths::quantity::Turn;
use perchline::measures::metrics::{Metric, Shape, Subject, Values, measure};
use perchline::results::methods::methods;
use perchline::results::progress::Progress;
use perchline::results::{Analysis, Wanted, analyse};
use perchline::survey::dictionary::{ANCHORS, CONTROLS, InputTable};
use perchline::survey::fault::Faults;
use perchline::survey::input::csv::read_grid;
use perchline::survey::settings::{self, Precision};
use perchline::survey::{Grids, read_tables};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use std::f64::consts::TAU;
use std::fmt::Write;
use std::fs;
use std::process::Command;

const LEGS: usize = 25;
const SETTINGS: &str = "[bearings]\nnorth = \"true\"\n[escape]\nrule = \"none\"\n";
const ALLOWED: &str = "[common]\ntape_scale = 0.01\nbearing_deg = 2.0\nheight_scale = 0.03\n";

struct Dice(Xoshiro256PlusPlus);

impl Dice {
    fn of(seed: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(seed))
    }

    fn normal(&mut self, sd: f64) -> f64 {
        let z: f64 = StandardNormal.sample(&mut self.0);
        sd * z
    }
}

/// How far the instruments of a study are off: tape and heights as shares, the needle in radians.
#[derive(Clone, Copy, Default)]
struct Off {
    tape: f64,
    needle: f64,
    height: f64,
}

/// A walk of level legs and climbs over ground rough by 0.1 m: places, and heights above it.
fn walk(dice: &mut Dice, wander: f64) -> Geometry {
    let mut heading = dice.normal(TAU);
    let [mut e, mut n, mut height] = [0.0, 0.0, 1.5];
    let mut truth = Geometry { points: Vec::new(), heights: Vec::new() };
    for at in 0..=LEGS {
        if at > 0 {
            let length = (2.0 + dice.normal(0.3)).max(1.6);
            heading += dice.normal(wander);
            let rise = dice.normal(0.7).clamp(-1.4, 1.4).max(-height);
            let run = (length * length - rise * rise).sqrt();
            (e, n, height) = (e + run * heading.sin(), n + run * heading.cos(), height + rise);
        }
        truth.points.push([e, n, height + dice.normal(0.1)]);
        truth.heights.push(height);
    }
    truth
}

/// The rows of a trail, read with the default precisions by instruments that are `off`.
fn rows(name: &str, truth: &Geometry, off: Off, dice: &mut Dice) -> String {
    let p = Precision::default();
    let mut rows = String::new();
    for (at, (&[e, n, z], height)) in truth.points.iter().zip(&truth.heights).enumerate() {
        let read = height * (1.0 + off.height) + dice.normal(p.height(*height, None));
        let _ = write!(rows, "{name},{at},{read:.6}");
        let Some(&[e0, n0, z0]) = at.checked_sub(1).and_then(|before| truth.points.get(before))
        else {
            rows += ",,\n";
            continue;
        };
        let run = (e - e0).hypot(n - n0);
        let length = run.hypot(z - z0);
        let tape = length * (1.0 + off.tape) + dice.normal(p.tape(length));
        let two = Turn::from_degrees(p.bearing_deg).to_radians();
        let aside = dice.normal((run * two).hypot(p.anchor_m)).atan2(run);
        let bearing = Turn::from_radians((e - e0).atan2(n - n0) + aside + off.needle);
        let _ = writeln!(rows, ",{tape:.6},{:.6}", bearing.to_degrees().rem_euclid(360.0));
    }
    rows
}

fn analysis(anchors: &str, controls: &str, settings: &str, draws: usize) -> Analysis {
    let mut faults = Faults::default();
    let mut grid = |name: &str, text: &str, table: &InputTable| {
        read_grid(name, text.as_bytes(), table, usize::MAX, &mut faults)
    };
    let (settings, _) = settings::read("survey.toml", settings, &[]);
    let anchors = grid("anchors.csv", anchors, &ANCHORS);
    let controls = (!controls.is_empty()).then(|| grid("controls.csv", controls, &CONTROLS));
    let (survey, _) = read_tables(settings, Grids { anchors, controls, ..Grids::default() });
    let network = build(&survey);
    let wanted = Wanted { draws, ..Wanted::default() };
    analyse(survey, network, wanted, &Progress::default()).unwrap()
}

fn true_values(analysis: &Analysis, truth: &Geometry) -> Values {
    let path = &analysis.paths[0];
    let above = analysis.survey.settings.above_ground_m();
    let subject = Subject::new(path, &path.legs, 0, above).with(0.5, 1.0, false);
    let mut values = measure(&subject, &Shape::of(&subject, truth));
    values[Metric::TapedLength.at()] = values[Metric::PathLength.at()];
    values
}

const HEAD: &str = "trail,anchor,height_m,tape_m,bearing_deg\n";

/// What a study is tried on, and the most that may hold where nothing is allowed for.
const TRIED: [(Metric, f64); 12] = [
    (Metric::PathLength, 65.0),
    (Metric::TapedLength, 65.0),
    (Metric::HorizontalLength, 85.0),
    (Metric::NetDisplacement, 100.0),
    (Metric::MaxDistance, 100.0),
    (Metric::NetBearing, 75.0),
    (Metric::HeightMean, 75.0),
    (Metric::HeightMax, 100.0),
    (Metric::Ascent, 100.0),
    (Metric::Descent, 100.0),
    (Metric::ElevationRange, 100.0),
    (Metric::Straightness, 100.0),
];

/// Of 200 studies 95 % hold with a standard deviation of 1.5 %.
#[test]
fn intervals_hold_where_what_readings_share_is_allowed_for() {
    const STUDIES: u64 = 200;
    let mut counts = [[(0, 0); TRIED.len()]; 2];
    for study in 0..STUDIES {
        let mut dice = Dice::of(70_000 + study);
        let two = Turn::from_degrees(2.0).to_radians();
        let off =
            Off { tape: dice.normal(0.01), needle: dice.normal(two), height: dice.normal(0.03) };
        let truth = walk(&mut dice, 0.5);
        let anchors = HEAD.to_owned() + &rows("Bor", &truth, off, &mut dice);
        for (counts, common) in counts.iter_mut().zip([ALLOWED, ""]) {
            let analysis = analysis(&anchors, "", &format!("{SETTINGS}{common}"), 200);
            let values = true_values(&analysis, &truth);
            for (count, (metric, _)) in counts.iter_mut().zip(TRIED) {
                let row = analysis.trails[0].value(metric, 0);
                let interval = row.and_then(|row| row.measured?.interval);
                let Some([low, high]) = interval else { continue };
                let value = values[metric.at()];
                let turn = if metric == Metric::NetBearing { 360.0 } else { 0.0 };
                let value = if turn > 0.0 { Turn::from_radians(value).to_degrees() } else { value };
                let here = |turn: f64| (low..=high).contains(&(value + turn));
                count.0 += usize::from([-turn, 0.0, turn].into_iter().any(here));
                count.1 += 1;
            }
        }
    }
    let percent = |(held, of): (usize, usize)| {
        assert!(of > 150, "{counts:?}");
        100.0 * held as f64 / of as f64
    };
    let [allowed, not] = counts.map(|counts| counts.map(percent));
    let told: Vec<String> = TRIED
        .iter()
        .enumerate()
        .map(|(at, (metric, _))| format!("{}: {} {}", metric.entry().name, allowed[at], not[at]))
        .collect();
    for (at, (_, most)) in TRIED.iter().enumerate() {
        assert!((90.0..=99.5).contains(&allowed[at]), "{told:#?}");
        assert!(not[at] <= *most, "{told:#?}");
    }
}

/// Ten trails from one position known to a millimetre to another, walked with a tape that is 1 % long.
fn between_positions(dice: &mut Dice) -> (Vec<String>, String, Vec<f64>) {
    let off = Off { tape: 0.01, ..Off::default() };
    let (mut trails, mut lengths) = (Vec::new(), Vec::new());
    let mut controls = String::from("control,east_m,north_m,accuracy_m\n");
    for trail in 0..10 {
        let truth = walk(dice, 0.1);
        for (end, at) in [("A", 0), ("B", LEGS)] {
            let [e, n, _] = truth.points[at];
            let _ = writeln!(
                controls,
                "T{trail}{end},{:.4},{n:.4},0.001",
                e + 200.0 * f64::from(trail)
            );
        }
        let own = rows(&format!("T{trail}"), &truth, off, dice);
        let own = own.replace(&format!("T{trail},0,"), &format!("T{trail},T{trail}A,"));
        trails.push(own.replace(&format!("T{trail},{LEGS},"), &format!("T{trail},T{trail}B,")));
        let legs = truth.points.windows(2).map(|pair| {
            let [[e, n, z], [east, north, up]] = [pair[0], pair[1]];
            (east - e).hypot(north - n).hypot(up - z)
        });
        lengths.push(legs.sum());
    }
    (trails, controls, lengths)
}

/// 1 % is one standard deviation of what is allowed for. Each of the ten tells the tape to some 0.7 %:
/// rough ground makes the run of a leg of 2 m uncertain by 0.06 m.
#[test]
fn positions_tell_how_long_a_tape_is() {
    let (trails, controls, lengths) = between_positions(&mut Dice::of(4_711));
    let allowed = format!("{SETTINGS}[common]\ntape_scale = 0.01\nbearing_deg = 1.0\n");
    let found = analysis(&(HEAD.to_owned() + &trails.concat()), &controls, &allowed, 200);
    let unknowns = &found.adjusted.common.unknowns;
    let tape = unknowns.iter().find(|unknown| unknown.instrument == Instrument::Tape).unwrap();
    assert!(tape.is_told() && tape.sd < 0.003, "{tape:?}");
    assert!((tape.value - 0.01).abs() < 2.0 * tape.sd, "{tape:?}");
    let held = found.trails.iter().zip(&lengths).filter(|(trail, truth)| {
        let row = trail.value(Metric::TapedLength, 0).unwrap();
        let [low, high] = row.measured.unwrap().interval.unwrap();
        (low..=high).contains(truth)
    });
    assert!(held.count() >= 9, "{lengths:?}");
    let p_values = found.adjusted.fits.iter().map(|fit| fit.p_value.unwrap());
    let mean = p_values.sum::<f64>() / 10.0;
    assert!((0.2..0.8).contains(&mean), "{:?}", found.adjusted.fits);
    // The same whatever the order of the trails.
    let turned: String = trails.into_iter().rev().collect();
    let other = analysis(&(HEAD.to_owned() + &turned), &controls, &allowed, 0);
    for (unknown, same) in unknowns.iter().zip(&other.adjusted.common.unknowns) {
        assert!((unknown.value - same.value).abs() < 1e-9, "{unknown:?} {same:?}");
        assert!((unknown.sd - same.sd).abs() < 1e-9, "{unknown:?} {same:?}");
    }
    for (trail, same) in found.trails.iter().zip(other.trails.iter().rev()) {
        let [one, two] = [trail, same].map(|t| t.value(Metric::PathLength, 0).unwrap());
        let [one, two] = [one, two].map(|row| row.measured.unwrap().value);
        assert!((one / two - 1.0).abs() < 0.002, "{one} {two}: values move by draws alone");
    }
}

/// A slip of 10 m in one trail is none of the tape's.
#[test]
fn a_slip_is_no_common_error() {
    let (mut trails, controls, _) = between_positions(&mut Dice::of(4_711));
    let allowed = format!("{SETTINGS}[common]\ntape_scale = 0.01\nbearing_deg = 1.0\n");
    let tape = |trails: &[String]| {
        let found = analysis(&(HEAD.to_owned() + &trails.concat()), &controls, &allowed, 0);
        let unknowns = found.adjusted.common.unknowns;
        *unknowns.iter().find(|unknown| unknown.instrument == Instrument::Tape).unwrap()
    };
    let before = tape(&trails);
    let row = trails[3].lines().nth(12).unwrap().to_owned();
    let mut cells: Vec<String> = row.split(',').map(str::to_owned).collect();
    cells[3] = format!("{:.6}", cells[3].parse::<f64>().unwrap() + 10.0);
    trails[3] = trails[3].replace(&row, &cells.join(","));
    let after = tape(&trails);
    assert!((after.value - before.value).abs() < before.sd, "{before:?} {after:?}");
}

/// The program on one processor and on all.
#[test]
fn results_are_the_same_bytes_on_one_processor() {
    let (trails, controls, _) = between_positions(&mut Dice::of(4_712));
    let folder = tempfile::TempDir::new().unwrap();
    let survey = folder.path().join("survey");
    fs::create_dir(&survey).unwrap();
    fs::write(survey.join("anchors.csv"), HEAD.to_owned() + &trails.concat()).unwrap();
    fs::write(survey.join("controls.csv"), controls).unwrap();
    fs::write(survey.join("survey.toml"), format!("{SETTINGS}{ALLOWED}")).unwrap();
    let run = |program: &str, first: &[&str], out: &str| {
        let arguments = ["rebuild", "survey", "--tables-only", "--draws", "600", "--out", out];
        let mut command = Command::new(program);
        command.current_dir(folder.path()).args(first).args(arguments).output()
    };
    let own = env!("CARGO_BIN_EXE_perchline");
    let on_all = run(own, &[], "all").unwrap();
    assert!(on_all.status.success(), "{on_all:?}");
    let Ok(on_one) = run("taskset", &["-c", "0", own], "one") else {
        return eprintln!("not tested: there is no taskset here");
    };
    assert!(on_one.status.success(), "{on_one:?}");
    for file in ["metrics.csv", "positions.csv", "results.json"] {
        let [all, one] =
            ["all", "one"].map(|out| fs::read(folder.path().join(out).join(file)).unwrap());
        assert!(all == one, "{file}");
    }
}

/// A climber's trail up plumb trunks, along branches and back to the first anchor by a tie: tapes that
/// hang where heights are read tell of both. What is told must be neither off nor too sure: over 150
/// studies its errors in standard deviations have a mean of 0 ± 0.08 and a mean square of 1 ± 0.12.
#[test]
fn what_is_told_is_right_on_climbs() {
    const STUDIES: u64 = 150;
    let mut errors = [[0.0; 2]; 2];
    let mut told = 0;
    for study in 0..STUDIES {
        let mut dice = Dice::of(80_000 + study);
        let off = Off { tape: dice.normal(0.01), needle: 0.0, height: dice.normal(0.03) };
        let truth = climb(&mut dice);
        let anchors = HEAD.to_owned() + &rows("Bor", &truth, off, &mut dice);
        let found = analysis(&blank_up_trunks(&anchors), "", &format!("{SETTINGS}{ALLOWED}"), 0);
        for unknown in &found.adjusted.common.unknowns {
            let (at, truth) = match unknown.instrument {
                Instrument::Tape => (0, off.tape),
                Instrument::Height => (1, off.height),
                Instrument::Compass => continue,
            };
            let error = (unknown.value - truth) / unknown.sd;
            errors[at][0] += error;
            errors[at][1] += error * error;
            told += usize::from(unknown.is_told());
        }
    }
    let [[tape, tape2], [height, height2]] =
        errors.map(|sums| sums.map(|sum| sum / STUDIES as f64));
    let all = (tape, tape2, height, height2, told);
    assert!(told > 100, "{all:?}");
    assert!(tape.abs() < 0.2 && height.abs() < 0.2, "{all:?}");
    assert!((0.65..1.4).contains(&tape2) && (0.65..1.4).contains(&height2), "{all:?}");
}

/// Up and down trunks, which lean by 0.15 m from anchor to anchor, and from one to the next.
fn climb(dice: &mut Dice) -> Geometry {
    let [mut e, mut n, mut height] = [0.0, 0.0, 1.0];
    let mut truth = Geometry { points: Vec::new(), heights: Vec::new() };
    for at in 0..=40_i32 {
        let (trunk, up) = (at.rem_euclid(4) != 0, at.rem_euclid(8) < 4);
        if trunk {
            (e, n) = (e + dice.normal(0.15), n + dice.normal(0.15));
            height += if up { 2.0 } else { -2.0 };
        } else if at > 0 {
            (e, n) = (e + 2.0 + dice.normal(0.2), n + dice.normal(1.0));
        }
        truth.points.push([e, n, height + dice.normal(0.1)]);
        truth.heights.push(height);
    }
    truth
}

/// The same rows without bearings up and down trunks.
fn blank_up_trunks(rows: &str) -> String {
    let blank = |(at, row): (usize, &str)| match row.rsplit_once(',') {
        Some((rest, _)) if at > 0 && (at - 1) % 4 != 0 => format!("{rest},\n"),
        _ => format!("{row}\n"),
    };
    rows.lines().enumerate().map(blank).collect()
}

/// What is allowed for, and what is told of it, in the words and the numbers of the results.
#[test]
fn what_is_allowed_for_is_said() {
    let (trails, controls, _) = between_positions(&mut Dice::of(4_711));
    let anchors = HEAD.to_owned() + &trails.concat();
    let text = |common: &str| {
        let found = analysis(&anchors, &controls, &format!("{SETTINGS}{common}"), 0);
        methods(&found, "0").text
    };
    let none = text("");
    assert!(
        none.contains("No error shared by all readings of an instrument was allowed for"),
        "{none}"
    );
    assert!(!none.contains("By all readings together"), "{none}");
    let two = text("[common]\ntape_scale = 0.01\nheight_scale = 0.02\n");
    let said = "Intervals allow for a scale error of the tape of 1 % and a scale error of heights of 2 % \
                (1 SD each), shared by all readings in the whole study.";
    assert!(two.contains(said), "{two}");
    assert!(two.contains("By all readings together the tape read 0."), "{two}");
    assert!(two.contains("% too long (SD 0.3"), "{two}");
}

/// Two observers on one trail have an unknown each; thirteen are taken for no observers.
#[test]
fn each_observer_has_an_unknown() {
    let survey = |observers: usize| {
        let mut rows = String::from("trail,anchor,height_m,tape_m,bearing_deg,observer\n");
        for at in 0..14 {
            let _ = writeln!(
                rows,
                "Bor,{at},1.5,{},10,O{}",
                if at > 0 { "2" } else { "" },
                at % observers
            );
        }
        let found = analysis(&rows, "", &format!("{SETTINGS}{ALLOWED}"), 0);
        let unknowns = found.adjusted.common.unknowns.iter();
        let unknowns: Vec<_> =
            unknowns.map(|unknown| (unknown.instrument, unknown.observer)).collect();
        let tapes = unknowns.iter().filter(|(instrument, _)| *instrument == Instrument::Tape);
        (tapes.count(), unknowns.len(), unknowns[0].1.is_some())
    };
    assert_eq!(survey(2), (2, 6, true));
    assert_eq!(survey(12), (12, 36, true));
    assert_eq!(survey(13), (1, 3, false));
}
