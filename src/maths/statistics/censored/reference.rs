//! Printed survival examples, and numbers computed elsewhere.

use super::tests::mixed;
use super::{Total, common_bound, curve, difference, log_rank, restricted_mean};
use approx::assert_relative_eq;
use serde_json::Value;

fn file() -> Value {
    serde_json::from_str(include_str!("../../../../tests/reference/censored.json")).unwrap()
}

fn list(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|number| number.as_f64().unwrap()).collect()
}

fn group(value: &Value) -> Vec<Total> {
    mixed(&list(&value[0]), &list(&value[1]))
}

#[test]
fn curves_agree_with_statsmodels_and_with_the_printed_ones() {
    let file = file();
    let samples = file["samples"].as_array().unwrap();
    assert_eq!(samples.len(), 4);
    for sample in samples {
        let found = curve(&mixed(&list(&sample["complete"]), &list(&sample["at_least"]))).unwrap();
        let expected = &sample["curve"];
        assert_eq!(found.steps.len(), list(&expected["value"]).len());
        for (at, step) in found.steps.iter().enumerate() {
            let number = |key: &str| expected[key][at].as_f64();
            assert_eq!(Some(step.value), number("value"));
            assert_eq!(Some(step.at_risk as f64), number("at_risk"));
            assert_eq!(Some(step.complete as f64), number("complete"));
            assert_relative_eq!(step.farther, number("farther").unwrap(), epsilon = 1e-12);
            match (step.standard_error, number("standard_error")) {
                (Some(own), Some(other)) => assert_relative_eq!(own, other, epsilon = 1e-12),
                (own, other) => assert_eq!(own, other),
            }
            let printed = &sample["printed"];
            if let Some(farther) = printed["farther"][at].as_f64() {
                assert!((step.farther - farther).abs() <= 0.00051, "{step:?}");
                let error = printed["standard_error"][at].as_f64().unwrap();
                assert!((step.standard_error.unwrap() - error).abs() <= 0.000_051, "{step:?}");
            }
        }
        if let Some(median) = sample["printed"]["median"].as_f64() {
            assert_eq!(found.median(), Some(median));
        }
    }
}

#[test]
fn means_up_to_a_bound_agree_with_scipy() {
    let file = file();
    let mut seen = 0;
    for sample in file["samples"].as_array().unwrap() {
        let lengths = mixed(&list(&sample["complete"]), &list(&sample["at_least"]));
        for expected in sample["restricted"].as_array().unwrap() {
            let number = |key: &str| expected[key].as_f64().unwrap();
            let found = restricted_mean(&lengths, number("bound")).unwrap();
            assert_relative_eq!(found.mean, number("mean"), max_relative = 1e-12);
            let error = found.standard_error.unwrap();
            assert_relative_eq!(error, number("standard_error"), max_relative = 1e-9);
            seen += 1;
        }
    }
    assert_eq!(seen, 9);
}

#[test]
fn two_groups_agree_with_the_printed_log_rank() {
    let file = file();
    let pairs = file["pairs"].as_array().unwrap();
    assert_eq!(pairs.len(), 2);
    for pair in pairs {
        let (first, second) = (group(&pair["first"]), group(&pair["second"]));
        let number = |key: &str| pair[key].as_f64().unwrap();
        let found = log_rank(&first, &second, 1).unwrap();
        assert_relative_eq!(found.chi_square, number("chi_square"), max_relative = 1e-9);
        assert_relative_eq!(found.table_p, number("p"), max_relative = 1e-6);
        let printed = &pair["printed"];
        let off = (found.chi_square - printed["chi_square"].as_f64().unwrap()).abs();
        assert!(off <= printed["half_digit"].as_f64().unwrap(), "{found:?}");
        assert_eq!(common_bound(&[&first, &second]), pair["bound"].as_f64());
        let found = difference(&first, &second, 1).unwrap();
        assert_relative_eq!(found.difference, number("difference"), max_relative = 1e-9);
        let error = found.standard_error.unwrap();
        assert_relative_eq!(error, number("standard_error"), max_relative = 1e-9);
    }
}

/// The labels of 6 and 5 animals, all 462 ways, with log-rank and means by statsmodels and scipy.
#[test]
fn all_arrangements_agree_with_those_gone_through_elsewhere() {
    let file = file();
    let case = &file["arranged"];
    let (first, second) = (group(&case["first"]), group(&case["second"]));
    let ranks = log_rank(&first, &second, 1).unwrap().test;
    assert_eq!(Some(ranks.arrangements), case["arrangements"].as_u64());
    assert_eq!(Some(ranks.as_large), case["log_rank_as_large"].as_u64());
    let found = difference(&first, &second, 1).unwrap();
    assert_eq!(Some(found.bound), case["bound"].as_f64());
    let test = found.test.unwrap();
    assert_eq!(Some(test.arrangements), case["arrangements"].as_u64());
    assert_eq!(Some(test.as_large), case["as_large"].as_u64());
    assert_relative_eq!(test.statistic, case["t"].as_f64().unwrap(), max_relative = 1e-9);
}
