//! Time for all suspects and explanations of one trail: 200 anchors with two ties and one slip, and
//! 10,000 anchors with 50 ties and one slip or ten.

use criterion::{Criterion, criterion_group, criterion_main};
use perchline::adjustment::network::build;
use perchline::adjustment::suspects::suspects;
use perchline::maths::ground::Ground;
use perchline::planning::dice::Dice;
use perchline::planning::measure::Writing;
use perchline::planning::simulate::{Made, Wish, measured};
use perchline::planning::truth::{Habit, walk};
use perchline::survey::Survey;
use perchline::survey::settings::Precision;
use std::hint::black_box;
use std::time::Duration;

/// A trail with needles read at the wrong end, each in the middle of a loop of its own.
fn spoilt(anchors: usize, ties: usize, slips: usize) -> Survey {
    let mut dice = Dice::new(1, 1);
    let wish = Wish {
        habit: Habit::Walker,
        trails: 1,
        anchors,
        ties,
        slips: Vec::new(),
        clinometer: false,
        precision: Precision::default(),
        writing: Writing::Field,
        seed: 1,
    };
    let truth = walk(wish.habit, anchors, &wish.precision, &mut dice);
    let span = anchors / ties;
    let ends: Vec<[usize; 2]> =
        (0..ties).map(|k| [(k * span).saturating_sub(3) + 3, (k + 1) * span - 2]).collect();
    let mut sheet = measured(&wish, "long".into(), truth, &ends, &mut dice);
    for slip in 0..slips {
        let row = slip * (ties / slips) * span + span / 2;
        let read: f64 = sheet.rows[row].leg.bearing.parse().unwrap_or(0.0);
        sheet.rows[row].leg.bearing = format!("{:.0}", (read + 180.0).rem_euclid(360.0));
    }
    Made { sheets: vec![sheet], settings: "bearings.north = 'true'\n".into() }.survey()
}

fn explained(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("suspects");
    group.sample_size(10).measurement_time(Duration::from_secs(5));
    for (anchors, ties, slips) in [(200, 2, 1), (10_000, 50, 1), (10_000, 50, 10)] {
        let survey = spoilt(anchors, ties, slips);
        let network = build(&survey);
        group.bench_function(format!("{anchors} anchors, {ties} ties, {slips} slips"), |bencher| {
            bencher.iter(|| black_box(suspects(&survey, &network, &Ground::flat())));
        });
    }
    group.finish();
}

criterion_group!(benches, explained);
criterion_main!(benches);
