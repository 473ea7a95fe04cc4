//! The settings of `docs/accuracy.md`: one way of walking and measuring with bearings each.

use super::count::{Count, counted};
use super::made_up::dice::Dice;
use super::made_up::walk::Truth;
use perchline::adjustment::network::build;
use perchline::maths::quantity::{Bearing, Turn};
use perchline::measures::metrics::{METRICS, Rule};
use perchline::results::progress::Progress;
use perchline::results::{Analysis, Wanted, analyse};
use perchline::survey::dictionary::{ANCHORS, InputTable, TIES};
use perchline::survey::fault::Faults;
use perchline::survey::input::csv::read_grid;
use perchline::survey::settings;
use perchline::survey::{Grids, read_tables};
use std::f64::consts::TAU;
use std::fmt::Write;

const ANCHORS_A_TRAIL: usize = 40;
/// Of the first setting; each further one has the next. The rules were chosen on other trails.
const SEED: u64 = 70_001;

/// One way of walking and measuring.
#[derive(Clone, Copy)]
pub(crate) struct Setting {
    pub(crate) name: &'static str,
    clinometer: bool,
    ties: bool,
    /// Height of a level walk, metres; `None` for a climber.
    level: Option<f64>,
    /// Shares of plumb and of steep legs.
    plumb: f64,
    steep: f64,
    gap: bool,
    ground_m: f64,
}

const PLAIN: Setting = Setting {
    name: "plain",
    clinometer: false,
    ties: false,
    level: None,
    plumb: 0.1,
    steep: 0.0,
    gap: false,
    ground_m: 0.0,
};

pub(crate) const SETTINGS: [Setting; 7] = [
    PLAIN,
    Setting { name: "clino2", clinometer: true, ties: true, ..PLAIN },
    Setting { name: "ground", level: Some(0.15), ..PLAIN },
    Setting { name: "level", level: Some(5.0), ..PLAIN },
    Setting { name: "steep", plumb: 0.33, steep: 0.33, ..PLAIN },
    Setting { name: "gaps", gap: true, ..PLAIN },
    Setting { name: "rough", ground_m: 0.10, ..PLAIN },
];

fn walk(setting: Setting, dice: &mut Dice) -> Truth {
    let start = setting.level.unwrap_or(1.0);
    let mut truth = Truth { heights: vec![start], plumb: vec![false], ..Truth::default() };
    let (mut e, mut n, mut height, mut heading) = (0.0, 0.0, start, dice.even() * TAU);
    let elevation = |height: f64, dice: &mut Dice| height + dice.normal(setting.ground_m);
    let up = elevation(height, dice);
    truth.places.push([e, n, up]);
    for _ in 1..ANCHORS_A_TRAIL {
        let length = 1.7 * dice.normal(0.4).exp();
        heading += dice.normal(0.7);
        let kind = dice.even();
        let plumb = setting.level.is_none() && kind < setting.plumb;
        let share = match setting.level {
            Some(_) => 0.0,
            None if plumb => 1.0,
            None if kind < setting.plumb + setting.steep => 0.95,
            None if kind < 0.6 => dice.normal(0.12),
            None => 0.7 + dice.normal(0.12),
        };
        let up_or_down = if height > 11.0 - length { -1.0 } else { 1.0 };
        let sense = if height < length || dice.even() < 0.5 { up_or_down } else { -1.0 };
        let rise = (sense * share.clamp(-0.99, if plumb { 1.0 } else { 0.99 }) * length)
            .clamp(-height, 12.0);
        let run = (length * length - rise * rise).max(0.0).sqrt();
        if plumb {
            e += dice.normal(0.15);
            n += dice.normal(0.15);
        } else {
            e += run * heading.sin();
            n += run * heading.cos();
        }
        height += rise;
        truth.heights.push(height);
        let up = elevation(height, dice);
        truth.places.push([e, n, up]);
        truth.plumb.push(plumb);
    }
    truth
}

/// Tape and bearing between two places, with the default precisions.
fn sight(a: [f64; 3], b: [f64; 3], dice: &mut Dice) -> (f64, f64, f64) {
    let v = [b[0] - a[0], b[1] - a[1], b[2] - a[2]];
    let run = v[0].hypot(v[1]);
    let length = run.hypot(v[2]);
    let tape = (length + dice.normal(0.03_f64.hypot(0.002 * length))).max(0.0);
    let two = Turn::from_degrees(2.0).to_radians();
    let aside = dice.normal((run * two).hypot(0.03)).atan2(run);
    let bearing = Bearing::from_radians(v[0].atan2(v[1]) + aside).to_degrees();
    let incline = Turn::from_radians(v[2].atan2(run)).to_degrees() + dice.normal(1.5);
    (tape, bearing, incline.clamp(-90.0, 90.0))
}

/// The field tables of one trail.
fn measure_trail(
    setting: Setting,
    name: usize,
    truth: &Truth,
    dice: &mut Dice,
    (anchors, ties): (&mut String, &mut String),
) {
    for (at, &place) in truth.places.iter().enumerate() {
        let height = truth.heights[at];
        let read = height + dice.normal(0.05_f64.hypot(0.02 * height));
        let _written = write!(anchors, "T{name},{at},{read:.6},");
        if at > 0 {
            let (tape, bearing, incline) = sight(truth.places[at - 1], place, dice);
            let plumb = truth.plumb[at];
            let bearing = if plumb { String::new() } else { format!("{bearing:.6}") };
            let told = setting.clinometer && !plumb;
            let incline = if told { format!("{incline:.6}") } else { String::new() };
            let gap = if setting.gap && at == 20 { "lost" } else { "" };
            let _written = write!(anchors, "{tape:.6},{bearing},{incline},{gap}");
        } else {
            anchors.push_str(",,,");
        }
        anchors.push('\n');
    }
    if setting.ties {
        for [from, to] in [[3, 22], [15, 38]] {
            let (tape, bearing, _) = sight(truth.places[from], truth.places[to], dice);
            let _written = writeln!(ties, "T{name},{from},{to},{tape:.6},{bearing:.6}");
        }
    }
}

/// Adjusts all trails of a setting as one survey.
fn analysis(setting: Setting, anchors: &str, ties: &str) -> Option<Analysis> {
    let mut faults = Faults::default();
    let mut grid = |name: &str, text: &str, table: &InputTable| {
        read_grid(name, text.as_bytes(), table, usize::MAX, &mut faults)
    };
    let text = format!(
        "[bearings]\nnorth = \"true\"\n[escape]\nrule = \"none\"\n[precision]\nground_m = {}\n",
        setting.ground_m
    );
    let (settings, _) = settings::read("survey.toml", &text, &[]);
    let anchors = grid("anchors.csv", anchors, &ANCHORS);
    let ties = setting.ties.then(|| grid("ties.csv", ties, &TIES));
    let (survey, _) = read_tables(settings, Grids { anchors, ties, ..Grids::default() });
    let network = build(&survey);
    let wanted = Wanted { draws: 400, ..Wanted::default() };
    analyse(survey, network, wanted, &Progress::default()).ok()
}

/// One count a metric.
pub(crate) fn coverage(setting: Setting, seed: u64, trails: usize) -> Vec<Count> {
    let mut dice = Dice::new(seed);
    let mut anchors = String::from("trail,anchor,height_m,tape_m,bearing_deg,incline_deg,gap\n");
    let mut ties = String::from("trail,from,to,tape_m,bearing_deg\n");
    let truths: Vec<Truth> = (0..trails).map(|_| walk(setting, &mut dice)).collect();
    for (name, truth) in truths.iter().enumerate() {
        measure_trail(setting, name, truth, &mut dice, (&mut anchors, &mut ties));
    }
    match analysis(setting, &anchors, &ties) {
        Some(analysis) => counted(&analysis, &truths),
        None => vec![Count::default(); METRICS.len()],
    }
}

/// Prints how often intervals held, one column a setting.
pub(crate) fn table(trails: usize) {
    let columns: Vec<_> =
        (SEED..).zip(SETTINGS).map(|(seed, setting)| coverage(setting, seed, trails)).collect();
    let names: Vec<&str> = SETTINGS.iter().map(|setting| setting.name).collect();
    println!("| metric | {} |\n|---|{}", names.join(" | "), "---|".repeat(names.len()));
    let (mut within, mut cells) = (0, 0);
    for entry in METRICS.iter().filter(|entry| entry.rule != Rule::None && !entry.extended) {
        let mut row = String::new();
        for column in &columns {
            let Some(percent) = column[entry.metric.at()].percent(trails) else {
                row += " – |";
                continue;
            };
            let good = (92.95..97.05).contains(&percent);
            (within, cells) = (within + usize::from(good), cells + 1);
            row += &if good { format!(" {percent:.1} |") } else { format!(" **{percent:.1}** |") };
        }
        println!("| `{}` |{row}", entry.name);
    }
    println!("\n{within} of {cells} cells lie in 93-97 %.");
}
