//! Each rule on draws whose mean and spread are seen at once, worked by hand.
//!
//! Two draws m ± d have the mean m and the standard deviation d √2. Where a spread is made tiny,
//! bounds lie so far apart in it that an interval reaches 1.644854 of it beyond them: quantiles of
//! draws are then taken at Φ(1.644854) = 0.95, which of 0 and 1 is 0.95.

use super::{
    Basis, COUNT, Drawn, Measured, Metric, SQRT_2, Shape, Subject, level, measured, quartile,
    reach_beyond_bounds,
};
use crate::path::LegClass;
use std::f64::consts::PI;

const TINY: f64 = 1e-9;
/// 1.959964 √2: how far an interval reaches where two draws are 2 apart.
const REACH: f64 = 2.771_808;
/// 1.959964 · 2: the same where those of either origin are.
const BOTH: f64 = 3.919_928;

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

/// Two draws that hardly differ.
fn near(metres: f64) -> [f64; 2] {
    [metres - TINY, metres + TINY]
}

/// The column of what the levelled path makes one way.
fn levelled(way: usize) -> usize {
    COUNT + way
}

fn basis(drawn: &Drawn) -> Basis<'_> {
    Basis { drawn, flat: [0.0; level::LEVELLED] }
}

/// One metric from errors of readings alone.
fn read(metric: Metric, e: f64, draws: &[f64]) -> Measured {
    let drawn = Drawn::laid(&[(metric.at(), draws)], &[]);
    basis(&drawn).value_and_interval(metric, e)
}

/// One metric from errors of readings and from the scatter of what is stated.
fn both(metric: Metric, e: f64, read: &[f64], stated: &[f64]) -> Measured {
    let drawn = Drawn::laid(&[(metric.at(), read)], &[(metric.at(), stated)]);
    basis(&drawn).value_and_interval(metric, e)
}

/// The value stays; the interval reaches to what is left of it once it is freed of b = 0.5, and of what
/// is stated and adds s = 1.
#[test]
fn a_linear_metric_keeps_its_value() {
    assert_is(read(Metric::StepMean, 5.0, &[4.0, 6.0]), 5.0, SQRT_2, [5.0 - REACH, 5.0 + REACH]);
    assert_is(read(Metric::StepMean, 5.0, &[4.5, 6.5]), 5.0, SQRT_2, [4.5 - REACH, 5.0 + REACH]);
    let stated = both(Metric::StepMean, 5.0, &[4.5, 6.5], &[5.0, 7.0]);
    assert_is(stated, 5.0, 2.0, [5.0 - BOTH, 5.5 + BOTH]);
    assert_is(read(Metric::StepMean, 1.0, &[0.0, 2.0]), 1.0, SQRT_2, [0.0, 1.0 + REACH]);
    // A share ends at 1, a length does not.
    assert_is(read(Metric::AboveGroundShare, 0.5, &[-0.5, 1.5]), 0.5, SQRT_2, [0.0, 1.0]);
    assert_eq!(read(Metric::Legs, 3.0, &[1.0, 9.0]), Measured::bare(3.0));
    // Without any draw that has it there is no interval.
    assert_eq!(read(Metric::StepMean, 3.0, &[f64::NAN, f64::NAN]), Measured::bare(3.0));
}

/// Of 0, 1 … 40 the share 0.025 is the second, 0.975 the last but one; sd² = 41 · 42 / 12. Scatter that
/// moves each draw to 20 leaves 20 alone.
#[test]
fn a_median_step_has_the_quantiles_of_its_draws() {
    let draws: Vec<f64> = (0..=40).map(f64::from).collect();
    let found = read(Metric::StepMedian, 20.0, &draws);
    assert_is(found, 20.0, 143.5_f64.sqrt(), [1.0, 39.0]);
    let opposite: Vec<f64> = draws.iter().rev().copied().collect();
    let found = both(Metric::StepMedian, 20.0, &draws, &opposite);
    assert_is(found, 20.0, 287.0_f64.sqrt(), [20.0, 20.0]);
}

/// What draws add once to the estimate the noise has added before, 0.2; what is stated and adds 0.5 the
/// truth has and the estimate lacks.
#[test]
fn a_mirrored_metric_is_freed_of_what_bends_it() {
    let (sd, half) = (0.1 * SQRT_2, 0.1 * REACH);
    let sinuosity = read(Metric::Sinuosity, 1.0, &[1.1, 1.3]);
    assert_is(sinuosity, 0.8, sd, [0.8 - half, 1.0 + half]);
    assert_is(read(Metric::Sinuosity, 0.1, &[0.2, 0.4]), 0.0, sd, [0.0, 0.1 + half]);
    let stated = both(Metric::Sinuosity, 1.0, &[1.1, 1.3], &[1.4, 1.6]);
    assert_is(stated, 1.3, 0.2, [1.0 - 0.1 * BOTH, 1.3 + 0.1 * BOTH]);
}

/// √2 |3.5 − 3| more on either side.
#[test]
fn a_bent_metric_reaches_farther() {
    let (half, b) = (0.1 * REACH, SQRT_2 * 0.5);
    let quartile = read(Metric::HeightQ25, 3.0, &[3.4, 3.6]);
    assert_is(quartile, 2.5, 0.1 * SQRT_2, [2.5 - half - b, 3.0 + half + b]);
    let stated = both(Metric::HeightQ25, 3.0, &[3.4, 3.6], &[3.9, 4.1]);
    assert_is(stated, 3.5, 0.2, [3.0 - 0.1 * BOTH - b, 3.5 + 0.1 * BOTH + b]);
}

/// Both 0.5 and its mirror 0.6 lie inside; cosines may be negative, resultants may not.
#[test]
fn a_resultant_lies_between_estimate_and_mirror() {
    let (sd, half) = (0.01 * SQRT_2, 0.01 * REACH);
    let turns = |e, draws: &[f64]| read(Metric::TurnResultant, e, draws);
    assert_is(turns(0.5, &[0.39, 0.41]), 0.6, sd, [0.5 - half, 0.6 + half]);
    assert_is(turns(0.9, &[0.69, 0.71]), 1.0, sd, [0.9 - half, 1.0]);
    assert_is(turns(0.1, &[0.29, 0.31]), 0.0, sd, [0.0, 0.1 + half]);
    let space = |e, draws: &[f64]| read(Metric::Turn3dResultant, e, draws);
    assert_is(space(-0.5, &[-0.31, -0.29]), -0.7, sd, [-0.7 - half, -0.5 + half]);
    assert_is(space(-0.9, &[-0.61, -0.59]), -1.0, sd, [-1.0, -0.9 + half]);
    // Directions that were carried on turn less than the animal did: 0.6 − 0.2.
    let stated = both(Metric::TurnResultant, 0.5, &[0.39, 0.41], &[0.29, 0.31]);
    assert_is(stated, 0.4, 0.02, [0.4 - 0.01 * BOTH, 0.5 + 0.01 * BOTH]);
}

/// Draws 0.3 and 0.1 past the estimate, across south: 0.2 on average, sd √0.02, together √0.06. What is
/// stated, 0.1 ± 0.1 short of it, makes √(0.01 + 0.02) more: √0.09.
#[test]
fn a_direction_is_unwound_about_its_estimate() {
    let e = 3.1;
    let draws = [e + 0.3 - 2.0 * PI, e + 0.1];
    let (spread, z) = (0.06_f64.sqrt(), 1.959_964);
    let found = read(Metric::NetBearing, e, &draws);
    assert_is(found, e, spread, [e - z * spread, e + z * spread]);
    let found = both(Metric::NetBearing, e, &draws, &[e - 0.2, e]);
    assert_is(found, e, 0.3, [e - z * 0.3, e + z * 0.3]);
    // 1 ± 0.6: no interval of a whole turn or more.
    let lost = read(Metric::NetBearing, 0.0, &[1.6, 0.4]);
    close(lost.se.unwrap(), (1.0_f64 + 0.72).sqrt());
    assert_eq!((lost.value, lost.interval), (0.0, None));
}

/// Straightness ½ with draws 0.45 and 0.55: ½ ± 0.1385904 upside down, se 0.0707107 / ¼.
#[test]
fn length_to_net_is_straightness_upside_down() {
    let of = |e: f64| {
        let drawn = Drawn::laid(&[(Metric::Straightness.at(), &[0.45, 0.55])], &[]);
        basis(&drawn).value_and_interval(Metric::LengthToNet, e)
    };
    assert_is(of(2.0), 2.0, 0.282_843, [1.0 / 0.638_590_4, 1.0 / 0.361_409_6]);
    assert_eq!(of(20.0), Measured::bare(20.0), "it may be closed");
}

/// b = 2, B = 2 / (2^¾ − 1) = 2 · 1.4667212. What is stated widens the side to which it bends.
#[test]
fn a_climb_between_reversals_may_owe_its_noise_to_the_draws() {
    let (climb, most) = (Metric::AscentThreshold, 2.933_442);
    let found = read(climb, 10.0, &[11.0, 13.0]);
    assert_is(found, 10.0, SQRT_2, [10.0 - most - REACH, 10.0 + REACH]);
    let more = both(climb, 10.0, &[11.0, 13.0], &[10.5, 12.5]);
    assert_is(more, 10.0, 2.0, [10.0 - most - BOTH, 11.5 + BOTH]);
    let less = both(climb, 10.0, &[11.0, 13.0], &[7.5, 9.5]);
    assert_is(less, 10.0, 2.0, [8.5 - most - BOTH, 10.0 + BOTH]);
    // Draws that climb less take nothing off.
    assert_is(read(climb, 5.0, &[2.0, 4.0]), 5.0, SQRT_2, [5.0 - REACH, 5.0 + REACH]);
    assert_is(read(climb, 1.0, &[2.0, 4.0]), 1.0, SQRT_2, [0.0, 1.0 + REACH]);
}

/// Readings make 10.3 of 10, the offsets of plumb legs 11: 10 − 0.3 + 1, known to √(0.02 + 0.5). Where
/// the levelled path is less sure, it tells the spread.
#[test]
fn a_run_gains_what_is_stated_and_loses_what_was_read() {
    let (run, runs) = (Metric::HorizontalLength, levelled(level::RUNS));
    let of = |e: f64, draws: &[f64], levelled: &[f64]| {
        let drawn =
            Drawn::laid(&[(run.at(), draws), (runs, levelled)], &[(run.at(), &[10.5, 11.5])]);
        basis(&drawn).value_and_interval(run, e)
    };
    let half = 1.959_964 * 0.52_f64.sqrt();
    let sure = of(10.0, &[10.2, 10.4], &[8.0, 8.0]);
    assert_is(sure, 10.7, 0.52_f64.sqrt(), [10.7 - half, 10.7 + half]);
    let unsure = of(10.0, &[10.2, 10.4], &[7.0, 9.0]);
    assert_is(unsure, 10.7, SQRT_2, [10.7 - REACH, 10.7 + REACH]);
    // A length is not negative.
    assert_is(read(run, 0.1, &[0.2, 0.4]), 0.0, 0.1 * SQRT_2, [0.0, 0.1 * REACH - 0.1]);
}

/// Ascent and descent of 10 m each whose spread is tiny. Readings bend them by b = 0.2 and 0.4, what is
/// stated by 0.5 and 0.1. If all that may be level were, the readings would make 1.5 or 2.5 m of climb
/// above the 0.5 m that stays, and 0.4 or 0.6 m of descent; what is stated makes 0.3 m of climb.
fn climbs() -> Drawn {
    Drawn::laid(
        &[
            (Metric::Ascent.at(), &near(10.2)),
            (Metric::Descent.at(), &near(10.4)),
            (Metric::VerticalDistance.at(), &near(10.6)),
            (levelled(level::ASCENT), &[2.0, 3.0]),
            (levelled(level::DESCENT), &[0.4, 0.6]),
        ],
        &[
            (Metric::Ascent.at(), &near(10.5)),
            (Metric::Descent.at(), &near(10.1)),
            (Metric::VerticalDistance.at(), &near(10.6)),
            (levelled(level::ASCENT), &[0.8, 0.8]),
        ],
    )
}

/// The value is 10 − 0.2 + 0.5; the interval begins at 10 − 2 + 0.3, less what 0.95 of the draws of the
/// levelled path have above their mean: 0.45 of 1.
#[test]
fn a_climb_reaches_down_to_where_all_may_be_level() {
    let drawn = climbs();
    let mut basis = basis(&drawn);
    basis.flat[level::ASCENT] = 0.5;
    let of = |metric| basis.value_and_interval(metric, 10.0);
    assert_is(of(Metric::Ascent), 10.3, 0.0, [8.3 - 0.45, 10.3]);
    assert_is(of(Metric::Descent), 9.7, 0.0, [9.5 - 0.09, 9.7]);
    // Both: 0.6 read, 0.6 stated; 2.5 and 0.3 of the levelled path, which spreads by 1.2.
    assert_is(of(Metric::VerticalDistance), 10.0, 0.0, [7.8 - 0.54, 10.0]);
}

/// Where levelling makes no more of it than b, the bounds meet: Φ(1.959964) = 0.975 of the draws.
#[test]
fn a_sure_climb_is_freed_of_what_bends_it_alone() {
    let of = |levels: [&[f64]; 2]| {
        let metric = Metric::Ascent.at();
        let drawn = Drawn::laid(
            &[(metric, &near(10.2)), (levelled(level::ASCENT), levels[0])],
            &[(metric, &near(10.5)), (levelled(level::ASCENT), levels[1])],
        );
        basis(&drawn).value_and_interval(Metric::Ascent, 10.0)
    };
    assert_is(of([&[0.0, 0.4], &[0.5, 0.5]]), 10.3, 0.0, [10.3 - 0.19, 10.3]);
    // Less than b makes it no higher.
    assert_is(of([&[0.1, 0.1], &[0.5, 0.5]]), 10.3, 0.0, [10.3, 10.3]);
    // Nothing is levelled: the noise of the climb itself stands on either side.
    let plain = |e, draws: &[f64]| read(Metric::Ascent, e, draws);
    assert_is(plain(5.0, &[4.0, 6.0]), 5.0, SQRT_2, [5.0 - REACH, 5.0 + REACH]);
    assert_is(plain(5.0, &[7.0, 9.0]), 2.0, SQRT_2, [0.0, 2.0 + REACH]);
    assert_is(plain(1.0, &[3.0, 5.0]), 0.0, SQRT_2, [0.0, REACH - 2.0]);
}

/// E = 8 and draws of 9 make 7 and b = 1. Lifts of 1 and 3: 0.975 of the way, 2.95, is taken off.
#[test]
fn a_greatest_height_may_owe_its_lift_to_ties() {
    for (metric, way) in [(Metric::HeightMax, level::TOP), (Metric::ElevationRange, level::RANGE)] {
        let of = |[read, stated]: [f64; 2], lifts: [&[f64]; 2]| {
            let drawn = Drawn::laid(
                &[(metric.at(), &near(read)), (levelled(way), lifts[0])],
                &[(metric.at(), &near(stated)), (levelled(way), lifts[1])],
            );
            basis(&drawn).value_and_interval(metric, 8.0)
        };
        let none: &[f64] = &[0.0, 0.0];
        assert_is(of([9.0, 8.0], [&[1.0, 3.0], none]), 7.0, 0.0, [5.05, 8.0]);
        assert_is(of([8.2, 8.0], [&[0.0, 0.4], none]), 7.8, 0.0, [7.61, 8.0]);
        // Draws that lie lower move the value up, and no lift takes anything off it.
        assert_is(of([7.5, 8.0], [none, none]), 8.5, 0.0, [8.0, 8.5]);
        // Scatter that the estimate lacks lifts the truth, and takes its part of each lift away.
        assert_is(of([9.0, 9.5], [&[1.0, 3.0], &[0.5, 0.5]]), 8.5, 0.0, [8.0 - 2.45, 8.5]);
        // Ties may be lifted farther by it than the highest point alone.
        assert_is(of([8.0, 8.0], [none, &[1.0, 3.0]]), 8.0, 0.0, [8.0, 10.0]);
        assert_is(read(metric, 8.0, &[8.0, 10.0]), 7.0, SQRT_2, [7.0 - REACH, 8.0 + REACH]);
    }
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
    assert_is(found.within(4.0, 8.0), 6.0, 1.0, [4.0, 8.0]);
    for (se, low, high) in [(f64::NAN, 0.0, 1.0), (1.0, f64::NAN, 1.0), (1.0, 0.0, f64::INFINITY)] {
        assert_eq!(Measured::with(0.5, se, low, high), Measured::bare(0.5));
    }
}

/// A leg that climbs 4 m over 3 m, whose metrics are these.
fn all(values: &[(Metric, f64)], drawn: &Drawn) -> [Measured; COUNT] {
    let points = [[0.0; 3], [3.0, 0.0, 4.0]];
    let subject = Subject::laid(&[[0, 1]], &[LegClass::Measured]).without_noise(&points);
    let estimate = Shape::laid(&subject, &points);
    let mut row = [f64::NAN; COUNT];
    values.iter().for_each(|&(metric, value)| row[metric.at()] = value);
    measured(&subject, &estimate, &row, drawn)
}

/// A climb of 4 m ± 0.1 √2 over a path of 5 m; the share itself is known to 0.01 √2.
#[test]
fn the_share_of_climbs_is_that_of_both_climbs() {
    let values = [
        (Metric::PathLength, 5.0),
        (Metric::Ascent, 4.0),
        (Metric::Descent, 0.0),
        (Metric::VerticalDistance, 4.0),
        (Metric::VerticalShare, 0.8),
    ];
    let drawn = Drawn::laid(
        &[
            (Metric::VerticalDistance.at(), &[3.9, 4.1]),
            (Metric::VerticalShare.at(), &[0.79, 0.81]),
            (levelled(level::ASCENT), &[4.0, 4.0]),
        ],
        &[],
    );
    let found = all(&values, &drawn);
    let half = 0.1 * REACH / 5.0;
    let share = found[Metric::VerticalShare.at()];
    assert_is(share, 0.8, 0.01 * SQRT_2, [0.8 - half, 0.8 + half]);
    // The raw climbs stay as they are.
    assert_eq!(found[Metric::AscentRaw.at()], Measured::bare(4.0));
    assert_eq!(found[Metric::DescentRaw.at()], Measured::bare(0.0));
    assert!(found[Metric::Sinuosity.at()].value.is_nan());
    // One draw has no spread.
    let one = Drawn::laid(&[(Metric::VerticalDistance.at(), &[3.9])], &[]);
    assert_eq!(all(&values, &one)[Metric::VerticalDistance.at()], Measured::bare(4.0));
}

/// Heights of the subject have no noise: quartiles that are the median are as uncertain as it is.
#[test]
fn quartiles_that_are_the_median_reach_as_far() {
    let [q25, median, q75] = [Metric::HeightQ25, Metric::HeightMedian, Metric::HeightQ75];
    let drawn = Drawn::laid(
        &[(q25.at(), &near(2.0)), (median.at(), &[1.9, 2.1]), (q75.at(), &near(2.5))],
        &[],
    );
    let found = all(&[(q25, 2.0), (median, 2.0), (q75, 2.5)], &drawn);
    assert_is(found[q25.at()], 2.0, 0.0, [2.0, 2.0 + 0.1 * REACH]);
    assert_is(found[q75.at()], 2.5, 0.0, [2.5, 2.5]);
}
