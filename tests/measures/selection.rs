//! Selection ratios against published tables.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use perchline::maths::statistics::interval::{chi_square_upper, normal_quantile};
use perchline::measures::support::selection::{Choice, Selected, fit, jacobs_d, selected};
use perchline::survey::names::Names;
use proptest::collection::vec;
use proptest::{prop_assert, proptest};
use serde_json::Value;
use std::fs;

fn cases() -> Vec<Value> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference");
    let text = fs::read_to_string(format!("{folder}/resource_selection.json")).unwrap();
    let file: Value = serde_json::from_str(&text).unwrap();
    let cases = file["cases"].as_array().unwrap().clone();
    assert_eq!(cases.len(), 4);
    cases
}

fn list(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

/// Each sighting of a published table as an animal of its own, seen in one class only.
fn sightings(case: &Value) -> Vec<Choice> {
    let used = list(&case["used"]);
    let amounts = list(&case["available"]);
    let total: f64 = amounts.iter().sum();
    let available: Vec<f64> = amounts.iter().map(|amount| amount / total).collect();
    let mut names = Names::default();
    let mut choices = Vec::new();
    for (class, count) in used.iter().enumerate() {
        let mut used_m = vec![0.0; used.len()];
        used_m[class] = 1.0;
        let mut left = *count;
        while left > 0.5 {
            let animal = names.enter(&format!("{class} {left}"));
            choices.push(Choice {
                animal,
                used_m: used_m.clone(),
                available: available.clone(),
                points: None,
            });
            left -= 1.0;
        }
    }
    choices
}

/// The published standard error takes the binomial p(1 − p)/n; ours takes the spread between
/// animals, whose divisor is n − 1. With each sighting an animal the two differ by just that. The
/// interval that holds with those of the other classes is near that of the normal, since animals
/// seen once each are spread as far out as can be.
#[test]
fn ratios_agree_with_published_tables() {
    for case in cases() {
        let choices = sightings(&case);
        let found = selected(&choices.iter().collect::<Vec<_>>());
        let expected = &case["recomputed"];
        let n = choices.len() as f64;
        let classes = expected["categories"].as_array().unwrap();
        for (found, class) in found.iter().zip(classes) {
            let of = |key: &str| class[key].as_f64().unwrap();
            assert_relative_eq!(found.used, of("used_share"), max_relative = 1e-9);
            assert_relative_eq!(found.ratio.unwrap(), of("w"), max_relative = 1e-9);
            assert_relative_eq!(found.standardised_b.unwrap(), of("B"), max_relative = 1e-9);
            assert_relative_eq!(found.jacobs_d.unwrap(), of("jacobs_D"), max_relative = 1e-9);
            let se = found.se.unwrap();
            assert_relative_eq!(se * ((n - 1.0) / n).sqrt(), of("se_w"), max_relative = 1e-9);
            let [low, high] = found.interval.unwrap();
            let z = -normal_quantile(0.025 / classes.len() as f64);
            let (width, normal) = (high - low, 2.0 * z * se);
            assert!((width / normal - 1.0).abs() < 0.1, "{low} {high}: {width} {normal}");
            assert!(low >= 0.0 && low < of("w") && of("w") < high);
            if case["recomputed"]["alpha"] == 0.05 {
                let bonferroni = case["recomputed"]["bonferroni_z"].as_f64().unwrap();
                assert_relative_eq!(z, bonferroni, max_relative = 1e-9);
            }
        }
        let chi2 = expected["chi2"].as_f64().unwrap();
        let fit = fit(&choices.iter().collect::<Vec<_>>(), 1).unwrap();
        assert_relative_eq!(fit.overall.statistic, chi2, max_relative = 1e-9);
        let p = chi_square_upper(fit.overall.statistic, (classes.len() - 1) as f64);
        assert_relative_eq!(p, expected["p_chi2"].as_f64().unwrap(), max_relative = 1e-7);
    }
}

fn choice(used_m: &[f64], available: &[f64]) -> Choice {
    let animal = Names::default().enter("a");
    Choice { animal, used_m: used_m.to_vec(), available: available.to_vec(), points: None }
}

#[test]
fn zeros_are_told_apart() {
    let animals = [
        choice(&[3.0, 0.0, 0.0], &[0.5, 0.5, 0.0]),
        choice(&[1.0, 1.0, 0.0], &[0.5, 0.5, 0.0]),
        choice(&[0.0, 0.0, 0.0], &[0.5, 0.5, 0.0]),
    ];
    let found = selected(&animals.iter().collect::<Vec<_>>());
    let ratios: Vec<Option<f64>> = found.iter().map(|class| class.ratio).collect();
    assert_eq!(ratios, [Some(1.5), Some(0.5), None], "who used nothing is left out");
    assert_eq!(found[2].jacobs_d, None);
    assert_eq!(found[0].interval, None, "two animals give no interval");
    let none: Vec<Selected> = selected(&[&animals[2]]);
    assert!(none.is_empty());
    assert_eq!(fit(&animals.iter().collect::<Vec<_>>(), 1), None);
    assert_eq!(jacobs_d(0.4, 1.0), None);
    assert_abs_diff_eq!(jacobs_d(0.0, 0.3).unwrap(), -1.0);
    assert_abs_diff_eq!(jacobs_d(1.0, 0.3).unwrap(), 1.0);
}

#[test]
fn six_animals_that_all_choose_alike_reach_two_in_sixty_four() {
    let animals: Vec<Choice> =
        (0..6).map(|k| choice(&[8.0 + f64::from(k), 2.0], &[0.5, 0.5])).collect();
    let fit = fit(&animals.iter().collect::<Vec<_>>(), 1).unwrap();
    assert_eq!((fit.overall.as_large, fit.overall.arrangements), (2, 64));
}

/// Interval and p of a class say the same; what was sampled at few points is told less surely.
#[test]
fn ratios_and_their_p_agree() {
    let used =
        [[5.0, 3.0, 0.0], [8.0, 2.0, 0.5], [6.0, 6.0, 0.0], [9.0, 1.0, 0.2], [7.0, 0.5, 0.0]];
    let of = |points: Option<f64>, offer: &[f64]| {
        let animals: Vec<Choice> =
            used.iter().map(|used| Choice { points, ..choice(used, offer) }).collect();
        selected(&animals.iter().collect::<Vec<_>>())
    };
    let mut clear = 0;
    for offer in [[0.5, 0.4, 0.1], [0.3, 0.3, 0.4], [0.7, 0.2, 0.1], [0.2, 0.75, 0.05]] {
        let known = of(None, &offer);
        for (known, sampled) in known.iter().zip(of(Some(20.0), &offer)) {
            let [low, high] = known.interval.unwrap();
            assert_eq!(3.0 * known.p.unwrap() > 0.05, low <= 1.0 && 1.0 <= high, "{known:?}");
            clear += usize::from(3.0 * known.p.unwrap() <= 0.05);
            let [from, to] = sampled.interval.unwrap();
            assert!(high <= to && high - low <= to - from, "{known:?} {sampled:?}");
        }
    }
    assert!((2..10).contains(&clear), "{clear}");
}

proptest! {
    /// How far an animal went changes nothing; only its shares count.
    #[test]
    fn an_animal_weighs_alike_however_far_it_went(metres in vec(0.1..50.0_f64, 15), far in 1.0..100.0_f64) {
        let offered = [0.2, 0.3, 0.5];
        let animals: Vec<Choice> = metres.chunks(3).map(|used| choice(used, &offered)).collect();
        let mut other = animals.clone();
        other[0].used_m.iter_mut().for_each(|used| *used *= far);
        let [a, b] = [&animals, &other].map(|all| selected(&all.iter().collect::<Vec<_>>()));
        for (a, b) in a.iter().zip(&b) {
            prop_assert!((a.ratio.unwrap() - b.ratio.unwrap()).abs() < 1e-9);
        }
        let weighted: f64 = a.iter().map(|class| class.ratio.unwrap() * class.available).sum();
        prop_assert!((weighted - 1.0).abs() < 1e-9, "ratios weighted by what was on offer are 1");
    }
}
