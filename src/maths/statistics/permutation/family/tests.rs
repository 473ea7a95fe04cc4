use super::super::{signs, studentised};
use super::{several_groups, sign_flips, step_down, two_groups};
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::rank::kruskal_wallis;
use serde_json::Value;

fn unit(chance: &mut Chance) -> f64 {
    (chance.below(1 << 30) as f64 + 0.5) / f64::from(1 << 30)
}

fn table(metrics: usize, animals: usize, chance: &mut Chance) -> Vec<Vec<Option<f64>>> {
    let mut one = || Some((20.0 * unit(chance)).round() - 3.0);
    (0..metrics).map(|_| (0..animals).map(|_| one()).collect()).collect()
}

/// By hand: four arrangements of two tests, the first of them observed. The second test has the larger
/// statistic: M = 3, 2, 1, 3 reach 3 twice; the first by itself: 2, 2, 1, 0 reach 2 twice.
#[test]
fn step_down_by_hand() {
    let all = [[2.0, 3.0], [-2.0, 0.0], [1.0, -1.0], [0.0, 3.0]];
    assert_eq!(step_down(&[2.0, 3.0], all, true), vec![0.5, 0.5]);
    let some = [[2.0, 2.9], [0.0, 0.0], [f64::NAN, 1.0]];
    // drawn: (0 + 1) / 4; (1 + 1) / (2 + 1) of those in which it is tested
    assert_eq!(step_down(&[2.0, 3.0], some, false), vec![2.0 / 3.0, 0.25]);
    assert!(step_down(&[], [[0.0; 0]], true).is_empty());
}

/// Without missing values each p is, to the bit, that of the test alone.
#[test]
fn p_alone_is_that_of_the_test_alone() {
    let mut chance = Chance::new(3);
    for (animals, of_first) in [(7, 3), (10, 5), (13, 3), (12, 8)] {
        let values = table(5, animals, &mut chance);
        let first: Vec<bool> = (0..animals).map(|at| at < of_first).collect();
        let tests = two_groups(&values, &first, 1);
        for (list, test) in values.iter().zip(tests) {
            let list: Vec<f64> = list.iter().copied().flatten().collect();
            let alone = studentised(&list[..of_first], &list[of_first..], 1).unwrap();
            let test = test.unwrap();
            assert_eq!(test.p.to_bits(), alone.p().to_bits());
            assert!((test.statistic - alone.statistic).abs() < 1e-12);
            assert!(test.p_adjusted >= test.p && test.exact);
        }
    }
}

/// The same of several groups, and of signs.
#[test]
fn p_alone_of_ranks_and_signs_is_that_of_the_test_alone() {
    let mut chance = Chance::new(4);
    let values = table(4, 9, &mut chance);
    let groups = [7, 7, 2, 2, 2, 5, 5, 5, 5];
    for (list, test) in values.iter().zip(several_groups(&values, &groups, 1)) {
        let of = |name| {
            let own = list.iter().zip(groups).filter(|(_, group)| *group == name);
            own.filter_map(|(x, _)| *x).collect::<Vec<f64>>()
        };
        let alone = kruskal_wallis(&[of(2), of(5), of(7)], 1).unwrap();
        let test = test.unwrap();
        assert_eq!(test.p.to_bits(), alone.test.p().to_bits());
        assert!((test.statistic - alone.h).abs() < 1e-9);
        assert!(test.p_adjusted >= test.p);
    }
    for (animals, metrics) in [(6, 3), (9, 4)] {
        let rows = table(animals, metrics, &mut chance); // animals × hypotheses here
        for (at, test) in sign_flips(&rows, 1).into_iter().enumerate() {
            let list: Vec<f64> = rows.iter().filter_map(|row| row[at]).collect();
            assert_eq!(test.unwrap().p.to_bits(), signs(&list, 1).unwrap().p().to_bits());
        }
    }
}

/// A metric told twice costs nothing; five unrelated ones cost no more than five times.
#[test]
fn metrics_that_tell_the_same_are_paid_for_once() {
    let mut chance = Chance::new(8);
    let one = table(1, 12, &mut chance).remove(0);
    let first: Vec<bool> = (0..12).map(|at| at % 3 == 0).collect();
    let twice = two_groups(
        &[one.clone(), one.iter().map(|x| x.map(|x| 9.0 - 2.0 * x)).collect()],
        &first,
        1,
    );
    for test in twice.into_iter().flatten() {
        assert_eq!(test.p.to_bits(), test.p_adjusted.to_bits());
    }
    let many = two_groups(&table(5, 12, &mut chance), &first, 1);
    let least = many.iter().flatten().min_by(|a, b| a.p.total_cmp(&b.p)).unwrap();
    assert!(least.p_adjusted > least.p && least.p_adjusted < 5.0 * least.p + 0.02);
}

/// Order of the animals changes nothing, drawn arrangements neither; nor do missing values upset it.
#[test]
fn the_order_of_animals_does_not_matter() {
    let mut chance = Chance::new(21);
    for animals in [11, 40] {
        let mut values = table(4, animals, &mut chance);
        values[1][3] = None;
        values[1][7] = None;
        values[2][0] = None;
        let first: Vec<bool> = (0..animals).map(|at| at % 3 == 1).collect();
        let groups: Vec<usize> = (0..animals).map(|at| at % 3).collect();
        let turned: Vec<Vec<_>> =
            values.iter().map(|list| list.iter().rev().copied().collect()).collect();
        let label = |at: usize| (animals - 1 - at) % 3;
        let other: Vec<bool> = (0..animals).map(|at| label(at) == 1).collect();
        let others: Vec<usize> = (0..animals).map(label).collect();
        let found = two_groups(&values, &first, 5);
        for (a, b) in found.iter().zip(two_groups(&turned, &other, 5)) {
            let (a, b) = (a.unwrap(), b.unwrap());
            assert_eq!((a.p, a.p_adjusted), (b.p, b.p_adjusted));
            assert!(a.p_adjusted >= a.p);
        }
        let found = several_groups(&values, &groups, 5);
        for (a, b) in found.iter().zip(several_groups(&turned, &others, 5)) {
            assert_eq!(a.unwrap().p_adjusted.to_bits(), b.unwrap().p_adjusted.to_bits());
        }
    }
}

#[test]
fn what_cannot_be_tested_is_none_and_costs_nothing() {
    let mut values = table(2, 9, &mut Chance::new(4));
    let first: Vec<bool> = (0..9).map(|at| at < 3).collect();
    let alone = two_groups(&values[..1], &first, 1);
    values[1][0] = None;
    values[1][1] = None;
    values.push(vec![Some(2.0); 9]);
    values.push(vec![None; 9]);
    let found = two_groups(&values, &first, 1);
    assert_eq!(found[0], alone[0]);
    assert_eq!(found[1..], [None, None, None]);
    assert!(two_groups(&[], &[], 1).is_empty());
    assert_eq!(two_groups(&[vec![Some(1.0)]], &[true], 1), vec![None]);
    let groups = [0, 0, 0, 1, 1, 1, 1, 1, 1];
    assert!(several_groups(&values, &groups, 1)[1].is_some(), "one value in a group will do");
    assert_eq!(several_groups(&values, &[4; 9], 1), vec![None; 4]);
    assert_eq!(sign_flips(&[vec![Some(0.0), Some(1.0)], vec![Some(0.0), None]], 1), vec![None; 2]);
}

/// All arrangements with missing values, as a script of its own counts them.
#[test]
fn missing_values_agree_with_the_reference() {
    let text = include_str!("../../../../../tests/reference/step_down.json");
    let file: Value = serde_json::from_str(text).unwrap();
    let list = |value: &Value| -> Vec<Option<f64>> {
        value.as_array().unwrap().iter().map(Value::as_f64).collect()
    };
    let table = |value: &Value| -> Vec<Vec<Option<f64>>> {
        value.as_array().unwrap().iter().map(list).collect()
    };
    let (two, signs) = (&file["cases"][0]["two"], &file["cases"][0]["signs"]);
    let first: Vec<bool> = list(&two["first"]).iter().map(|x| *x == Some(1.0)).collect();
    let labels = two_groups(&table(&two["values"]), &first, 1);
    let flips = sign_flips(&table(&signs["rows"]), 1);
    for (tests, case) in [(&labels, two), (&flips, signs)] {
        assert_eq!(tests.len(), 3);
        for (at, test) in tests.iter().enumerate() {
            let (test, of) = (test.unwrap(), |key: &str| case[key][at].as_f64().unwrap());
            assert!((test.p - of("p")).abs() < 1e-12, "{} {}", test.p, of("p"));
            assert!((test.p_adjusted - of("p_adjusted")).abs() < 1e-12, "{test:?}");
        }
    }
    assert!((labels[0].unwrap().statistic - list(&two["t"])[0].unwrap()).abs() < 1e-12);
}
