//! Each rule on draws whose mean and spread are seen at once, worked by hand.
//!
//! Two draws m ± d have the mean m and the standard deviation d √2. Where a spread is made tiny,
//! bounds lie so far apart in it that an interval reaches 1.644854 of it beyond them: quantiles of
//! draws are then taken at Φ(1.644854) = 0.95, which of 0 and 1 is 0.95.

use super::{
    Basis, COUNT, Drawn, MEASURED, Measured, Metric, SQRT_2, STATED, SUMS, Shape, level, quartile,
    reach_beyond_bounds, reaches,
};

const TINY: f64 = 1e-9;
/// 1.959964 √2: how far an interval reaches where two draws are 2 apart.
const REACH: f64 = 2.771_808;

fn close(found: f64, expected: f64) {
    assert!((found - expected).abs() < 2e-6, "{found} for {expected}");
}

fn assert_is(found: Measured, value: f64, se: f64, [low, high]: [f64; 2]) {
    close(found.value, value);
    close(found.se.unwrap(), se);
    let [from, to] = found.interval.unwrap();
    close(from, low);
    close(to, high);
}

fn basis(drawn: &Drawn) -> Basis<'_> {
    Basis { drawn, sums: [[0.0; 3]; 2], phantom: 0.0, bent: 1.0 }
}

/// One metric from its own draws alone.
fn of(metric: Metric, e: f64, draws: &[f64]) -> Measured {
    let drawn = Drawn::laid(draws.len(), &[(metric, draws)], &[]);
    basis(&drawn).value_and_interval(metric, e)
}

#[test]
fn what_draws_do_not_bend_keeps_its_value() {
    assert_is(of(Metric::StepMean, 5.0, &[4.5, 6.5]), 5.0, SQRT_2, [5.0 - REACH, 5.0 + REACH]);
    assert_is(of(Metric::StepMean, 1.0, &[0.0, 2.0]), 1.0, SQRT_2, [0.0, 1.0 + REACH]);
    // A share ends at 1, a length does not.
    assert_is(of(Metric::AboveGroundShare, 0.5, &[-0.5, 1.5]), 0.5, SQRT_2, [0.0, 1.0]);
    assert_eq!(of(Metric::Legs, 3.0, &[1.0, 9.0]), Measured::bare(3.0));
    // Without any draw that has it there is no interval.
    assert_eq!(of(Metric::StepMean, 3.0, &[f64::NAN, f64::NAN]), Measured::bare(3.0));
}

/// Of 0, 1 … 40 the share 0.025 is the second, 0.975 the last but one.
#[test]
fn a_median_step_has_the_quantiles_of_its_draws() {
    let draws: Vec<f64> = (0..=40).map(f64::from).collect();
    let found = of(Metric::StepMedian, 20.0, &draws);
    // sd² = 41 · 42 / 12
    assert_is(found, 20.0, 143.5_f64.sqrt(), [1.0, 39.0]);
}

/// What draws add once to the estimate the noise has added before: mirrored at it.
#[test]
fn a_bent_metric_is_mirrored_at_its_estimate() {
    let (sd, half) = (0.1 * SQRT_2, 0.1 * REACH);
    let sinuosity = of(Metric::Sinuosity, 1.0, &[1.1, 1.3]);
    assert_is(sinuosity, 0.8, sd, [0.8 - half, 0.8 + half]);
    assert_is(of(Metric::Sinuosity, 0.1, &[0.2, 0.4]), 0.0, sd, [0.0, half]);
    // √2 |3.5 − 3| more on either side.
    let b = SQRT_2 * 0.5;
    let quartile = of(Metric::HeightQ25, 3.0, &[3.4, 3.6]);
    assert_is(quartile, 2.5, sd, [2.5 - half - b, 2.5 + half + b]);
}

/// Both 0.5 and its mirror 0.6 lie inside; cosines may be negative, resultants may not.
#[test]
fn a_resultant_lies_between_estimate_and_mirror() {
    let (sd, half) = (0.01 * SQRT_2, 0.01 * REACH);
    let turns = of(Metric::TurnResultant, 0.5, &[0.39, 0.41]);
    assert_is(turns, 0.6, sd, [0.5 - half, 0.6 + half]);
    assert_is(of(Metric::TurnResultant, 0.9, &[0.69, 0.71]), 1.0, sd, [0.9 - half, 1.0]);
    assert_is(of(Metric::TurnResultant, 0.1, &[0.29, 0.31]), 0.0, sd, [0.0, 0.1 + half]);
    let space = of(Metric::Turn3dResultant, -0.5, &[-0.31, -0.29]);
    assert_is(space, -0.7, sd, [-0.7 - half, -0.5 + half]);
    assert_is(of(Metric::Turn3dResultant, -0.9, &[-0.61, -0.59]), -1.0, sd, [-1.0, -0.9 + half]);
}

/// Draws 0.3 and 0.1 past the estimate, across south: 0.2 on average, sd √0.02, together √0.06.
#[test]
fn a_direction_is_unwound_about_its_estimate() {
    let e = 3.1;
    let spread = 0.06_f64.sqrt();
    let reach = 1.959_964 * spread;
    let found = of(Metric::NetBearing, e, &[e + 0.3 - 2.0 * std::f64::consts::PI, e + 0.1]);
    assert_is(found, e, spread, [e - reach, e + reach]);
    // 1 ± 0.6: no interval of a whole turn or more.
    let lost = of(Metric::NetBearing, 0.0, &[1.6, 0.4]);
    close(lost.se.unwrap(), (1.0_f64 + 0.72).sqrt());
    assert_eq!((lost.value, lost.interval), (0.0, None));
}

/// Straightness ½ with draws 0.45 and 0.55: ½ ± 0.1385904 upside down, se 0.0707107 / ¼.
#[test]
fn length_to_net_is_straightness_upside_down() {
    let of = |e: f64| {
        let drawn = Drawn::laid(2, &[(Metric::Straightness, &[0.45, 0.55])], &[]);
        basis(&drawn).value_and_interval(Metric::LengthToNet, e)
    };
    assert_is(of(2.0), 2.0, 0.282_843, [1.0 / 0.638_590_4, 1.0 / 0.361_409_6]);
    assert_eq!(of(20.0), Measured::bare(20.0), "it may be closed");
}

/// b = ½ (7 − 5) = 1, B = 1 / (2^¾ − 1) = 1 / 0.6817928 = 1.4667213.
#[test]
fn a_climb_between_reversals_may_owe_its_noise_to_the_draws() {
    let of = |e: f64, draws: &[f64; 2]| {
        let drawn = Drawn::laid(2, &[(Metric::AscentThreshold, draws)], &[]);
        Basis { bent: 0.5, ..basis(&drawn) }.value_and_interval(Metric::AscentThreshold, e)
    };
    assert_is(of(5.0, &[6.0, 8.0]), 5.0, SQRT_2, [5.0 - 1.466_721 - REACH, 5.0 + REACH]);
    // Draws that climb less take nothing off.
    assert_is(of(5.0, &[2.0, 4.0]), 5.0, SQRT_2, [5.0 - REACH, 5.0 + REACH]);
    assert_is(of(1.0, &[2.0, 4.0]), 1.0, SQRT_2, [0.0, 1.0 + REACH]);
}

/// Place of a sum by class: run, ascent, descent.
fn sum(class: usize, which: usize) -> usize {
    3 * class + which
}

/// Draws run 1 m longer on plumb legs, 0.3 m on measured ones: 10 + 1 − 0.3.
#[test]
fn a_run_gains_what_is_stated_and_loses_what_was_measured() {
    let drawn = Drawn::laid(
        2,
        &[(Metric::HorizontalLength, &[90.0, 10.0])],
        &[
            (sum(STATED, 0), &[4.5, 5.5]),
            (sum(MEASURED, 0), &[5.2, 5.4]),
            (SUMS + level::RUNS, &[7.0, 9.0]),
        ],
    );
    let sums = [[4.0, 0.0, 0.0], [5.0, 0.0, 0.0]];
    let found = Basis { sums, ..basis(&drawn) }.value_and_interval(Metric::HorizontalLength, 10.0);
    assert_is(found, 10.7, SQRT_2, [10.7 - REACH, 10.7 + REACH]);
    let short = Basis { sums, ..basis(&drawn) }.value_and_interval(Metric::HorizontalLength, 0.1);
    assert_is(short, 0.8, SQRT_2, [0.0, 0.8 + REACH]);
}

/// E = 10, stated legs climb 0.5 more in the draws and measured ones b = 0.2, level ones might have
/// 2: the value is 10 + 0.5 − 0.2, and the interval begins at 10 + 0.5 − 2 less what the levelled
/// path, 0 or 1, has above its mean at 0.95 of its draws.
#[test]
fn a_climb_reaches_down_to_where_all_may_be_level() {
    let near = |metres: f64| [metres - TINY, metres + TINY];
    let draws = near(10.0);
    let metrics: [(Metric, &[f64]); 3] =
        [(Metric::Ascent, &draws), (Metric::Descent, &draws), (Metric::VerticalDistance, &draws)];
    let drawn = Drawn::laid(
        2,
        &metrics,
        &[
            (sum(STATED, 1), &near(3.5)),
            (sum(MEASURED, 1), &near(4.2)),
            (sum(STATED, 2), &near(1.1)),
            (sum(MEASURED, 2), &near(6.4)),
            (SUMS + level::ASCENT, &[0.0, 1.0]),
            (SUMS + level::DESCENT, &[0.0, 0.2]),
        ],
    );
    let sums = [[0.0, 3.0, 1.0], [0.0, 4.0, 6.0]];
    let basis = Basis { drawn: &drawn, sums, phantom: 2.0, bent: 1.0 };
    let of = |metric| basis.value_and_interval(metric, 10.0);
    assert_is(of(Metric::Ascent), 10.3, 0.0, [10.5 - 2.0 - 0.45, 10.3]);
    assert_is(of(Metric::Descent), 9.7, 0.0, [10.1 - 2.0 - 0.09, 9.7]);
    // Both: 0.5 + 0.1 stated, 0.2 + 0.4 measured, twice the phantom, 0 or 1.2 levelled.
    assert_is(of(Metric::VerticalDistance), 10.0, 0.0, [10.6 - 4.0 - 0.54, 10.0]);
    // Where noise cannot make more than b, it takes no more off than that.
    let sure = Basis { phantom: 0.0, ..basis };
    let found = sure.value_and_interval(Metric::Ascent, 10.0);
    // The bounds meet: Φ(1.959964) = 0.975 of the levelled draws.
    assert_is(found, 10.3, 0.0, [10.3 - 0.475, 10.3]);
    let wide = Drawn::laid(2, &[(Metric::Ascent, &[9.0, 11.0])], &[]);
    let plain = Basis { drawn: &wide, sums: [[0.0; 3]; 2], phantom: 0.0, bent: 1.0 };
    // Nothing is levelled: all the noise stands above.
    assert_is(plain.value_and_interval(Metric::Ascent, 5.0), 5.0, SQRT_2, [5.0, 5.0 + REACH]);
    let low = Basis { sums: [[0.0, 8.0, 0.0], [0.0; 3]], ..plain };
    assert_is(low.value_and_interval(Metric::Ascent, 5.0), 0.0, SQRT_2, [0.0, REACH]);
}

/// E = 8 and draws of 9 make 7 and b = 1. Lifts of 1 and 3 have the mean 2, more than b: 0.95 of
/// the way, 2.9, is taken off. Lifts of 0 and 0.4 with b = 0.2 are 0.2 on average: bounds meet, and
/// 0.975 of 0.4 is taken off.
#[test]
fn a_greatest_height_may_owe_its_lift_to_ties() {
    let of = |metric, place, e: f64, mean: f64, lifts: &[f64]| {
        let draws: &[f64] = &[mean - TINY, mean + TINY];
        let drawn = Drawn::laid(2, &[(metric, draws)], &[(SUMS + place, lifts)]);
        basis(&drawn).value_and_interval(metric, e)
    };
    for (metric, place) in [(Metric::HeightMax, level::TOP), (Metric::ElevationRange, level::RANGE)]
    {
        assert_is(of(metric, place, 8.0, 9.0, &[1.0, 3.0]), 7.0, 0.0, [5.1, 8.0]);
        assert_is(of(metric, place, 8.0, 8.2, &[0.0, 0.4 - TINY]), 7.8, 0.0, [7.61, 8.0]);
        // Draws that lie lower move the value up, and no lift takes anything off it.
        assert_is(of(metric, place, 8.0, 7.5, &[0.0, 0.0]), 8.5, 0.0, [8.0, 8.5]);
    }
    let drawn = Drawn::laid(2, &[(Metric::HeightMax, &[8.0, 10.0])], &[]);
    let found = basis(&drawn).value_and_interval(Metric::HeightMax, 8.0);
    assert_is(found, 7.0, SQRT_2, [7.0, 8.0 + REACH]);
    // Lifts of 2 and 4 are 2 more than b = 1, or √2 standard deviations: Φ(c + √2) − Φ(−c) = 0.95 has
    // c = 1.655337, and Φ(c) = 0.951072 of the way from 2 to 4 is taken off.
    let tied: &[f64] = &[2.0, 4.0];
    let draws: [(Metric, &[f64]); 1] = [(Metric::HeightMax, &[8.0, 10.0])];
    let drawn = Drawn::laid(2, &draws, &[(SUMS + level::TOP, tied)]);
    let found = basis(&drawn).value_and_interval(Metric::HeightMax, 8.0);
    assert_is(found, 7.0, SQRT_2, [4.097_856, 8.0 + REACH]);
}

/// A quartile 0.3 from the median ± 0.1 owes that to noise where a height is uncertain by 0.4: the
/// interval reaches to the median less 0.1 c, where Φ(c + 3) − Φ(−c) = 0.95: c = 1.64487.
#[test]
fn a_quartile_near_the_median_reaches_past_it() {
    let measured = |value, se, interval| Measured { value, se: Some(se), interval: Some(interval) };
    let median = measured(2.0, 0.1, [1.8, 2.2]);
    let far = 0.1 * reach_beyond_bounds(0.3, 0.1);
    close(far, 0.164_487);
    let upper = quartile(measured(2.3, 0.1, [2.2, 2.4]), median, 0.4);
    assert_is(upper, 2.3, 0.1, [2.0 - far, 2.4]);
    let lower = quartile(measured(1.7, 0.1, [1.6, 1.8]), median, 0.4);
    assert_is(lower, 1.7, 0.1, [1.6, 2.0 + far]);
    let apart = measured(2.3, 0.1, [2.2, 2.4]);
    assert_eq!(quartile(apart, median, 0.2), apart);
    // At the border it still may.
    assert_ne!(quartile(measured(2.25, 0.1, [2.2, 2.4]), median, 0.25).interval, Some([2.2, 2.4]));
    let bare = Measured::bare(2.1);
    assert_eq!(quartile(bare, median, 0.4), bare);
    assert_eq!(quartile(apart, Measured::bare(2.0), 0.4), apart);
}

#[test]
fn a_known_number_divides_value_and_interval() {
    let found = Measured { value: 6.0, se: Some(1.0), interval: Some([3.0, 9.0]) };
    assert_is(found.over(2.0), 3.0, 0.5, [1.5, 4.5]);
    assert_is(found.moved(0.5), 6.0, 1.0, [1.5, 6.0]);
    assert_is(found.moved(3.0), 6.0, 1.0, [6.0, 27.0]);
    assert_is(found.within(4.0, 8.0), 6.0, 1.0, [4.0, 8.0]);
    for (se, low, high) in [(f64::NAN, 0.0, 1.0), (1.0, f64::NAN, 1.0), (1.0, 0.0, f64::INFINITY)] {
        assert_eq!(Measured::with(0.5, se, low, high), Measured::bare(0.5));
    }
}

fn shape(points: Vec<[f64; 3]>) -> Shape<'static> {
    let range = 0..points.len();
    Shape {
        legs: &[],
        plumb: &[],
        follows: &[],
        start: 0,
        range,
        points,
        heights: Vec::new(),
        lengths: Vec::new(),
        runs: Vec::new(),
        rises: Vec::new(),
        courses: Vec::new(),
    }
}

/// From (1, 1, 1) by (1, 1, 13) to (4, 5, 1): the end lies (3, 4, 0) off, the second (0, 0, 12),
/// which is farther.
#[test]
fn the_farthest_point_need_not_be_the_last() {
    let there = shape(vec![[1.0; 3], [1.0, 1.0, 13.0], [4.0, 5.0, 1.0]]);
    assert_eq!(reaches(&there), [[3.0, 4.0, 0.0], [0.0, 0.0, 12.0]]);
}

/// 12 m in plan, 2 of them plumb: of the other 10 noise made 2, ρ = 0.8. The end lies (3, 4, 12)
/// off: √(0.64 · 25 + 144) / 13 as far; the farthest point lies (12, 16, 0) off: ρ itself.
/// Freed of noise the plan is 11.4 m, 0.95 of it.
#[test]
fn what_lies_in_the_plan_moves_with_its_runs() {
    let draws: &[f64] = &[10.0 - TINY, 10.0 + TINY];
    let drawn = Drawn::laid(2, &[], &[(sum(MEASURED, 0), draws)]);
    let sums = [[2.0, 0.0, 0.0], [8.0, 0.0, 0.0]];
    let basis = Basis { sums, ..basis(&drawn) };
    let estimate = shape(vec![[0.0; 3], [12.0, 16.0, 0.0], [3.0, 4.0, 12.0]]);
    let mut values = [f64::NAN; COUNT];
    values[Metric::HorizontalLength.at()] = 12.0;
    let start = Measured { value: 1.0, se: Some(0.1), interval: Some([0.5, 2.0]) };
    let mut all = [start; COUNT];
    all[Metric::HorizontalLength.at()].value = 11.4;
    basis.stretch_plan(&estimate, &values, &mut all);
    let net = (0.64_f64 * 25.0 + 144.0).sqrt() / 13.0;
    for (metric, by) in [
        (Metric::NetDisplacement, net),
        (Metric::NetDisplacementHorizontal, 0.8),
        (Metric::MaxDistance, 0.8),
        (Metric::Straightness, net),
        (Metric::LengthToNet, 1.0 / net),
        (Metric::DailyHomeRange, 0.64),
        (Metric::LargestSpan, 1.0),
    ] {
        assert_is(all[metric.at()], 1.0, 0.1, [(0.5 * by).min(1.0), (2.0 * by).max(1.0)]);
    }
    let by = 0.95 / 0.8;
    assert_is(all[Metric::IntensityOfUse.at()], by, 0.1 * by, [0.5 * by, 2.0 * by]);
}

#[test]
fn a_plan_without_runs_does_not_move() {
    let drawn = Drawn::laid(2, &[], &[]);
    let estimate = shape(vec![[0.0; 3], [0.0, 0.0, 5.0]]);
    let all = [Measured { value: 1.0, se: Some(0.1), interval: Some([0.5, 2.0]) }; COUNT];
    for (whole, stated, measured) in
        [(2.0, 2.0, 0.0), (3.0, 2.0, -1.0), (3.0, 2.0, -2.0), (f64::NAN, 0.0, 0.0)]
    {
        let sums = [[stated, 0.0, 0.0], [measured, 0.0, 0.0]];
        let mut values = [f64::NAN; COUNT];
        values[Metric::HorizontalLength.at()] = whole;
        let mut moved = all;
        Basis { sums, ..basis(&drawn) }.stretch_plan(&estimate, &values, &mut moved);
        assert_eq!(moved, all, "{whole} {stated} {measured}");
    }
    // One point at the start has no direction to be stretched in.
    let nowhere = shape(vec![[0.0; 3]]);
    let mut values = [f64::NAN; COUNT];
    values[Metric::HorizontalLength.at()] = 10.0;
    let sums = [[0.0; 3], [-5.0, 0.0, 0.0]];
    let mut moved = all;
    Basis { sums, ..basis(&drawn) }.stretch_plan(&nowhere, &values, &mut moved);
    assert_eq!(moved[Metric::NetDisplacement.at()], all[0]);
    assert_eq!(moved[Metric::NetDisplacementHorizontal.at()].interval, Some([0.25, 1.0]));
}
