use super::{Night, Repeated, Spread, between_animals, fit, within_and_between, within_animals};
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::means::interval_of_mean;
use approx::assert_relative_eq;
use serde_json::Value;

/// Animal, value, standard error, predictors.
type Row = (usize, f64, f64, Vec<f64>);

fn fitted(rows: &[Row]) -> Option<Repeated> {
    let nights: Vec<Night<'_>> = rows
        .iter()
        .map(|(animal, value, error, predictors)| Night {
            animal: *animal,
            value: *value,
            standard_error: (*error > 0.0).then_some(*error),
            predictors,
        })
        .collect();
    fit(&nights)
}

fn list(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

fn cases() -> Vec<(Value, Vec<Row>)> {
    let text = include_str!("../../../../tests/reference/mixed_models.json");
    let file: Value = serde_json::from_str(text).unwrap();
    let cases = file["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 4);
    let row = |night: &Value| {
        let animal = usize::try_from(night["animal"].as_u64().unwrap()).unwrap();
        let [value, error] = ["value", "standard_error"].map(|key| night[key].as_f64().unwrap());
        (animal, value, error, list(&night["predictors"]))
    };
    let rows = |case: &Value| case["nights"].as_array().unwrap().iter().map(row).collect();
    cases.iter().map(|case| (case.clone(), rows(case))).collect()
}

/// The dense likelihood of the script, to seven digits.
#[test]
fn fits_agree_with_the_reference() {
    for (case, rows) in cases() {
        let (found, computed) = (fitted(&rows).unwrap(), &case["computed"]);
        let number = |key: &str| computed[key].as_f64().unwrap();
        assert_relative_eq!(found.log_likelihood, number("log_likelihood"), max_relative = 1e-9);
        for (own, other) in found.coefficients.iter().zip(list(&computed["coefficients"])) {
            assert_relative_eq!(own.value, other, max_relative = 1e-6);
        }
        let [animals, nights] = match found.spread {
            Spread::Separate { animals, nights } => [animals, nights],
            Spread::Together(all) => [0.0, all],
        };
        assert_relative_eq!(animals, number("sd_animals"), max_relative = 1e-5);
        assert_relative_eq!(nights, number("sd_nights"), max_relative = 1e-5);
    }
}

/// As printed; in these layouts, as many nights each, nothing is added to the printed standard errors.
#[test]
fn printed_standard_errors() {
    for (case, rows) in &cases()[..2] {
        let (found, printed) = (fitted(rows).unwrap(), &case["printed"]);
        let criterion = printed["criterion"].as_f64().unwrap();
        assert!((-2.0 * found.log_likelihood - criterion).abs() < 6e-4);
        for (own, other) in found.coefficients.iter().zip(list(&printed["standard_errors"])) {
            assert!((own.standard_error - other).abs() < 6e-5, "{own:?} {other}");
        }
    }
}

/// 13 trials, one "night" each: τ² and the estimate as printed, the standard error by Knapp and Hartung.
#[test]
fn trials_with_known_errors() {
    let (case, rows) = &cases()[2];
    let found = fitted(rows).unwrap();
    let Spread::Together(all) = found.spread else { panic!("{found:?}") };
    assert!((all * all - 0.3132).abs() < 5e-5, "{all}");
    assert_eq!(found.spread.repeatability(), None);
    let mean = found.coefficients[0];
    let scaled = case["computed"]["standard_error_scaled"].as_f64().unwrap();
    assert_relative_eq!(mean.standard_error, scaled, max_relative = 1e-6);
    assert_relative_eq!(mean.degrees_of_freedom, 12.0, max_relative = 1e-9);
}

/// One night each, without error: the interval of a plain mean.
#[test]
fn one_night_an_animal_is_a_plain_sample() {
    let sample = [1.0, 1.2, 1.3, 1.9, 2.0, 6.5];
    let rows: Vec<Row> = sample.iter().enumerate().map(|(at, x)| (at, *x, 0.0, vec![])).collect();
    let found = fitted(&rows).unwrap().coefficients[0];
    let expected = interval_of_mean(&sample).unwrap();
    for (own, other) in found.interval.iter().zip(expected) {
        assert_relative_eq!(*own, other, max_relative = 1e-9);
    }
}

/// Rows in another order and animals under other names: the same bits.
#[test]
fn order_and_names_change_nothing() {
    let mut chance = Chance::new(4);
    for (_, mut rows) in cases() {
        let before = fitted(&rows).unwrap();
        let count = rows.len();
        chance.choose(&mut rows, count);
        for row in &mut rows {
            row.0 = 1000 - 3 * row.0;
        }
        assert_eq!(fitted(&rows).unwrap(), before);
        let slopes = |rows: &[Row]| {
            let nights: Vec<_> = rows.iter().map(|row| (row.0, row.1.floor(), row.1)).collect();
            [within_animals(&nights, 7), between_animals(&nights, 7)]
        };
        let after = slopes(&rows);
        rows.reverse();
        assert_eq!(slopes(&rows), after);
    }
}

/// Another unit and another zero only rescale.
#[test]
fn units_rescale() {
    let (_, rows) = &cases()[3];
    let other: Vec<Row> = rows
        .iter()
        .map(|(a, y, e, x)| (*a, 100.0 * y + 7.0, 100.0 * e, vec![x[0], 1000.0 + 10.0 * x[1]]))
        .collect();
    let (one, two) = (fitted(rows).unwrap(), fitted(&other).unwrap());
    for (at, by) in [(1, 100.0), (2, 10.0)] {
        for side in 0..2 {
            let [a, b] = [&one, &two].map(|found| found.coefficients[at].interval[side]);
            assert_relative_eq!(by * a, b, max_relative = 1e-6);
        }
    }
    assert_relative_eq!(100.0 * one.measurement_sd, two.measurement_sd, max_relative = 1e-12);
}

#[test]
fn undetermined_is_none() {
    let row = |a: usize, y: f64, x: Vec<f64>| (a, y, 0.0, x);
    let plain = |list: &[(usize, f64)]| {
        fitted(&list.iter().map(|&(a, y)| row(a, y, vec![])).collect::<Vec<_>>())
    };
    assert_eq!(plain(&[(0, 1.0), (0, 2.0), (1, 2.5), (1, 4.0)]), None, "two animals");
    assert_eq!(plain(&[(0, 2.0), (1, 2.0), (2, 2.0)]), None, "no spread");
    assert_eq!(plain(&[(0, 1.0), (1, f64::NAN), (2, 2.0)]), None);
    assert_eq!(
        plain(&[(0, 1.0), (0, 1.0), (1, 3.0), (1, 3.0), (2, 5.0)]),
        None,
        "no night differs"
    );
    assert!(plain(&[(0, 1.0), (1, 3.0), (2, 5.5)]).is_some());
    let same = (0..6).map(|at| row(at, (at * at) as f64, vec![1.0]));
    assert_eq!(fitted(&same.collect::<Vec<_>>()), None, "a predictor that does not vary");
    let twice = (0..6).map(|at| row(at, (at * at) as f64, vec![at as f64, 2.0 * at as f64]));
    assert_eq!(fitted(&twice.collect::<Vec<_>>()), None, "one predictor twice");
    assert_eq!(fit(&[]), None);
}

/// Nights that lie no farther apart than they were measured leave no spread of their own.
#[test]
fn variances_stop_at_zero() {
    let value = |a: usize, n: usize| 10.0 * a as f64 + 0.01 * n as f64;
    let rows: Vec<Row> = (0..12).map(|at| (at / 3, value(at / 3, at % 3), 1.0, vec![])).collect();
    let found = fitted(&rows).unwrap();
    let Spread::Separate { animals, nights } = found.spread else { panic!("{found:?}") };
    assert_eq!(nights.to_bits(), 0.0_f64.to_bits());
    assert!(animals > 10.0);
    assert_relative_eq!(found.spread.repeatability().unwrap(), 1.0);
}

/// 200 animals of 20 nights each with errors: within the time of a test, and the truth found again.
#[test]
fn large_sizes_are_quick() {
    let mut chance = Chance::new(2);
    let mut even = || (chance.below(1 << 30) as f64 / f64::from(1 << 30) - 0.5) * 12_f64.sqrt();
    let mut rows: Vec<Row> = Vec::new();
    for animal in 0..200 {
        let level = 2.0 * even();
        for _ in 0..20 {
            let (x, error) = (even(), 0.5 + 0.2 * even());
            rows.push((animal, level + 3.0 * x + even() + error * even(), error, vec![x]));
        }
    }
    let found = fitted(&rows).unwrap();
    let Spread::Separate { animals, nights } = found.spread else { panic!("{found:?}") };
    assert!((animals - 2.0).abs() < 0.3 && (nights - 1.0).abs() < 0.05, "{:?}", found.spread);
    assert!((found.coefficients[1].value - 3.0).abs() < 0.08);
}

#[test]
fn a_covariate_in_two() {
    let parted = within_and_between(&[1.0, 4.0, 3.0, 8.0], &[7, 2, 7, 2]).unwrap();
    assert_eq!(parted.between, [2.0, 6.0, 2.0, 6.0]);
    assert_eq!(parted.within, [-1.0, -2.0, 1.0, 2.0]);
    assert_eq!(within_and_between(&[1.0], &[]), None);
}

mod slopes {
    use super::super::{between_animals, within_animals};
    use crate::maths::statistics::chance::Chance;
    use crate::maths::statistics::permutation::products;
    use crate::maths::statistics::rank::slope;

    const NIGHTS: [(usize, f64, f64); 11] = [
        (4, 1.0, 2.0),
        (4, 2.0, 2.9),
        (4, 5.0, 6.1),
        (9, 3.0, 9.0),
        (9, 4.0, 10.4),
        (9, 4.0, 9.1),
        (9, 7.0, 12.0),
        (1, 2.0, 5.0),
        (5, 0.0, 1.0),
        (5, 3.0, 2.0),
        (5, 3.5, 6.0),
    ];

    /// 3! · 4!/2! · 3! distinct arrangements; the animal with one night tells nothing.
    #[test]
    fn arrangements_within_are_counted() {
        let found = within_animals(&NIGHTS, 1).unwrap();
        assert!(found.test.exact);
        assert_eq!((found.test.arrangements, found.animals, found.nights), (432, 3, 10));
        let [low, high] = found.interval.unwrap();
        assert!(low < found.test.statistic && found.test.statistic < high);
    }

    /// At either end the test of what is left changes its mind.
    #[test]
    fn ends_are_those_of_the_test() {
        let [low, high] = within_animals(&NIGHTS, 1).unwrap().interval.unwrap();
        let p = |by: f64| {
            let less: Vec<_> = NIGHTS.iter().map(|&(a, x, y)| (a, x, y - by * x)).collect();
            within_animals(&less, 1).unwrap().test.p()
        };
        let step = 1e-4 * (high - low);
        assert!(p(low + step) > 0.05 && p(high - step) > 0.05);
        assert!(p(low - step) <= 0.05 && p(high + step) <= 0.05);
    }

    /// The test of products over the means of animals.
    #[test]
    fn between_is_the_test_of_products() {
        let mut chance = Chance::new(8);
        let mut value = || chance.below(1000) as f64 / 100.0;
        let rows: Vec<_> = (0..7).map(|animal| (animal, value(), value())).collect();
        let (x, y): (Vec<f64>, Vec<f64>) = rows.iter().map(|row| (row.1, row.2)).unzip();
        let (found, other) = (between_animals(&rows, 1).unwrap(), products(&x, &y, 1).unwrap());
        assert_eq!(found.test.arrangements, 5040);
        assert_eq!(found.test.as_large, other.as_large);
        assert!((found.test.statistic - slope(&x, &y).unwrap()).abs() < 1e-12);
    }

    /// p below 0.05 where, and only where, the interval leaves out no slope; all arrangements and draws.
    #[test]
    fn p_and_interval_agree() {
        let mut chance = Chance::new(5);
        let mut refused = [0, 0];
        for sample in 0..120 {
            let animals = if sample % 40 == 0 { 9 } else { 3 };
            let by = f64::from(sample) / 60.0;
            let mut rows = Vec::new();
            for at in 0..4 * animals {
                let [x, y] = [0, 1].map(|_| chance.below(1000) as f64 / 300.0);
                rows.push((at % animals, x, y + by * x));
            }
            for (found, refused) in
                [within_animals(&rows, 1), between_animals(&rows, 1)].iter().zip(&mut refused)
            {
                let Some([low, high]) = found.unwrap().interval else { continue };
                let p = found.unwrap().test.p();
                assert_eq!(p > 0.05, low <= 0.0 && 0.0 <= high, "{p}: {low} {high}");
                *refused += u32::from(p <= 0.05);
            }
        }
        assert!((20..115).contains(&refused[0]), "{refused:?}");
    }

    #[test]
    fn nothing_to_tell() {
        assert_eq!(within_animals(&[(0, 1.0, 2.0), (1, 2.0, 3.0)], 1), None);
        assert_eq!(within_animals(&[(0, 1.0, 2.0), (0, 1.0, 3.0)], 1), None);
        assert_eq!(between_animals(&[(0, 1.0, 2.0), (1, 2.0, 3.0)], 1), None);
        let line: Vec<_> = (0..5).map(|at| (0, f64::from(at), 2.0 * f64::from(at))).collect();
        let found = within_animals(&line, 1).unwrap();
        assert_eq!((found.interval, found.test.as_large), (None, 2));
        assert_eq!(within_animals(&[(0, f64::NAN, 2.0), (0, 1.0, 3.0)], 1), None);
    }
}
