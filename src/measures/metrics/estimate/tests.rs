//! Each rule on draws whose mean and spread are seen at once, worked by hand.
//!
//! Two draws m ± d have the mean m and the standard deviation d √2.

use super::{Basis, Drawn, Measured, Metric, SQRT_2, level, quartile};

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

/// One metric from its own draws alone: by errors of readings, and by the scatter of what is stated.
fn of(metric: Metric, e: f64, [read, stated]: [&[f64]; 2]) -> Measured {
    let drawn = Drawn::laid([&[(metric, read)], &[(metric, stated)]]);
    Basis { drawn: &drawn, flat: [0.0; level::LEVELLED] }.value_and_interval(metric, e)
}

/// Readings: b = 5.5 − 5. What is stated: s = 6 − 5. Freed: 5 − 0.5 + 1 = 5.5, ± 1.96 √(2 + 2).
#[test]
fn readings_are_taken_off_and_what_is_stated_is_added() {
    let read = of(Metric::StepMean, 5.0, [&[4.5, 6.5], &[]]);
    assert_is(read, 5.0, SQRT_2, [4.5 - REACH, 5.0 + REACH]);
    let both = of(Metric::StepMean, 5.0, [&[4.5, 6.5], &[5.0, 7.0]]);
    assert_is(both, 5.0, 2.0, [5.0 - REACH * SQRT_2, 5.5 + REACH * SQRT_2]);
    // A length is not negative; a share ends at 1; a count has no draws.
    assert_is(of(Metric::StepMean, 1.0, [&[0.0, 2.0], &[]]), 1.0, SQRT_2, [0.0, 1.0 + REACH]);
    let share = of(Metric::AboveGroundShare, 0.5, [&[-0.5, 1.5], &[]]);
    assert_is(share, 0.5, SQRT_2, [0.0, 1.0]);
    assert_eq!(of(Metric::Legs, 3.0, [&[1.0, 9.0], &[]]), Measured::bare(3.0));
    assert_eq!(of(Metric::StepMean, 3.0, [&[f64::NAN; 2], &[]]), Measured::bare(3.0));
}

/// 2 − 1.2 = 0.8 and 2 · 0.1 − 0.3 = −0.1, which is none.
#[test]
fn a_bent_metric_is_freed_of_it() {
    let (sd, half) = (0.1 * SQRT_2, 0.1 * REACH);
    let sinuosity = of(Metric::Sinuosity, 1.0, [&[1.1, 1.3], &[]]);
    assert_is(sinuosity, 0.8, sd, [0.8 - half, 1.0 + half]);
    assert_is(of(Metric::Sinuosity, 0.1, [&[0.2, 0.4], &[]]), 0.0, sd, [0.0, 0.1 + half]);
    // √2 |3.5 − 3| more on either side.
    let more = half + SQRT_2 * 0.5;
    let quartile = of(Metric::HeightQ25, 3.0, [&[3.4, 3.6], &[]]);
    assert_is(quartile, 2.5, sd, [2.5 - more, 3.0 + more]);
}

/// Cosines may be negative, resultants may not.
#[test]
fn a_resultant_lies_between_the_estimate_and_what_it_is_freed_to() {
    let (sd, half) = (0.01 * SQRT_2, 0.01 * REACH);
    let turns = of(Metric::TurnResultant, 0.5, [&[0.39, 0.41], &[]]);
    assert_is(turns, 0.6, sd, [0.5 - half, 0.6 + half]);
    assert_is(of(Metric::TurnResultant, 0.1, [&[0.29, 0.31], &[]]), 0.0, sd, [0.0, 0.1 + half]);
    let space = of(Metric::Turn3dResultant, -0.9, [&[-0.61, -0.59], &[]]);
    assert_is(space, -1.0, sd, [-1.0, -0.9 + half]);
}

/// Draws 0.3 and 0.1 past the estimate, across south: 0.2 on average, sd √0.02, together √0.06; what
/// is stated lies 0.1 either way, √0.02 more.
#[test]
fn a_direction_is_unwound_about_its_estimate() {
    let (e, round) = (3.1, 2.0 * std::f64::consts::PI);
    let draws: [&[f64]; 2] = [&[e + 0.3 - round, e + 0.1], &[e - 0.1, e + 0.1]];
    let (spread, reach) = (0.08_f64.sqrt(), 1.959_964 * 0.08_f64.sqrt());
    assert_is(of(Metric::NetBearing, e, draws), e, spread, [e - reach, e + reach]);
    let lost = of(Metric::NetBearing, 0.0, [&[1.6, 0.4], &[]]);
    assert_eq!((lost.value, lost.interval), (0.0, None));
}

/// Straightness ½ with draws 0.45 and 0.55: ½ ± 0.1385904 upside down, se 0.0707107 / ¼.
#[test]
fn length_to_net_is_straightness_upside_down() {
    let of = |e: f64| {
        let drawn = Drawn::laid([&[(Metric::Straightness, &[0.45, 0.55])], &[]]);
        let basis = Basis { drawn: &drawn, flat: [0.0; level::LEVELLED] };
        basis.value_and_interval(Metric::LengthToNet, e)
    };
    assert_is(of(2.0), 2.0, 0.282_843, [1.0 / 0.638_590_4, 1.0 / 0.361_409_6]);
    assert_eq!(of(20.0), Measured::bare(20.0), "it may be closed");
}

/// b = 7 − 5 = 2, B = 2 / (2^¾ − 1) = 2 / 0.6817928 = 2.9334426; what is stated adds 1 above.
#[test]
fn a_climb_between_reversals_may_owe_its_noise_to_the_readings() {
    let found = of(Metric::AscentThreshold, 9.0, [&[10.0, 12.0], &[]]);
    assert_is(found, 9.0, SQRT_2, [9.0 - 2.933_443 - REACH, 9.0 + REACH]);
    let stated = of(Metric::AscentThreshold, 9.0, [&[8.0, 10.0], &[10.0, 10.0]]);
    assert_is(stated, 9.0, SQRT_2, [9.0 - REACH, 10.0 + REACH]);
}

/// A climb of 5 m whose draws climb 6 m on average, and whose levelled path climbs 0.5 m in them: b = 1
/// is the more. Freed: 4 m. Both bounds meet, and the interval reaches 1.96 √2 to either side.
#[test]
fn a_climb_that_stands_out_keeps_its_sharp_interval() {
    let mut drawn = Drawn::laid([&[(Metric::Ascent, &[5.0, 7.0])], &[]]);
    drawn.lay_levelled(level::ASCENT, [&[0.5, 0.5], &[]]);
    let basis = Basis { drawn: &drawn, flat: [0.0; level::LEVELLED] };
    let found = basis.value_and_interval(Metric::Ascent, 5.0);
    assert_is(found, 4.0, SQRT_2, [4.0 - REACH, 4.0 + REACH]);
}

/// Where it may all be level, noise may have added 3 m of the 5: the interval reaches from 2 m on down,
/// and no climb is negative.
#[test]
fn a_level_path_may_not_have_climbed() {
    let mut drawn = Drawn::laid([&[(Metric::Ascent, &[5.0, 7.0])], &[]]);
    drawn.lay_levelled(level::ASCENT, [&[2.0, 4.0], &[]]);
    let basis = Basis { drawn: &drawn, flat: [0.0; level::LEVELLED] };
    let found = basis.value_and_interval(Metric::Ascent, 5.0);
    let [low, high] = found.interval.unwrap();
    close(low, 0.0); // 2 − 1.64 √2 and less
    close(high, 4.0 + REACH);
}

/// The highest of 9 m, which draws lift by 0.2 on average; tied points are lifted by 0.1 and 0.5.
#[test]
fn a_maximum_is_freed_of_the_lift_of_noise() {
    let mut drawn = Drawn::laid([&[(Metric::HeightMax, &[9.1, 9.3])], &[]]);
    drawn.lay_levelled(level::TOP, [&[0.1, 0.5], &[]]);
    let basis = Basis { drawn: &drawn, flat: [0.0; level::LEVELLED] };
    let found = basis.value_and_interval(Metric::HeightMax, 9.0);
    let (sd, half) = (0.1 * SQRT_2, 0.1 * REACH);
    close(found.value, 8.8);
    close(found.se.unwrap(), sd);
    let [low, high] = found.interval.unwrap();
    close(high, 9.0 + half);
    close(low, (8.8 - half).min(9.0 - (0.1 + 0.4 * 0.975)));
}

/// A quartile 0.1 m below the median, with heights known to 0.2 m, may be as high as the median.
#[test]
fn a_quartile_near_the_median_may_be_the_median() {
    let of = |value: f64| Measured::with(value, 0.05, value - 0.1, value + 0.1);
    let near = quartile(of(0.9), of(1.0), 0.2).interval.unwrap();
    close(near[0], 0.8);
    assert!(near[1] > 1.07, "{near:?}");
    assert_eq!(quartile(of(0.5), of(1.0), 0.2), of(0.5), "further off than a height is uncertain");
}
