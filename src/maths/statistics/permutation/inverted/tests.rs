use super::{interval_of_difference, interval_of_pairs, interval_of_slope, interval_within_strata};
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::permutation::{Stratum, products, signs, studentised, within_strata};

const LEVEL: f64 = 0.05;

/// Exponential values, moved by `shift`.
fn value(chance: &mut Chance, shift: f64) -> f64 {
    shift - ((chance.below(1 << 20) as f64 + 0.5) / f64::from(1 << 20)).ln()
}

fn less(values: &[f64], by: f64) -> Vec<f64> {
    values.iter().map(|x| x - by).collect()
}

/// Both ends are where the test changes its mind.
fn changes_at_the_ends([low, high]: [f64; 2], refuses: impl Fn(f64) -> bool) {
    let step = 1e-5 * (high - low);
    for (end, out) in [(low, -1.0), (high, 1.0)] {
        assert!(!refuses(end - out * step), "{low} {high}");
        assert!(refuses(end + out * step), "{low} {high}");
    }
}

#[test]
fn ends_of_two_groups_are_those_of_the_test() {
    let (first, second) = ([3.1, 4.4, 5.0, 7.9], [1.0, 2.2, 2.9, 3.3, 4.1, 4.8]);
    let [low, high] = interval_of_difference(&first, &second, 1).unwrap();
    changes_at_the_ends([low, high], |by| {
        studentised(&less(&first, by), &second, 1).unwrap().p() <= LEVEL
    });
    let difference = 5.1 - 18.3 / 6.0;
    assert!(low < difference && difference < high);
    // turned about
    let [from, to] = interval_of_difference(&second, &first, 1).unwrap();
    assert!((from + high).abs() < 1e-9 && (to + low).abs() < 1e-9);
}

/// Of six differences, no more than 3 of 64 arrangements may be as far out where one is refused: all signs
/// alike and all turned are, and the next are those that turn the outermost difference alone.
#[test]
fn ends_of_pairs_are_means_of_subsets() {
    let pairs = [0.3, -1.1, 2.2, 1.9, 4.0, 0.8];
    let [low, high] = interval_of_pairs(&pairs, 1).unwrap();
    changes_at_the_ends([low, high], |by| signs(&less(&pairs, by), 1).unwrap().p() <= LEVEL);
    assert!((low + 1.1).abs() < 1e-6, "{low}");
    assert!((high - 4.0).abs() < 1e-6, "{high}");
}

#[test]
fn ends_within_strata_are_those_of_the_test() {
    let wet = [vec![4.0, 6.5, 5.1], vec![3.0, 2.2, 3.9, 4.4]];
    let dry = [vec![9.0, 7.5], vec![6.0, 8.1, 5.5]];
    let at = |by: f64| {
        let [a, b] = [&wet, &dry].map(|[first, _]| less(first, by));
        let strata =
            [Stratum { first: &a, second: &wet[1] }, Stratum { first: &b, second: &dry[1] }];
        (within_strata(&strata, 1).unwrap().p(), interval_within_strata(&strata, 1).unwrap())
    };
    changes_at_the_ends(at(0.0).1, |by| at(by).0 <= LEVEL);
}

#[test]
fn ends_of_a_slope_are_those_of_the_test() {
    let x = [1.0, 2.0, 3.5, 4.0, 6.0, 7.5, 9.0];
    let y = [2.0, 1.5, 4.0, 6.5, 5.0, 9.0, 8.5];
    let interval = interval_of_slope(&x, &y, 1).unwrap();
    let left = |by: f64| -> Vec<f64> { x.iter().zip(&y).map(|(x, y)| y - by * x).collect() };
    changes_at_the_ends(interval, |by| products(&x, &left(by), 1).unwrap().p() <= LEVEL);
    let many: Vec<f64> = (0..14).map(|at: i32| f64::from((at * at).rem_euclid(13))).collect();
    let other: Vec<f64> = (0..14)
        .map(|at: i32| f64::from((at * at).rem_euclid(13)) + f64::from(at.rem_euclid(5)))
        .collect();
    let interval = interval_of_slope(&many, &other, 2).unwrap();
    changes_at_the_ends(interval, |by| {
        let left: Vec<f64> = many.iter().zip(&other).map(|(x, y)| y - by * x).collect();
        products(&many, &left, 2).unwrap().p() <= LEVEL
    });
}

/// More arrangements than are gone through: twelve and fourteen, and thirty pairs.
#[test]
fn ends_of_draws_are_those_of_the_same_draws() {
    let mut chance = Chance::new(2);
    let first: Vec<f64> = (0..12).map(|_| value(&mut chance, 0.5)).collect();
    let second: Vec<f64> = (0..14).map(|_| value(&mut chance, 0.0)).collect();
    let interval = interval_of_difference(&first, &second, 3).unwrap();
    changes_at_the_ends(interval, |by| {
        studentised(&less(&first, by), &second, 3).unwrap().p() <= LEVEL
    });
    let strata = [Stratum { first: &first, second: &second }];
    changes_at_the_ends(interval_within_strata(&strata, 3).unwrap(), |by| {
        let first = less(&first, by);
        let strata = [Stratum { first: &first, second: &second }];
        within_strata(&strata, 3).unwrap().p() <= LEVEL
    });
    let pairs: Vec<f64> = (0..30).map(|_| value(&mut chance, -0.5)).collect();
    changes_at_the_ends(interval_of_pairs(&pairs, 3).unwrap(), |by| {
        signs(&less(&pairs, by), 3).unwrap().p() <= LEVEL
    });
}

/// Three and three have 20 arrangements: the least p is 0.1, and every difference stands.
#[test]
fn too_few_arrangements_refuse_nothing() {
    assert_eq!(interval_of_difference(&[1.0, 2.0, 3.0], &[7.0, 8.0, 9.5], 1), None);
    assert_eq!(interval_of_difference(&[1.0], &[7.0, 8.0, 9.5], 1), None);
    assert_eq!(interval_of_pairs(&[1.0, 2.0, 3.0, 2.5, 1.0], 1), None, "2 of 32 is 0.06");
    let strata = [Stratum { first: &[1.0, 2.0], second: &[3.0, 4.0, 5.0] }];
    assert_eq!(interval_within_strata(&strata, 1), None, "1 of 10");
}

/// p below 0.05 where, and only where, the interval leaves out no difference: 3 and 8 animals, 7 pairs, and
/// two strata, over 300 samples each of which some are far apart; every other one of whole numbers, which
/// tie.
#[test]
fn p_and_interval_agree() {
    let mut chance = Chance::new(5);
    let mut refused = [0; 3];
    for at in 0..300 {
        let shift = f64::from(at) / 100.0;
        let mut sample = |n: usize, shift: f64| -> Vec<f64> {
            let values = (0..n).map(|_| value(&mut chance, shift));
            values.map(|x| if at % 2 == 0 { x } else { (2.0 * x).round() }).collect()
        };
        let (first, second, pairs) = (sample(3, shift), sample(8, 0.0), sample(7, shift - 1.0));
        let (wet, dry) = (sample(2, shift), sample(4, 0.0));
        let strata =
            [Stratum { first: &first, second: &second }, Stratum { first: &wet, second: &dry }];
        let found = [
            studentised(&first, &second, 1).zip(interval_of_difference(&first, &second, 1)),
            signs(&pairs, 1).zip(interval_of_pairs(&pairs, 1)),
            within_strata(&strata, 1).zip(interval_within_strata(&strata, 1)),
        ];
        for (found, refused) in found.into_iter().zip(&mut refused) {
            let Some((test, [low, high])) = found else { continue };
            assert_eq!(test.p() > LEVEL, low <= 0.0 && 0.0 <= high, "{}: {low} {high}", test.p());
            *refused += usize::from(test.p() <= LEVEL);
        }
    }
    assert!(refused.iter().all(|count| (30..280).contains(count)), "{refused:?}");
}
