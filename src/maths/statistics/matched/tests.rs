use super::likelihood::{Differences, Likelihood};
use super::{MatchedSet, Unfitted, conditional, paired};
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::permutation::signs;
use approx::assert_relative_eq;
use serde_json::Value;

fn list(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

fn sets(case: &Value) -> Vec<MatchedSet> {
    let set = |set: &Value| MatchedSet {
        animal: usize::try_from(set["animal"].as_u64().unwrap()).unwrap(),
        used: list(&set["used"]),
        available: set["available"].as_array().unwrap().iter().map(list).collect(),
    };
    case["sets"].as_array().unwrap().iter().map(set).collect()
}

/// Coefficients and plain errors as printed, robust ones as a script of its own computes them.
#[test]
fn published_studies_come_back() {
    let text = include_str!("../../../../tests/reference/matched_sets.json");
    let file: Value = serde_json::from_str(text).unwrap();
    let cases = file["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 2);
    for case in cases {
        let fit = conditional(&sets(case)).unwrap();
        let of = |kind: &str, key: &str| list(&case[kind][key]);
        for (at, term) in fit.terms.iter().enumerate() {
            let printed = |key: &str| of("published", key)[at];
            assert_relative_eq!(term.coefficient, printed("coefficients"), epsilon = 5.001e-5);
            assert_relative_eq!(term.plain_error, printed("plain_errors"), epsilon = 5.001e-5);
            let computed = |key: &str| of("recomputed", key)[at];
            assert_relative_eq!(term.coefficient, computed("coefficients"), max_relative = 1e-9);
            assert_relative_eq!(term.plain_error, computed("plain_errors"), max_relative = 1e-9);
            let robust = term.robust_error.unwrap();
            assert_relative_eq!(robust, computed("robust_errors"), max_relative = 1e-8);
            // one step stands for a fit without the animal
            let anew = computed("robust_errors_fitted_anew");
            assert!(robust < anew && anew < 1.08 * robust, "{robust} {anew}");
            let checked = of("cross_check", "coefficients")[at];
            assert_relative_eq!(term.coefficient, checked, epsilon = 5e-5);
        }
        let log = case["recomputed"]["log_likelihood"].as_f64().unwrap();
        assert_relative_eq!(fit.log_likelihood[0], log, max_relative = 1e-12);
    }
}

fn unit(chance: &mut Chance) -> f64 {
    (chance.below(1 << 30) as f64 + 0.5) / f64::from(1 << 30)
}

/// Sets whose used point tends to have more of the first variable.
fn made_up(animals: usize, each: usize, chance: &mut Chance) -> Vec<MatchedSet> {
    let mut sets = Vec::new();
    for animal in 0..animals {
        for _ in 0..each {
            let mut points: Vec<Vec<f64>> =
                (0..3).map(|_| vec![4.0 * unit(chance), unit(chance)]).collect();
            points.sort_by(|a, b| b[0].total_cmp(&a[0]));
            let used = points.remove(usize::from(unit(chance) < 0.5));
            sets.push(MatchedSet { animal: 10 * animal, used, available: points });
        }
    }
    sets
}

#[test]
fn derivatives_agree_with_differences() {
    let set: Differences = vec![vec![0.4, -1.0], vec![1.1, 0.3], vec![-0.6, 2.0]];
    let beta = [0.7, -0.2];
    let at = |by: [f64; 2]| Likelihood::of([&set], &[beta[0] + by[0], beta[1] + by[1]]);
    let here = at([0.0, 0.0]);
    let h = 1e-6;
    for k in 0..2 {
        let by = |h: f64| if k == 0 { [h, 0.0] } else { [0.0, h] };
        let (up, down) = (at(by(h)), at(by(-h)));
        assert_relative_eq!(here.score[k], (up.log - down.log) / (2.0 * h), epsilon = 1e-8);
        for j in 0..2 {
            let slope = -(up.score[j] - down.score[j]) / (2.0 * h);
            assert_relative_eq!(here.information[k][j], slope, epsilon = 1e-8);
        }
    }
}

/// A variable in other units or from another zero, sets in another order: the same model.
#[test]
fn units_and_order_do_not_matter() {
    let sets = made_up(6, 8, &mut Chance::new(2));
    let fit = conditional(&sets).unwrap();
    let mut other: Vec<MatchedSet> = sets.iter().rev().cloned().collect();
    for set in &mut other {
        for point in set.available.iter_mut().chain([&mut set.used]) {
            point[0] = 1000.0 * point[0] + 77.0;
        }
        set.available.reverse();
    }
    let again = conditional(&other).unwrap();
    let (a, b) = (fit.terms[0], again.terms[0]);
    assert_relative_eq!(a.coefficient, 1000.0 * b.coefficient, max_relative = 1e-6);
    assert_relative_eq!(
        a.robust_error.unwrap(),
        1000.0 * b.robust_error.unwrap(),
        max_relative = 1e-6
    );
    assert_relative_eq!(a.p.unwrap(), b.p.unwrap(), max_relative = 1e-5);
    assert_relative_eq!(a.odds_ratio(), a.coefficient.exp());
    let [low, high] = a.odds_ratio_interval().unwrap();
    assert!(low < a.odds_ratio() && a.odds_ratio() < high);
    let reversed: Vec<MatchedSet> = sets.iter().rev().cloned().collect();
    assert_eq!(conditional(&reversed).unwrap(), fit, "to the last bit");
    assert_eq!((fit.sets, fit.animals), (48, 6));
}

#[test]
fn what_cannot_be_fitted_says_why() {
    let set = |animal, used: f64, other: f64| MatchedSet {
        animal,
        used: vec![used],
        available: vec![vec![other]],
    };
    assert_eq!(conditional(&[]), Err(Unfitted::NoSets));
    assert_eq!(conditional(&[set(1, f64::NAN, 2.0)]), Err(Unfitted::NoSets));
    assert_eq!(conditional(&[set(1, 2.0, 2.0), set(2, 3.0, 3.0)]), Err(Unfitted::Collinear));
    let parted: Vec<MatchedSet> =
        (0..12_u8).map(|at| set(usize::from(at % 4), 2.0 + f64::from(at), 1.0)).collect();
    assert_eq!(conditional(&parted), Err(Unfitted::Separated));
    // all but ties
    let mut nearly = parted;
    nearly.push(set(1, 1.0, 1.0));
    assert_eq!(conditional(&nearly), Err(Unfitted::Separated));
    // two variables that part the points together, neither by itself
    let mut sets = made_up(4, 6, &mut Chance::new(9));
    assert!(conditional(&sets).is_ok());
    for set in &mut sets {
        for point in &mut set.available {
            point[1] = set.used[1] - 1.0 - (point[0] - set.used[0]);
        }
    }
    assert_eq!(conditional(&sets), Err(Unfitted::Separated));
    for set in &mut sets {
        for point in set.available.iter_mut().chain([&mut set.used]) {
            point[1] = 3.0 - 2.0 * point[0];
        }
    }
    assert_eq!(conditional(&sets), Err(Unfitted::Collinear));
    let two = conditional(&made_up(2, 20, &mut Chance::new(9))).unwrap();
    assert_eq!((two.terms[0].robust_error, two.terms[0].interval), (None, None));
}

/// Each animal counts once, points not measured stay out, and p is that of the signs alone.
#[test]
fn differences_by_animal() {
    let set = |animal, used: [f64; 2], available: &[[f64; 2]]| MatchedSet {
        animal,
        used: used.to_vec(),
        available: available.iter().map(|point| point.to_vec()).collect(),
    };
    let none = f64::NAN;
    let mut sets = vec![
        set(1, [3.0, 1.0], &[[1.0, 5.0], [2.0, none]]), // 1.5, −4
        set(1, [2.0, 1.0], &[[2.0, 1.0]]),              // 0, 0
        set(2, [5.0, none], &[[1.0, 2.0]]),             // 4, none
        set(3, [2.0, 4.0], &[[1.0, 3.0], [2.0, 4.0]]),  // 0.5, 0.5
        set(4, [2.0, 4.0], &[[1.0, none]]),             // 1, none
    ];
    let found = paired(&sets, 1);
    let [first, second] = found[..] else { unreachable!() };
    let first = first.unwrap();
    assert_relative_eq!(first.test.statistic, (0.75 + 4.0 + 0.5 + 1.0) / 4.0);
    assert_eq!((first.animals, first.sets, first.test.as_large), (4, 5, 2));
    assert_eq!(first.interval, None);
    let second = second.unwrap();
    assert_eq!((second.animals, second.sets), (2, 3));
    assert_relative_eq!(second.test.statistic, -0.75);
    assert!(second.p_adjusted >= second.test.p());
    sets.reverse();
    assert_eq!(paired(&sets, 1), found);
    assert!(paired(&[], 1).is_empty());
    assert_eq!(paired(&sets[..1], 1), vec![None, None]);
}

/// p ≤ 0.05 where, and only where, the interval leaves out 0; adjusted p is never below p, of 8 animals and
/// of 21, of whom flips are drawn.
#[test]
fn p_and_interval_never_contradict() {
    let mut chance = Chance::new(12);
    let mut refused = 0;
    for round in 0..60 {
        let animals = if round == 0 { 21 } else { 8 };
        let mut sets = made_up(animals, 2, &mut chance);
        for set in &mut sets {
            set.used[1] += 0.01 * f64::from(round);
            set.used.push(if set.animal > 50 { f64::NAN } else { unit(&mut chance) });
            set.available.iter_mut().for_each(|point| point.push(unit(&mut chance)));
        }
        for test in paired(&sets, 1).into_iter().flatten() {
            assert!(test.p_adjusted >= test.test.p() && test.p_adjusted <= 1.0);
            if let Some([low, high]) = test.interval {
                assert_eq!(test.test.p() > 0.05, low <= 0.0 && 0.0 <= high);
                refused += usize::from(test.test.p() <= 0.05);
            }
        }
    }
    assert!(refused > 20, "{refused}");
    assert!(signs(&[1.0], 1).unwrap().p() > 0.9);
}
