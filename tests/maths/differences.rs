//! Tests of difference and of correlation, against published and independently computed values. The
//! files under `tests/reference` name their sources.

use crate::numbers;
use crate::reference;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use numbers::{list, number};
use perchline::maths::statistics::interval::chi_square_upper;
use perchline::maths::statistics::permutation::{
    DRAWS, Permuted, Stratum, difference_of_means, products, signs, spread_of_groups, studentised,
    within_strata,
};
use perchline::maths::statistics::rank::{
    correlation, holm, kruskal_wallis, mann_whitney, ranks, slope, spearman,
};
use proptest::collection::vec;
use proptest::{prop_assert, prop_assert_eq, proptest};
use reference::cases;
use serde_json::Value;

fn pairs_of(case: &Value) -> (Vec<f64>, Vec<f64>) {
    let names = match case["id"].as_str().unwrap() {
        "diabetes" => ["males", "females"],
        "heights" => ["male", "female"],
        _ => ["treatment", "control"],
    };
    (list(&case["groups"][names[0]]), list(&case["groups"][names[1]]))
}

#[test]
fn two_samples_agree_with_full_enumeration() {
    for case in cases("two_sample_tests", 3) {
        let (first, second) = pairs_of(&case);
        let expected = &case["recomputed"];
        let ranked = mann_whitney(&first, &second, 1).unwrap();
        assert_abs_diff_eq!(ranked.u, number(&expected["U_first"]));
        let p = number(&expected["p_exact_two-sided"]);
        assert_relative_eq!(ranked.test.p(), p, max_relative = 1e-12);
        let shift = &expected["hodges_lehmann"];
        assert_abs_diff_eq!(ranked.shift, number(&shift["shift"]));
        for (found, end) in ranked.interval.unwrap().iter().zip(["low", "high"]) {
            assert_abs_diff_eq!(*found, number(&shift[end]));
        }
        let means = &expected["permutation_of_means"];
        let test = difference_of_means(&first, &second, 1).unwrap();
        assert_relative_eq!(test.statistic, number(&means["mean_difference"]), epsilon = 1e-9);
        assert_eq!(test.as_large, means["count_abs_ge"].as_u64().unwrap());
        assert_eq!(test.arrangements, means["n_permutations"].as_u64().unwrap());
        assert!(test.exact && test.standard_error().is_none());
    }
}

#[test]
fn kruskal_wallis_agrees_with_published_values() {
    for case in cases("kruskal_holm", 3) {
        let groups: Vec<Vec<f64>> = case["groups"].as_array().unwrap().iter().map(list).collect();
        let expected = &case["recomputed"];
        let found = kruskal_wallis(&groups, 1).unwrap();
        assert_relative_eq!(found.h, number(&expected["H"]), max_relative = 1e-12);
        // The table's approximation to the same p, which is what the sources print.
        let p = chi_square_upper(found.h, (groups.len() - 1) as f64);
        assert_relative_eq!(p, number(&expected["p_chi2"]), max_relative = 1e-9);
        for pair in expected["pairs"].as_array().unwrap() {
            let at = |k: usize| {
                let name = pair["pair"][k].as_str().unwrap();
                name.trim_start_matches('g').parse::<usize>().unwrap() - 1
            };
            let ranked = mann_whitney(&groups[at(0)], &groups[at(1)], 1).unwrap();
            assert_abs_diff_eq!(ranked.u, number(&pair["U"]));
            if pair["method"] == "exact" {
                assert_relative_eq!(ranked.test.p(), number(&pair["p"]), max_relative = 1e-12);
            }
        }
    }
}

#[test]
fn holm_adjusts_step_by_step() {
    for case in cases("holm", 3) {
        let (found, expected) = (holm(&list(&case["p"])), list(&case["holm"]));
        assert_eq!(found.len(), expected.len());
        for (found, expected) in found.iter().zip(expected) {
            assert_relative_eq!(*found, expected, max_relative = 1e-12);
        }
    }
    let sprays = &cases("kruskal_holm", 3)[2]["recomputed"]["pairs"];
    let column = |key: &str| -> Vec<f64> {
        sprays.as_array().unwrap().iter().map(|pair| number(&pair[key])).collect()
    };
    for (found, expected) in holm(&column("p")).iter().zip(column("p_holm")) {
        assert_relative_eq!(*found, expected, max_relative = 1e-9);
    }
}

#[test]
fn strata_and_pairs_agree_with_published_counts() {
    let found = cases("stratified_permutation", 2);
    let darwin = &found[0];
    let (crossed, selfed) = (list(&darwin["crossed"]), list(&darwin["selfed"]));
    let differences: Vec<f64> = crossed.iter().zip(&selfed).map(|(a, b)| a - b).collect();
    let expected = &darwin["recomputed"];
    let test = signs(&differences, 1).unwrap();
    assert_eq!(test.as_large, expected["count_abs_ge"].as_u64().unwrap());
    assert_eq!(test.arrangements, expected["n_arrangements"].as_u64().unwrap());
    assert_relative_eq!(test.statistic, number(&expected["mean_difference"]), epsilon = 1e-9);
    // The same as 15 strata of two.
    let plants: Vec<_> = crossed.chunks(1).zip(selfed.chunks(1)).collect();
    let strata: Vec<_> = plants.iter().map(|(first, second)| Stratum { first, second }).collect();
    assert_eq!(within_strata(&strata, 1).unwrap().as_large, test.as_large);

    let rain = &found[1];
    let of = |stratum: &str, group: &str| list(&rain["strata"][stratum][group]);
    let [wet, dry] = ["wet", "dry"].map(|s| (of(s, "first"), of(s, "second")));
    let strata = [&wet, &dry].map(|(first, second)| Stratum { first, second });
    let test = within_strata(&strata, 1).unwrap();
    let expected = &rain["recomputed"];
    assert_relative_eq!(
        test.statistic,
        number(&expected["weighted_mean_difference"]),
        epsilon = 1e-9
    );
    assert_eq!(test.as_large, expected["count_abs_ge"].as_u64().unwrap());
    assert_eq!(test.arrangements, expected["n_arrangements"].as_u64().unwrap());
}

/// One value against 39 lies at either end in 2 of 40 ways: the whole range holds exactly 95 %.
#[test]
fn one_against_thirty_nine_has_an_interval() {
    let many: Vec<f64> = (1..=39_u8).map(f64::from).collect();
    assert_eq!(mann_whitney(&[50.0], &many, 1).unwrap().interval, Some([11.0, 49.0]));
    assert_eq!(mann_whitney(&[50.0], &many[1..], 1).unwrap().interval, None);
}

/// Of 19 999 draws 999 are as large: p = 1000 / 20 000, its error √(p (1 − p) / 20 000).
#[test]
fn a_drawn_p_counts_what_was_observed() {
    let mut found = Permuted { statistic: 1.0, as_large: 999, arrangements: 19_999, exact: false };
    assert_relative_eq!(found.p(), 0.05, max_relative = 1e-12);
    let error = (0.05_f64 * 0.95 / 20_000.0).sqrt();
    assert_relative_eq!(found.standard_error().unwrap(), error, max_relative = 1e-12);
    found.exact = true;
    assert_relative_eq!(found.p(), 999.0 / 19_999.0, max_relative = 1e-12);
    assert_eq!(found.standard_error(), None);
}

/// Of 2²⁵ ways to sign 25 equal differences two are as far out: none of the draws shows one.
#[test]
fn drawn_signs_fall_on_both_sides() {
    let found = signs(&[1.0; 25], 1).unwrap();
    assert_eq!((found.exact, found.arrangements, found.as_large), (false, DRAWS, 0));
}

#[test]
fn what_does_not_vary_has_no_correlation() {
    let (level, rising) = ([2.0; 3], [1.0, 2.0, 4.0]);
    assert_eq!(correlation(&level, &rising), None);
    assert_eq!(correlation(&rising, &level), None);
    assert_eq!(slope(&level, &rising), None);
    assert_relative_eq!(correlation(&rising, &rising).unwrap(), 1.0, max_relative = 1e-12);
}

fn drawn_and_exact(exact: &Permuted, drawn: &Permuted) {
    assert!(exact.exact && !drawn.exact);
    assert_eq!(drawn.arrangements, DRAWS);
    let error = drawn.standard_error().unwrap();
    assert!((drawn.p() - exact.p()).abs() < 4.0 * error, "{exact:?} {drawn:?}");
}

/// Where there are too many arrangements p comes from draws, with an error that holds: samples just
/// small enough to be gone through, against the same ones with a far value that changes little.
#[test]
fn draws_stand_in_for_arrangements_within_their_error() {
    let first: Vec<f64> = (0..11_u32).map(|k| f64::from(k * k % 17)).collect();
    let second: Vec<f64> = (0..11_u32).map(|k| f64::from(k * k % 13) - 1.5).collect();
    let exact = difference_of_means(&first, &second, 1).unwrap();
    // Six lone strata of two give no difference and make the product of arrangements too great.
    let even = [[5.0], [5.0]];
    let mut strata = vec![Stratum { first: &first, second: &second }];
    strata.extend((0..6).map(|_| Stratum { first: &even[0], second: &even[1] }));
    drawn_and_exact(&exact, &within_strata(&strata, 3).unwrap());
    assert_ne!(within_strata(&strata, 3), within_strata(&strata, 4));
    assert_eq!(within_strata(&strata, 3), within_strata(&strata, 3));
}

#[test]
fn what_cannot_be_told_is_none() {
    assert_eq!(difference_of_means(&[], &[1.0], 1), None);
    assert_eq!(signs(&[], 1), None);
    assert_eq!(products(&[1.0, 2.0], &[1.0, 2.0], 1), None);
    assert_eq!(spearman(&[1.0, 1.0, 1.0], &[1.0, 2.0, 3.0], 1), None);
    assert_eq!(slope(&[2.0, 2.0], &[1.0, 2.0]), None);
    assert_eq!(studentised(&[1.0], &[1.0, 2.0], 1), None);
    assert_eq!(studentised(&[3.0, 3.0], &[3.0, 3.0], 1), None);
    let apart = studentised(&[1.0, 1.0], &[2.0, 2.0], 1).unwrap();
    assert_eq!((apart.as_large, apart.arrangements), (2, 6));
    assert_eq!(kruskal_wallis(&[vec![1.0, 1.0], vec![1.0]], 1), None);
    assert_eq!(spread_of_groups(&[vec![1.0], vec![]], 1), None);
    let all_equal = difference_of_means(&[3.0, 3.0], &[3.0, 3.0], 1).unwrap();
    assert_relative_eq!(all_equal.p(), 1.0);
    assert_eq!(mann_whitney(&[1.0], &[2.0, 3.0], 1).unwrap().interval, None);
}

proptest! {
    /// An exact p of a null hypothesis that holds is at most its level, whatever the values.
    #[test]
    fn an_exact_p_is_never_below_one_arrangement(x in vec(-50.0..50.0_f64, 3..7), y in vec(-50.0..50.0_f64, 3..7)) {
        let test = difference_of_means(&x, &y, 1).unwrap();
        prop_assert!(test.as_large >= 1 && test.p() <= 1.0);
        let moved: Vec<f64> = x.iter().map(|x| x + 1e4).collect();
        let both: Vec<f64> = y.iter().map(|y| y + 1e4).collect();
        prop_assert_eq!(difference_of_means(&moved, &both, 1).unwrap().as_large, test.as_large);
        prop_assert_eq!(difference_of_means(&y, &x, 1).unwrap().as_large, test.as_large);
    }

    #[test]
    fn ranks_add_up_and_ties_share(x in vec(0..6_i32, 1..20)) {
        let x: Vec<f64> = x.into_iter().map(f64::from).collect();
        let (ranks, n) = (ranks(&x), x.len() as f64);
        prop_assert!((ranks.iter().sum::<f64>() - n * (n + 1.0) / 2.0).abs() < 1e-9);
        for (a, ra) in x.iter().zip(&ranks) {
            for (b, rb) in x.iter().zip(&ranks) {
                prop_assert_eq!(a.total_cmp(b), ra.total_cmp(rb));
            }
        }
    }

    #[test]
    fn shuffled_groups_of_two_are_the_test_of_means(x in vec(-9.0..9.0_f64, 2..6), y in vec(-9.0..9.0_f64, 2..6)) {
        let [means, spread] = [difference_of_means(&x, &y, 1), spread_of_groups(&[x, y], 1)];
        prop_assert!((means.unwrap().p() - spread.unwrap().p()).abs() < 1e-12);
    }
}

/// A general-purpose statistics library, run once: the script is beside the numbers.
#[test]
fn ties_and_correlation_agree_with_another_library() {
    let case = &cases("shuffles", 1)[0];
    let pairs = &case["spearman"];
    let (x, y) = (list(&pairs["x"]), list(&pairs["y"]));
    let (rho, test) = spearman(&x, &y, 1).unwrap();
    assert_relative_eq!(rho, number(&pairs["rho"]), max_relative = 1e-12);
    assert_relative_eq!(test.p(), number(&pairs["p_two_sided"]), max_relative = 1e-12);
    assert_eq!(test.arrangements, pairs["arrangements"].as_u64().unwrap());
    assert_relative_eq!(slope(&x, &y).unwrap(), number(&pairs["slope"]), max_relative = 1e-12);
    let tied = &case["tied"];
    let found = mann_whitney(&list(&tied["first"]), &list(&tied["second"]), 1).unwrap();
    assert_abs_diff_eq!(found.u, number(&tied["U_first"]));
    assert_relative_eq!(found.test.p(), number(&tied["p_two_sided"]), max_relative = 1e-12);
    let welch = &case["welch"];
    let found = studentised(&list(&welch["first"]), &list(&welch["second"]), 1).unwrap();
    assert_relative_eq!(found.statistic, number(&welch["t"]), max_relative = 1e-12);
    assert_relative_eq!(found.p(), number(&welch["p_two_sided"]), max_relative = 1e-12);
    assert_eq!(found.arrangements, welch["arrangements"].as_u64().unwrap());
    let three = &case["kruskal"];
    let groups: Vec<Vec<f64>> = three["groups"].as_array().unwrap().iter().map(list).collect();
    let found = kruskal_wallis(&groups, 1).unwrap();
    assert_relative_eq!(found.h, number(&three["H"]), max_relative = 1e-12);
    assert_relative_eq!(found.test.p(), number(&three["p_exact"]), max_relative = 1e-12);
}
