//! Tests of difference and intervals of the mean, against published and independently computed
//! values. The files under `tests/reference` name their sources.
#![expect(clippy::unwrap_used, reason = "a test fails by panicking, its shared functions too")]

use approx::{assert_abs_diff_eq, assert_relative_eq};
use perchline::statistics::bootstrap::{RESAMPLES, Resamples, bca, interval_of_difference};
use perchline::statistics::circular::MeanVector;
use perchline::statistics::describe::{mean, quantile_of_sorted};
use perchline::statistics::interval::{Z95, chi_square_upper};
use perchline::statistics::permutation::{
    DRAWS, Permuted, Stratum, difference_of_means, products, signs, spread_of_groups, studentised,
    within_strata,
};
use perchline::statistics::rank::{
    correlation, holm, kruskal_wallis, mann_whitney, ranks, slope, spearman,
};
use proptest::collection::vec;
use proptest::{prop_assert, prop_assert_eq, proptest};
use serde_json::Value;
use std::cell::RefCell;
use std::fs;

fn cases(name: &str, count: usize) -> Vec<Value> {
    let path = format!("{}/tests/reference/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let file: Value = serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap();
    let cases = file["cases"].as_array().unwrap().clone();
    assert_eq!(cases.len(), count, "{name}");
    cases
}

fn list(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

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

/// Statistic of values in rising order, as the resamples hand them over.
fn statistic(name: &str) -> fn(&[f64]) -> f64 {
    match name {
        "mean" => |x| mean(x).unwrap(),
        "median" => |x| quantile_of_sorted(x, 0.5).unwrap(),
        _ => |x| {
            let centre = mean(x).unwrap();
            x.iter().map(|x| (x - centre).powi(2)).sum::<f64>() / x.len() as f64
        },
    }
}

/// Convention: resamples equal to the estimate count half. With 200,000 resamples the ends must
/// meet those of the exact bootstrap distribution within its steps; with as many as the program
/// draws, within what so few can show.
#[test]
fn bca_intervals_agree_with_the_exact_bootstrap_distribution() {
    for case in cases("bootstrap_bca", 7) {
        if case["level"] != 0.95 {
            continue;
        }
        let mut data = list(&case["data"]);
        data.sort_by(f64::total_cmp);
        let of = statistic(case["statistic"].as_str().unwrap());
        let expected = ["low", "high"].map(|end| number(&case["bca"]["half_ties"][end]));
        let width = expected[1] - expected[0];
        for (count, tolerance) in [(200_000, 0.012), (RESAMPLES, 0.06)] {
            let resamples = Resamples::new(data.len(), count, 1);
            let found = resamples.interval(&data, of).unwrap();
            for (found, expected) in found.iter().zip(expected) {
                let off = (found - expected).abs() / width;
                assert!(off < tolerance, "{}: {found} for {expected}", case["id"]);
            }
        }
    }
}

/// The published interval of a variance, at 90 %: Efron and Tibshirani 1993, section 14.3.
#[test]
fn a_published_bca_interval() {
    let case = &cases("bootstrap_bca", 7)[6];
    let data = list(&case["data"]);
    let variance = statistic("variance");
    // Its replicates by an own little generator, so that only the interval is the program's.
    let mut state = 12_345_u64;
    let mut next = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        usize::try_from(state >> 33).unwrap() % data.len()
    };
    let replicates: Vec<f64> = (0..100_000)
        .map(|_| variance(&(0..data.len()).map(|_| data[next()]).collect::<Vec<_>>()))
        .collect();
    let acceleration = number(&case["recomputed"]["acceleration"]);
    let found = bca(variance(&data), replicates, acceleration, 1.644_853_626_951).unwrap();
    for (found, expected) in found.iter().zip(list(&case["recomputed"]["bca"])) {
        assert_relative_eq!(*found, expected, max_relative = 0.012);
    }
}

/// What must hold of any interval of a difference. Against a group that does not vary it is the
/// interval of a mean, moved; with the groups exchanged it is the same seen from the other side.
#[test]
fn an_interval_of_a_difference_is_that_of_a_mean() {
    let (skew, other) = ([1.0, 1.5, 2.0, 2.5, 9.0, 14.0], [3.0, 4.0, 4.5, 7.0, 11.0]);
    let [six, five] = [6, 5].map(|n| Resamples::new(n, RESAMPLES, 1));
    let alone = six.interval(&skew, |x| mean(x).unwrap()).unwrap();
    let moved = interval_of_difference((&skew, &six), (&[4.0; 5], &five)).unwrap();
    let there = interval_of_difference((&skew, &six), (&other, &five)).unwrap();
    let back = interval_of_difference((&other, &five), (&skew, &six)).unwrap();
    for at in 0..2 {
        assert_abs_diff_eq!(moved[at], alone[at] - 4.0, epsilon = 1e-9);
        assert_abs_diff_eq!(there[at], -back[1 - at], epsilon = 1e-9);
    }
    assert!(there[0] < -0.9 && there[1] > -0.9, "5 less 5.9");
    let two = Resamples::new(2, RESAMPLES, 1);
    assert_eq!(interval_of_difference((&[1.0, 2.0], &two), (&other, &five)), None);
    assert_eq!(interval_of_difference((&other, &five), (&[1.0, 2.0], &two)), None);
    let [three, own] = [1, 2].map(|seed| Resamples::new(3, RESAMPLES, seed));
    assert!(interval_of_difference((&[1.0, 2.0, 4.0], &three), (&[3.0, 4.0, 6.0], &own)).is_some());
}

/// Replicates 1 … 999 seen from either end, estimates beyond all of them: the same, mirrored.
#[test]
fn an_estimate_beyond_its_replicates_has_an_interval() {
    let replicates: Vec<f64> = (1..1000_u16).map(f64::from).collect();
    let below = bca(-5.0, replicates.clone(), 0.02, 1.96).unwrap();
    let above = bca(1005.0, replicates, -0.02, 1.96).unwrap();
    for at in 0..2 {
        assert_abs_diff_eq!(below[at], 1000.0 - above[1 - at], epsilon = 1e-6);
        assert!((1.0..=999.0).contains(&below[at]));
    }
    for (sample, some) in [(&[1.0, 2.0, 4.0][..], true), (&[1.0, 2.0], false)] {
        let resamples = Resamples::new(sample.len(), RESAMPLES, 1);
        assert_eq!(resamples.interval(sample, |x| mean(x).unwrap()).is_some(), some);
    }
}

/// One value against 39 lies at either end in 2 of 40 ways: the whole range holds exactly 95 %.
#[test]
fn one_against_thirty_nine_has_an_interval() {
    let many: Vec<f64> = (1..=39_u8).map(f64::from).collect();
    assert_eq!(mann_whitney(&[50.0], &many, 1).unwrap().interval, Some([11.0, 49.0]));
    assert_eq!(mann_whitney(&[50.0], &many[1..], 1).unwrap().interval, None);
}

/// V = 2 of n directions, by the series beside the formula. n = 2: u = 2,
/// p = 0.022750 + 0.053991 ((6 − 8)/32 + (30 + 2440 − 4000 + 1152)/18432). n = 4: u = √2.
#[test]
fn the_series_of_the_v_test() {
    let of = |n: f64| MeanVector::of_sums([n, 2.0, 0.0]).v_test(0.0);
    assert_relative_eq!(of(2.0).unwrap().u, 2.0, max_relative = 1e-12);
    assert_relative_eq!(of(2.0).unwrap().p, 0.018_268_459_923_158_724, max_relative = 1e-9);
    assert_relative_eq!(of(4.0).unwrap().p, 0.082_447_211_042_099_37, max_relative = 1e-9);
    assert_eq!(of(1.0), None);
}

/// Acceleration Σ u³ / 6 (Σ u²)^(3/2), u = (x − mean) / n of the first and −(x − mean) / n of the
/// second group (Efron 1987, the influence of each value), with the very replicates of the program.
#[test]
fn skew_of_both_groups_counts_by_their_sizes() {
    let (skew, other) = ([1.0, 1.5, 2.0, 2.5, 9.0, 14.0], [3.0, 4.0, 9.0]);
    let means = |sample: &[f64], resamples: &Resamples| {
        let met = RefCell::new(Vec::new());
        resamples.interval(sample, |x| {
            met.borrow_mut().push(mean(x).unwrap());
            mean(x).unwrap()
        });
        met.take()[..RESAMPLES].to_vec()
    };
    let (six, three) = (Resamples::new(6, RESAMPLES, 1), Resamples::new(3, RESAMPLES, 2));
    let both = means(&skew, &six).into_iter().zip(means(&other, &three));
    let replicates = both.map(|(a, b)| a - b).collect();
    let (five, less) = (mean(&skew).unwrap(), mean(&other).unwrap());
    let of_first = skew.iter().map(|x| (x - five) / 6.0);
    let u: Vec<f64> = of_first.chain(other.iter().map(|x| (less - x) / 3.0)).collect();
    let power = |k| u.iter().map(|u| u.powi(k)).sum::<f64>();
    let expected = bca(five - less, replicates, power(3) / (6.0 * power(2).powf(1.5)), Z95);
    let found = interval_of_difference((&skew, &six), (&other, &three)).unwrap();
    for (found, expected) in found.iter().zip(expected.unwrap()) {
        assert_abs_diff_eq!(*found, expected, epsilon = 1e-9);
    }
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

#[test]
fn the_v_test_agrees_with_zar() {
    let case = &cases("circular_statistics", 7)[1];
    let angles = list(&case["angles_deg"]);
    let vector = MeanVector::of(angles.iter().map(|a| a * std::f64::consts::PI / 180.0));
    let test = vector.v_test(std::f64::consts::FRAC_PI_2).unwrap();
    let expected = &case["recomputed"]["V_test_90deg"];
    assert_relative_eq!(test.v, number(&expected["V"]), epsilon = 1e-9);
    assert_relative_eq!(test.u, number(&expected["u"]), epsilon = 1e-9);
    assert!(test.p < 0.0005, "published: p < 0.0005");
}

/// The series of the V-test against made-up directions without preference, as few as animals are.
#[test]
fn the_v_test_is_right_for_a_handful_of_directions() {
    use perchline::statistics::chance::Chance;
    use std::f64::consts::TAU;
    const TIMES: usize = 100_000;
    let mut chance = Chance::new(7);
    let mut direction = || TAU * chance.below(1 << 40) as f64 / (1_u64 << 40) as f64;
    for n in [5, 8] {
        for level in [0.01, 0.05, 0.2] {
            let hits = (0..TIMES).filter(|_| {
                let vector = MeanVector::of((0..n).map(|_| direction()));
                vector.v_test(1.0).unwrap().p <= level
            });
            let share = hits.count() as f64 / TIMES as f64;
            let error = (level * (1.0 - level) / TIMES as f64).sqrt();
            assert!((share - level).abs() < 4.0 * error + 0.02 * level, "{n} {level} {share}");
        }
    }
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
    assert_eq!(Resamples::new(4, 99, 1).interval(&[2.0; 4], |x| x[0]), None);
    assert_eq!(Resamples::new(2, 99, 1).interval(&[1.0, 2.0], |x| x[0]), None);
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
