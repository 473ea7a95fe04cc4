//! How often planted slips are found and rightly explained: made-up trails with known slips.
//!
//! `cargo run --release --example detection -- [TRAILS]` prints the tables of `docs/accuracy.md`;
//! `… -- pairs [TRAILS]` only how two slips of one trail are found, `… -- clean [TRAILS]` what the
//! tests find in trails without slips.

#![expect(clippy::print_stdout, reason = "a measuring program")]

use perchline::adjustment::network::{Network, Written, build};
use perchline::adjustment::observation::Kind;
use perchline::adjustment::slip::{Slip, WouldRead};
use perchline::adjustment::suspects::{Explanation, suspects};
use perchline::adjustment::{Adjusted, Method, adjust};
use perchline::maths::ground::Ground;
use perchline::planning::measure::Writing;
use perchline::planning::simulate::{Planted, Wish, simulate};
use perchline::planning::truth::{Habit, Mark};
use perchline::survey::settings::Precision;

/// Of the first trail; the handicaps were chosen on trails of other seeds.
const SEED: u64 = 70_001;
const HABITS: [(Habit, &str); 3] =
    [(Habit::Walker, "walker"), (Habit::Mixed, "mixed"), (Habit::Climber, "climber")];

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let trails = arguments.last().and_then(|text| text.parse().ok()).unwrap_or(500);
    let only = arguments.first().map_or("", String::as_str);
    if !["clean", "pairs"].contains(&only) {
        table(trails);
    }
    if only != "clean" {
        println!("\n| two slips | trails | both found, % | one of them, % |\n|---|---|---|---|");
        for (habit, name) in HABITS {
            let [trails, both, one] = pairs(habit, trails);
            let share = |part: usize| 100.0 * part as f64 / trails.max(1) as f64;
            println!("| {name} | {trails} | {:.1} | {:.1} |", share(both), share(one));
        }
    }
    if only == "pairs" {
        return;
    }
    println!("\n| clean trails | global test at 5 % rejects, % | mean square |\n|---|---|---|");
    for (habit, name) in HABITS {
        for (clinometer, with) in [(false, ""), (true, " with a clinometer")] {
            let (rejected, mean_square) = clean(habit, clinometer, trails);
            println!("| {name}{with} | {rejected:.1} | {mean_square:.2} |");
        }
    }
}

fn table(trails: usize) {
    println!(
        "| slip | trails | some suspect | right leg first | right explanation first | right reading \
         first | among the first three legs |\n|---|---|---|---|---|---|---|"
    );
    for (habit, name) in HABITS {
        println!("| *{name}* | | | | | | |");
        row("none", &count(habit, None, trails)[0]);
        for slip in Slip::ALL {
            let [all, clear, long] = count(habit, Some(slip), trails);
            row(&format!("`{}`", slip.name()), &all);
            row("… where it exceeds the detectable size", &clear);
            row("… on a leg with a run of more than 1 m", &long);
        }
    }
}

/// Trails with a slip, and how far it was found.
#[derive(Default)]
struct Count {
    trails: usize,
    any: usize,
    leg: usize,
    explanation: usize,
    reading: usize,
    listed: usize,
}

fn row(name: &str, count: &Count) {
    let share = |part: usize| 100.0 * part as f64 / count.trails.max(1) as f64;
    println!(
        "| {name} | {} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} |",
        count.trails,
        share(count.any),
        share(count.leg),
        share(count.explanation),
        share(count.reading),
        share(count.listed),
    );
}

fn wish(habit: Habit, slip: Option<Slip>, seed: u64) -> Wish {
    Wish {
        habit,
        trails: 1,
        anchors: 40,
        ties: 2,
        slips: slip.into_iter().collect(),
        clinometer: slip == Some(Slip::WrongSign),
        precision: Precision::default(),
        writing: Writing::Field,
        seed,
    }
}

/// All trails, those whose slip exceeds the smallest that its reading would show, and those whose
/// leg has a run of more than a metre.
fn count(habit: Habit, slip: Option<Slip>, trails: usize) -> [Count; 3] {
    let mut counts = [Count::default(), Count::default(), Count::default()];
    for at in 0..trails {
        let made = simulate(&wish(habit, slip, SEED + at as u64));
        let sheet = &made.sheets[0];
        let planted = sheet.planted.first();
        if slip.is_some() && planted.is_none() {
            continue;
        }
        let survey = made.survey();
        let network = build(&survey);
        let found = suspects(&survey, &network, &Ground::flat());
        let first = found.first();
        let told = planted.and_then(|planted| Some((first?, planted)));
        let is_leg = |line: Option<usize>, planted: &Planted| {
            line.map(|line| network.lines[line].written) == Some(Written::Anchor(planted.row))
        };
        let leg = told.is_some_and(|(suspect, planted)| is_leg(suspect.line, planted));
        let listed = told.is_some_and(|(suspect, planted)| {
            leg || suspect.others.iter().take(2).any(|other| is_leg(other.line, planted))
        });
        let best = first.and_then(|suspect| suspect.explanations.first()).filter(|_| leg);
        let explained = best.is_some_and(|best| Some(best.slip) == slip);
        // Two sorts of slip may make the very same reading of it.
        let read =
            best.zip(planted).is_some_and(|(best, planted)| explained || reads(best, &planted.was));
        let clear = planted.is_some_and(|planted| exceeds(habit, slip, SEED + at as u64, planted));
        let long = planted.is_some_and(|planted| run(&sheet.truth, planted.row) > 1.0);
        for (count, _) in counts.iter_mut().zip([true, clear, long]).filter(|(_, counts)| *counts) {
            count.trails += 1;
            count.any += usize::from(first.is_some());
            count.leg += usize::from(leg);
            count.explanation += usize::from(explained);
            count.reading += usize::from(read);
            count.listed += usize::from(listed);
        }
    }
    counts
}

/// Trails with a needle read at its wrong end and a decimal slip: how many there are, in how many
/// both are found with the right explanation first, and in how many one of them.
fn pairs(habit: Habit, trails: usize) -> [usize; 3] {
    let mut counts = [0; 3];
    for at in 0..trails {
        let slips = vec![Slip::ReversedNeedle, Slip::DecimalSlip];
        let made = simulate(&Wish { slips, ..wish(habit, None, SEED + at as u64) });
        let planted = &made.sheets[0].planted;
        if planted.len() < 2 {
            continue;
        }
        let survey = made.survey();
        let network = build(&survey);
        let found = suspects(&survey, &network, &Ground::flat());
        let is_found = |planted: &&Planted| {
            found.iter().filter_map(|suspect| suspect.explanations.first()).any(|best| {
                let written = best.line.map(|line| network.lines[line].written);
                best.slip == planted.slip && written == Some(Written::Anchor(planted.row))
            })
        };
        let right = planted.iter().filter(is_found).count();
        counts[0] += 1;
        counts[1] += usize::from(right == 2);
        counts[2] += usize::from(right == 1);
    }
    counts
}

/// Whether an explanation would have the cell read so.
fn reads(explanation: &Explanation, was: &str) -> bool {
    let WouldRead::Number(value, _) = explanation.would_read else { return false };
    was.parse::<f64>().is_ok_and(|was| (was - value).abs() < 1e-9)
}

/// The true horizontal length of the leg to a row, metres.
fn run(truth: &[Mark], row: usize) -> f64 {
    let (from, to) = (truth[row - 1].at, truth[row].at);
    (to[0] - from[0]).hypot(to[1] - from[1])
}

/// Whether a slip exceeds the smallest detectable one of its reading in the survey without it.
fn exceeds(habit: Habit, slip: Option<Slip>, seed: u64, planted: &Planted) -> bool {
    let clean = Wish { slips: Vec::new(), ..wish(habit, slip, seed) };
    let survey = simulate(&clean).survey();
    let network = build(&survey);
    let precision = &survey.settings.precision;
    let adjusted = adjust(&network, precision, &Ground::flat(), Method::LeastSquares, false);
    let kind = match planted.column {
        "tape_m" => Kind::Tape,
        "bearing_deg" => Kind::Bearing,
        "incline_deg" => Kind::Incline,
        _ => return true, // another start is no change of one reading
    };
    let number = |text: &str| text.parse::<f64>().unwrap_or(0.0);
    let off = (number(&planted.written) - number(&planted.was)).abs();
    let off = match kind {
        Kind::Bearing => off.min(360.0 - off) / DEGREES,
        Kind::Incline => off / DEGREES,
        _ => off,
    };
    detectable(&network, &adjusted, planted.row, kind) < off
}

/// Degrees in a radian.
const DEGREES: f64 = 180.0 / std::f64::consts::PI;

fn detectable(network: &Network, adjusted: &Adjusted, row: usize, kind: Kind) -> f64 {
    let here = |line: usize| network.lines[line].written == Written::Anchor(row);
    let reading = adjusted.residuals.iter().find(|r| r.kind == kind && r.line.is_some_and(here));
    reading.and_then(|reading| reading.detectable).unwrap_or(f64::INFINITY)
}

/// How often the global test rejects clean trails, per cent, and the mean square of standardised
/// residuals where others check at least a hundredth of the reading: trails with exactly the errors
/// that the adjustment assumes.
fn clean(habit: Habit, clinometer: bool, trails: usize) -> (f64, f64) {
    let (mut rejected, mut count, mut squares) = (0.0, 0.0, 0.0);
    for at in 0..trails {
        let precision = Precision { ground_m: 0.0, ..Precision::default() };
        let plain = wish(habit, None, 2 * SEED + at as u64);
        let exact = Wish { precision, clinometer, writing: Writing::Fine, ..plain };
        let survey = simulate(&exact).survey();
        let network = build(&survey);
        let precision = &survey.settings.precision;
        let adjusted = adjust(&network, precision, &Ground::flat(), Method::LeastSquares, false);
        let fit = adjusted.fits.first().and_then(|fit| fit.p_value);
        rejected += f64::from(u8::from(fit.is_some_and(|p| p < 0.05)));
        for w in adjusted.residuals.iter().filter(|r| !r.assumed && r.redundancy > 0.01) {
            count += 1.0;
            squares += w.standardised.map_or(0.0, |w| w * w);
        }
    }
    (100.0 * rejected / trails as f64, squares / count)
}
