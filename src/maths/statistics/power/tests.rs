//! Against the tests that are shortened here, published power, noncentral t, and analyses of variance.

use super::shuffled::{refuses, width_of_difference};
use super::studies::animals;
use super::{
    Aim, Design, Expected, LEVEL, PairedAim, PairedDesign, PilotValue, Spread, animals_needed,
    detectable, detectable_of_pairs, expected, least_p, least_p_of_pairs, pairs, pairs_needed,
    power, power_of, signed, spread_of_pilot, upper_factor, width_of_mean,
};
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::permutation::{
    interval_of_difference, interval_of_pairs, signs, studentised,
};
use serde_json::Value;

const UNIT: Spread = Spread { animal: 1.0, night: Some(0.0), measurement: 0.0 };

fn reference() -> Value {
    let text = include_str!("../../../../tests/reference/power.json");
    let file: Value = serde_json::from_str(text).unwrap();
    file["cases"][0].clone()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn count(value: &Value) -> usize {
    usize::try_from(value.as_u64().unwrap()).unwrap()
}

fn design(sizes: [usize; 2], difference: f64) -> Design {
    Design { sizes, nights: 1, difference, spread: UNIT }
}

/// Where all arrangements are gone through, the short test and the test itself say the same, of every
/// sample; every third sample has ties.
#[test]
fn the_short_tests_decide_as_the_tests_themselves() {
    let mut chance = Chance::new(4);
    let mut refused = [0; 2];
    for at in 0..300_u32 {
        let shift = f64::from(at % 10) / 4.0;
        let round = |x: f64| if at.is_multiple_of(3) { x.round() } else { x };
        let mut draw = |count: usize, mean: f64| -> Vec<f64> {
            animals(&mut chance, count, mean).into_iter().map(round).collect()
        };
        for [n1, n2] in [[5, 5], [3, 8], [7, 4], [2, 5]] {
            let (first, second) = (draw(n1, shift), draw(n2, 0.0));
            let whole = studentised(&first, &second, 1).is_some_and(|found| found.p() <= LEVEL);
            let short = refuses(&first, &second, &mut Chance::new(1));
            assert_eq!(short, whole, "{first:?} {second:?}");
            refused[0] += usize::from(short);
        }
        let changes = draw(8, shift);
        let whole = signs(&changes, 1).unwrap().p() <= LEVEL;
        assert_eq!(signed::refuses_signs(&changes, &mut Chance::new(1)), whole, "{changes:?}");
        refused[1] += usize::from(whole);
    }
    assert!((200..900).contains(&refused[0]) && (50..250).contains(&refused[1]), "{refused:?}");
}

/// Widths are those of the intervals themselves, but for where the search stops.
#[test]
fn short_widths_are_those_of_the_intervals() {
    let mut chance = Chance::new(6);
    for _ in 0..25 {
        let (first, second) = (animals(&mut chance, 4, 1.0), animals(&mut chance, 6, 0.0));
        let [low, high] = interval_of_difference(&first, &second, 1).unwrap();
        let wide = width_of_difference(&first, &second, &mut Chance::new(1)).unwrap();
        assert!((wide / (high - low) - 1.0).abs() < 0.01, "{wide} {low} {high}");
        let changes = animals(&mut chance, 8, 0.5);
        let [low, high] = interval_of_pairs(&changes, 1).unwrap();
        let wide = signed::width_of_pairs(&changes, &mut Chance::new(1)).unwrap();
        assert!((wide / (high - low) - 1.0).abs() < 0.01, "{wide} {low} {high}");
    }
}

/// Cohen's 0.80, within three Monte Carlo errors of the fewer studies of this test. All 2,500 studies,
/// seed 1: 0.797, 0.804, 0.821.
#[test]
fn large_groups_have_the_published_power() {
    for case in reference()["cohen"].as_array().unwrap() {
        let n = count(&case["n"]);
        let studies = if n > 100 { 150 } else { 600 };
        let found = power_of(&design([n, n], number(&case["d"])), 1, studies).unwrap();
        let apart = (found.power - number(&case["power"])).abs();
        assert!(apart < 3.0 * found.standard_error, "{n}: {found:?}");
    }
}

/// Noncentral t is not reached by unequal groups: the studentised test asks the small group for its own
/// spread. How far below is the table of the module.
#[test]
fn power_lies_below_noncentral_t_by_what_the_docs_say() {
    let mut compared = 0;
    for case in reference()["two_groups"].as_array().unwrap() {
        let sizes = [count(&case["sizes"][0]), count(&case["sizes"][1])];
        let (below, above) = match sizes {
            [20, 8] => (0.05, 0.02),
            [10, 5] => (0.07, 0.02),
            [3, 12] => (0.31, 0.0),
            _ => (0.03, 0.03),
        };
        let found = power_of(&design(sizes, number(&case["d"])), 1, 1_000).unwrap();
        let gain = found.power - number(&case["power"]);
        assert!((-below..above).contains(&gain), "{case}: {found:?}");
        compared += 1;
    }
    assert_eq!(compared, 20);
}

#[test]
fn pairs_have_the_power_of_paired_t_unless_they_are_few() {
    for case in reference()["pairs"].as_array().unwrap() {
        let (pairs, difference) = (count(&case["pairs"]), number(&case["d"]));
        let spread = Spread { animal: 3.0, ..UNIT };
        let design = PairedDesign { pairs, nights: 1, difference, spread, response: 1.0 };
        let found = pairs::power_of(&design, 1, 1_000).unwrap();
        let gain = found.power - number(&case["power"]);
        let below = if pairs == 6 { 0.20 } else { 0.04 };
        assert!((-below..0.03).contains(&gain), "{case}: {found:?}");
    }
}

/// 20 arrangements and a mirror: never below 0.1. 15 of two and four: never below 0.067.
#[test]
fn groups_too_small_for_any_difference_say_so() {
    for (sizes, least) in [([3, 3], 0.1), ([2, 4], 1.0 / 15.0)] {
        let found = expected(&design(sizes, 50.0), 1).unwrap();
        assert!((found.power.least_p - least).abs() < 1e-12, "{found:?}");
        assert!(found.power.power <= 0.0 && found.difference.is_none(), "{found:?}");
    }
    assert!(least_p([4, 3]).unwrap() < LEVEL && least_p([4, 4]).unwrap() < LEVEL);
    assert_eq!(least_p([1, 9]), None);
    assert!(least_p_of_pairs(5).unwrap() > LEVEL && least_p_of_pairs(6).unwrap() < LEVEL);
    assert_eq!(least_p_of_pairs(1), None);
    assert!(least_p_of_pairs(500).is_some());
}

/// In other units all widths are other numbers of the same length, and the power is the same.
#[test]
fn units_change_nothing() {
    let spread = Spread { animal: 3.0, night: Some(4.0), measurement: 3.0 };
    assert!((spread.of_animal(1).unwrap() - 34.0_f64.sqrt()).abs() < 1e-12);
    let metres =
        expected(&Design { sizes: [6, 4], nights: 2, difference: 5.0, spread }, 1).unwrap();
    let spread = spread.times(8.0);
    let other =
        expected(&Design { sizes: [6, 4], nights: 2, difference: 40.0, spread }, 1).unwrap();
    assert_eq!(metres.power, other.power);
    let wide = |found: &Expected| [found.means[0].unwrap(), found.difference.unwrap()];
    for (metres, other) in wide(&metres).into_iter().zip(wide(&other)) {
        assert!((8.0 * metres.mean / other.mean - 1.0).abs() < 1e-9);
        assert!(metres.ninetieth > metres.mean);
    }
    assert_eq!(expected(&Design { nights: 0, ..design([5, 5], 1.0) }, 1), None);
    assert_eq!(power(&Design { spread: UNIT.times(0.0), ..design([5, 5], 1.0) }, 1), None);
    assert_eq!(power(&design([5, 5], f64::NAN), 1), None);
}

/// d = 1.5: 8 by noncentral t (power 0.80), 9 by seeds 2 and 3; one fewer does not do.
#[test]
fn the_fewest_animals_reach_the_power() {
    let aim = Aim { difference: 1.5, nights: 1, ratio: 1.0, power: 0.8 };
    let found = animals_needed(&UNIT, &aim, 2).unwrap();
    assert_eq!(found.sizes, [9, 9]);
    assert_eq!(animals_needed(&UNIT, &aim, 2), Some(found));
    assert_eq!(power(&design([9, 9], 1.5), 2), Some(found.power));
    assert!(power(&design([8, 8], 1.5), 2).unwrap().power < 0.8);
    let half = animals_needed(&UNIT, &Aim { ratio: 0.5, ..aim }, 2).unwrap();
    assert_eq!(half.sizes, [13, 7]);
    let double = animals_needed(&UNIT, &Aim { ratio: 2.0, difference: 3.0, ..aim }, 2).unwrap();
    assert!(double.sizes[0] < double.sizes[1]);
    assert_eq!(animals_needed(&UNIT, &Aim { power: 1.0, ..aim }, 2), None);
    assert_eq!(animals_needed(&UNIT, &Aim { ratio: 0.0, ..aim }, 2), None);
    let aim = PairedAim { difference: 1.0, nights: 1, response: 1.0, power: 0.8 };
    let (pairs, _) = pairs_needed(&UNIT, &aim, 1).unwrap();
    assert!((10..=11).contains(&pairs), "{pairs}: paired t asks for 10");
}

/// A difference too small for a hundred animals of each group has no answer.
#[test]
fn what_no_hundred_animals_see_has_no_answer() {
    let aim = Aim { difference: 0.05, nights: 1, ratio: 0.03, power: 0.8 };
    assert_eq!(animals_needed(&UNIT, &aim, 1), None);
}

/// By noncentral t two groups of ten see 1.325 with a power of 0.80; and the least difference has the power
/// while a twentieth more or less has more or less.
#[test]
fn the_least_difference_is_seen_with_the_power() {
    let found = detectable(&design([10, 10], 0.0), 0.8, 1).unwrap();
    assert!((found / 1.325 - 1.0).abs() < 0.04, "{found}");
    for (sizes, nights) in [([4, 9], 1), ([5, 7], 3)] {
        let spread = Spread { animal: 3.0, night: Some(4.0), measurement: 1.0 };
        let design = Design { sizes, nights, difference: 0.0, spread };
        let found = detectable(&design, 0.8, 2).unwrap();
        let power = |difference| power(&Design { difference, ..design }, 2).unwrap().power;
        assert!(power(1.05 * found) > 0.8 && power(0.95 * found) < 0.8, "{found}");
    }
    assert_eq!(detectable(&design([3, 3], 0.0), 0.8, 1), None);
    assert_eq!(detectable(&design([9, 9], 0.0), 1.0, 1), None);
    let pairs = PairedDesign { pairs: 10, nights: 1, difference: 0.0, spread: UNIT, response: 1.0 };
    let found = detectable_of_pairs(&pairs, 0.8, 1).unwrap();
    assert!((0.95..1.08).contains(&found), "{found}: paired t sees 1.0 with 0.80");
    assert_eq!(detectable_of_pairs(&PairedDesign { pairs: 5, ..pairs }, 0.8, 1), None);
}

/// One group alone has the width that it has beside another.
#[test]
fn the_mean_of_one_group_is_as_wide_as_beside_another() {
    let two = expected(&design([7, 4], 1.0), 1).unwrap();
    assert_eq!(width_of_mean(7, &UNIT, 1, 1), two.means[0]);
    assert_eq!(width_of_mean(2, &UNIT, 1, 1), None);
    assert_eq!(width_of_mean(7, &UNIT.times(0.0), 1, 1), None);
}

fn pilot_of(animals: &Value) -> Vec<PilotValue> {
    let mut values = Vec::new();
    for (animal, nights) in animals.as_array().unwrap().iter().enumerate() {
        for (night, value) in nights.as_array().unwrap().iter().enumerate() {
            values.push(PilotValue { group: 0, animal, night, value: number(value), se: None });
        }
    }
    values
}

/// The ticks of Sokal and Rohlf's box on unequal numbers, and balanced values by REML.
#[test]
fn variances_are_those_of_the_analysis_of_variance() {
    let reference = reference();
    let ticks = &reference["ticks"];
    let found = spread_of_pilot(&pilot_of(&ticks["values"])).unwrap();
    assert!((found.nights - number(&ticks["nights"])).abs() < 1e-9);
    assert!((found.spread.animal - number(&ticks["animal"])).abs() < 1e-9);
    assert!((found.spread.night.unwrap() - number(&ticks["night"])).abs() < 1e-9);
    let printed = number(&ticks["printed"]["animal_squared"]);
    assert!(
        (found.spread.animal.powi(2) / printed - 1.0).abs() < 5e-4,
        "printed of rounded squares"
    );
    let balanced = &reference["balanced"];
    let found = spread_of_pilot(&pilot_of(&balanced["values"])).unwrap();
    assert!((found.spread.animal / number(&balanced["animal"]) - 1.0).abs() < 1e-4, "{found:?}");
    assert!((found.spread.night.unwrap() / number(&balanced["night"]) - 1.0).abs() < 1e-4);
}

fn unbalanced() -> (Vec<PilotValue>, Value) {
    let case = reference()["unbalanced"].clone();
    let row = |row: &Value| PilotValue {
        group: count(&row[0]),
        animal: count(&row[1]),
        night: count(&row[2]),
        value: number(&row[3]),
        se: Some(number(&row[4])),
    };
    (case["rows"].as_array().unwrap().iter().map(row).collect(), case)
}

/// Two groups, unequal nights and errors, against the expectations of both quadratic forms; the order of
/// rows and the numbers of animals change no digit.
#[test]
fn errors_of_measurement_are_taken_off() {
    let (mut values, case) = unbalanced();
    let found = spread_of_pilot(&values).unwrap();
    assert!((found.spread.animal - number(&case["animal"])).abs() < 1e-9, "{found:?}");
    assert!((found.spread.night.unwrap() - number(&case["night"])).abs() < 1e-9);
    assert!((found.spread.measurement - number(&case["measurement"])).abs() < 1e-9);
    assert_eq!((found.animals, found.degrees_of_freedom), (6, [4, 7]));
    for seed in 0..5 {
        let all = values.len();
        Chance::new(seed).choose(&mut values, all);
        for value in &mut values {
            value.animal = 11 - value.animal;
        }
        assert_eq!(spread_of_pilot(&values), Some(found));
    }
}

/// One night of each animal: what nights add is part of `animal`, and more nights bring nothing.
#[test]
fn without_a_second_night_the_nights_are_not_known() {
    let values: Vec<PilotValue> = [3.0, 5.0, 8.0, 12.0]
        .into_iter()
        .enumerate()
        .map(|(animal, value)| PilotValue { group: 0, animal, night: 0, value, se: Some(1.0) })
        .collect();
    let found = spread_of_pilot(&values).unwrap();
    assert_eq!(found.spread.night, None);
    assert!((found.spread.of_animal(1).unwrap() - (46.0_f64 / 3.0).sqrt()).abs() < 1e-12);
    assert!(found.spread.of_animal(9).unwrap() >= found.spread.animal);
    let factor = found.upper(1).unwrap().of_animal(1).unwrap() / found.spread.of_animal(1).unwrap();
    assert!((factor - upper_factor(3).unwrap().sqrt()).abs() < 1e-9, "the limit by χ²");
    assert_eq!(found.upper_of_nights(), None);
    // the same night twice is one night
    let twice: Vec<PilotValue> = values.iter().chain(&values).copied().collect();
    assert_eq!(spread_of_pilot(&twice).unwrap().spread.night, None);
    assert_eq!(spread_of_pilot(&values[..1]), None);
    assert_eq!(spread_of_pilot(&[]), None);
    assert_eq!(spread_of_pilot(&[values[0], PilotValue { animal: 7, ..values[0] }]), None);
}

#[test]
fn upper_limits_are_those_of_the_mean_squares() {
    let reference = reference();
    for case in reference["upper"].as_array().unwrap() {
        let found = spread_of_pilot(&pilot_of(&case["values"])).unwrap();
        let nights = count(&case["nights"]);
        let sd = found.upper(nights).unwrap().of_animal(nights).unwrap();
        assert!((sd / number(&case["sd"]) - 1.0).abs() < 1e-9, "{case}: {sd}");
    }
    for case in reference["factors"].as_array().unwrap() {
        let found = upper_factor(count(&case["degrees_of_freedom"])).unwrap();
        assert!((found / number(&case["factor"]) - 1.0).abs() < 1e-9, "{case}: {found}");
    }
    assert_eq!(upper_factor(0), None);
}
