//! Whether `forecast` tells what a survey will be like: its standard errors against the spread of
//! surveys made up with other random numbers and written, read, adjusted and measured one by one.
//!
//! `cargo run --release --example forecasting -- [SURVEYS]` prints the table of `docs/accuracy.md`.

#![expect(clippy::print_stdout, reason = "a measuring program")]

use perchline::adjustment::network::build;
use perchline::measures::metrics::METRICS;
use perchline::planning::dice::Dice;
use perchline::planning::forecast::{Planned, Variant, forecast};
use perchline::planning::measure::Writing;
use perchline::planning::plan::{PlannedLeg, laid_out, sketched};
use perchline::planning::simulate::{Made, Wish, measured};
use perchline::planning::truth::{Habit, Mark};
use perchline::results::progress::Progress;
use perchline::results::{Wanted, analyse};
use perchline::survey::settings::Precision;

const PLANS: [&str; 2] =
    ["30 legs of 3 m", "30 legs of 2 m, 6 of them up a trunk, 4 of them along branches"];
const TIES: usize = 1;
/// Of the plan and the forecast, ...
const SEED: u64 = 5;
/// ... and of the surveys it is held against.
const OTHER_SEED: u64 = 990_001;
/// The forecast draws on so many times the surveys it is held against, so that most of the chance in
/// the comparison is that of the surveys.
const TIMES: usize = 4;

fn main() {
    let given = std::env::args().nth(1).and_then(|text| text.parse().ok());
    let surveys = given.unwrap_or(2_000);
    for plan in PLANS {
        match sketched(plan).and_then(|legs| compared(&legs, surveys)) {
            Ok(rows) => print(plan, &rows),
            Err(why) => println!("{plan}: {why}"),
        }
    }
}

/// A metric, its standard error as forecast and as it was, and what chance allows of their ratio.
struct Row {
    metric: &'static str,
    told: f64,
    spread: f64,
    /// One standard deviation of the ratio.
    chance: f64,
}

fn print(plan: &str, rows: &[Row]) {
    println!(
        "\n{plan}\n\n| metric | forecast | spread | off, % | chance alone, % |\n|---|---|---|---|---|"
    );
    for Row { metric, told, spread, chance } in rows {
        let off = 100.0 * (told / spread - 1.0);
        println!("| `{metric}` | {told:.4} | {spread:.4} | {off:+.1} | {:.1} |", 100.0 * chance);
    }
    let within = |row: &&Row| (row.told / row.spread - 1.0).abs() <= 0.05;
    println!("\n{} of {} within 5 %", rows.iter().filter(within).count(), rows.len());
}

fn compared(legs: &[PlannedLeg], surveys: usize) -> Result<Vec<Row>, String> {
    let precision = Precision::default();
    let question = Planned {
        legs: legs.to_vec(),
        ties: vec![TIES],
        clinometer: false,
        precision: precision.clone(),
        surveys: TIMES * surveys,
        seed: SEED,
    };
    let variants = forecast(&question, &mut || ())?;
    let variant = variants.first().ok_or("no forecast")?;
    let values = simulated(legs, variant, &precision, surveys);
    let rows = METRICS.iter().zip(&variant.metrics).zip(&values);
    Ok(rows.filter_map(|((entry, told), values)| row(entry.name, (*told)?[1], values)).collect())
}

fn row(metric: &'static str, told: f64, values: &[f64]) -> Option<Row> {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let moment = |power: i32| values.iter().map(|v| (v - mean).powi(power)).sum::<f64>() / n;
    let (second, fourth) = (moment(2), moment(4));
    let spread = (second * n / (n - 1.0)).sqrt();
    // Var(s)/σ² = (kurtosis − 1)/4n, for the surveys and for the forecast.
    let chance = ((fourth / second.powi(2) - 1.0) / (4.0 * n) * (1.0 + 1.0 / TIMES as f64)).sqrt();
    (n > 1.0 && spread > 1e-9).then_some(Row { metric, told, spread, chance })
}

/// The values of every metric over so many surveys of the plan.
fn simulated(
    legs: &[PlannedLeg],
    variant: &Variant,
    precision: &Precision,
    surveys: usize,
) -> Vec<Vec<f64>> {
    let wish = Wish {
        habit: Habit::Mixed,
        trails: 1,
        anchors: legs.len() + 1,
        ties: variant.ties,
        slips: Vec::new(),
        clinometer: false,
        precision: precision.clone(),
        writing: Writing::Fine,
        seed: SEED,
    };
    let truth = laid_out(legs, &mut Dice::new(SEED, 0));
    let ends: Vec<[usize; 2]> = variant.ends.iter().map(|ends| ends.map(|end| end - 1)).collect();
    let mut values = vec![Vec::new(); METRICS.len()];
    for survey in 0..surveys {
        let mut dice = Dice::new(OTHER_SEED, survey as u64 + 1);
        let path = over_rough_ground(&truth, precision.ground_m, &mut dice);
        let sheet = measured(&wish, "plan".into(), path, &ends, &mut dice);
        let settings = "bearings.north = 'true'\n".to_owned(); // precisions as by default
        let survey = Made { sheets: vec![sheet], settings }.survey();
        let network = build(&survey);
        let wanted = Wanted { draws: 0, ..Wanted::default() };
        let Ok(analysis) = analyse(survey, network, wanted, &Progress::default()) else { continue };
        let Some(trail) = analysis.trails.first() else { continue };
        for (values, entry) in values.iter_mut().zip(METRICS) {
            let measured = trail.value(entry.metric, 0).and_then(|row| row.measured.as_ref());
            values.extend(measured.map(|measured| measured.value).filter(|v| v.is_finite()));
        }
    }
    values
}

/// The path with ground that lies higher or lower at each anchor; a tree stands on one ground.
fn over_rough_ground(truth: &[Mark], ground_m: f64, dice: &mut Dice) -> Vec<Mark> {
    let mut ground = 0.0;
    let mut path = Vec::with_capacity(truth.len());
    for mark in truth {
        if mark.tree.is_none() {
            ground = dice.normal(ground_m);
        }
        path.push(Mark { at: [mark.at[0], mark.at[1], ground + mark.height], ..*mark });
    }
    path
}
