//! Tests between groups of animals, of pairs, against a covariate and of directions; worked by hand.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use perchline::maths::quantity::Bearing;
use perchline::measures::compare::animals::{AnimalValue, Roster};
use perchline::measures::compare::covariate::{self, Pair};
use perchline::measures::compare::factors::Factor;
use perchline::measures::compare::groups::{Group, test_within, tests};
use perchline::measures::compare::{TestRow, directions, pairs};
use perchline::survey::Survey;
use perchline::survey::input::source::read_survey;
use perchline::survey::names::{Name, Names};
use std::fs;
use tempfile::TempDir;

fn animal(animal: Name, value: f64) -> AnimalValue {
    AnimalValue { animal, trails: 1, value, se: None, at_least: false }
}

/// Groups of animals of their own.
fn groups(values: &[&[f64]]) -> Vec<Group> {
    let mut names = Names::default();
    let mut group = |(at, values): (usize, &&[f64])| Group {
        name: ["f", "m", "x"][at].into(),
        values: values.iter().map(|&x| animal(names.enter(&format!("{at} {x}")), x)).collect(),
    };
    values.iter().enumerate().map(&mut group).collect()
}

fn of_groups(values: &[&[f64]]) -> Vec<TestRow> {
    tests(&groups(values), 0, 1)
}

fn assert_row(row: &TestRow, test: &str, statistic: f64, effect: Option<f64>, p: f64) {
    assert_eq!(row.test, test);
    assert_relative_eq!(row.statistic.unwrap(), statistic, max_relative = 1e-12);
    assert_eq!(row.effect.is_some(), effect.is_some(), "{row:?}");
    if let Some(effect) = effect {
        assert_relative_eq!(row.effect.unwrap(), effect, max_relative = 1e-12);
    }
    assert_relative_eq!(row.p.unwrap(), p, max_relative = 1e-12);
}

/// f 1, 2, 3 and m 4, 5, 9: means 2 and 6; of 20 ways to deal the labels only this one and its
/// mirror part the means as far. s² = 1 and 7, so that t = −4 / √(1/3 + 7/3). No f is above any m;
/// the nine differences are −8, −7, −6, −4, −3, −3, −2, −2, −1, with the median −3.
#[test]
fn two_groups_are_compared_by_means_by_spread_and_by_ranks() {
    let rows = of_groups(&[&[1.0, 2.0, 3.0], &[4.0, 5.0, 9.0]]);
    assert_eq!(rows.len(), 3);
    assert_row(&rows[0], "permutation", -4.0, Some(-4.0), 0.1);
    assert_row(&rows[1], "permutation_welch", -4.0 / (8.0_f64 / 3.0).sqrt(), Some(-4.0), 0.1);
    assert_row(&rows[2], "mann_whitney", 0.0, Some(-3.0), 0.1);
    let names = rows.iter().map(|row| row.effect_name);
    assert_eq!(
        names.collect::<Vec<_>>(),
        ["difference_of_means", "difference_of_means", "hodges_lehmann_shift"]
    );
    for row in &rows {
        assert_eq!((row.groups.as_str(), row.animals.as_slice()), ("f - m", [3, 3].as_slice()));
        assert_eq!((row.arrangements, row.p_standard_error), (Some(20), None));
        assert_eq!((row.p_adjusted, row.reason.as_str()), (None, ""));
    }
}

/// Values whose spread is lost in the last digits of their size.
#[test]
fn groups_without_any_spread_have_no_error_to_divide_by() {
    let rows = of_groups(&[&[1e13, 1e13 + 1.0], &[1e13, 1e13 + 1.0]]);
    assert_eq!((rows[1].p, rows[1].reason.as_str()), (None, "no spread within the groups"));
}

/// Intervals of the difference and of the shift lie about what they are of.
#[test]
fn a_difference_has_an_interval_where_there_are_animals_enough() {
    let (low, high): (Vec<f64>, Vec<f64>) =
        (0..8).map(|k| (f64::from(k), f64::from(k) + 5.0)).unzip();
    let rows = of_groups(&[&low, &high]);
    for row in [&rows[1], &rows[2]] {
        let [from, to] = row.interval.unwrap();
        assert!(-8.5 < from && from < -5.0 && -5.0 < to && to < -1.5, "{row:?}");
    }
}

/// f 1 to 4, m 5 to 8, x 4.5, 9, 10, 11: ranks 1–4, 6–9 and 5, 10, 11, 12, sums 10, 30, 38.
///
/// ```text
/// H = 12 / (12 · 13) (10² + 30² + 38²) / 4 − 3 · 13 = 611/13 − 39 = 8
/// ```
/// f against m and f against x are the farthest of 70 arrangements: p = 2/70. m against x has
/// U = 4; 1 + 1 + 2 + 3 + 5 = 12 of 70 have a U of 4 or less (numbers of partitions into at most
/// four parts of at most four), as many one of 12 or more: p = 24/70. Holm: three times 2/70, twice
/// 2/70 but no less than that, once 24/70.
#[test]
fn of_three_groups_each_pair_is_adjusted_for_the_others() {
    let rows = of_groups(&[&[1.0, 2.0, 3.0, 4.0], &[5.0, 6.0, 7.0, 8.0], &[4.5, 9.0, 10.0, 11.0]]);
    assert_eq!(rows.len(), 4);
    let whole = &rows[0];
    assert_eq!((whole.test, whole.groups.as_str()), ("kruskal_wallis", "f - m - x"));
    assert_eq!(
        (whole.animals.as_slice(), whole.effect_name),
        ([4, 4, 4].as_slice(), "epsilon_squared")
    );
    assert_relative_eq!(whole.statistic.unwrap(), 8.0, max_relative = 1e-12);
    assert_relative_eq!(whole.effect.unwrap(), 8.0 / 11.0, max_relative = 1e-12);
    for (row, (names, p, adjusted)) in rows[1..].iter().zip([
        ("f - m", 2.0 / 70.0, 6.0 / 70.0),
        ("f - x", 2.0 / 70.0, 6.0 / 70.0),
        ("m - x", 24.0 / 70.0, 24.0 / 70.0),
    ]) {
        assert_eq!((row.test, row.groups.as_str()), ("mann_whitney", names));
        assert_relative_eq!(row.p.unwrap(), p, max_relative = 1e-12);
        assert_relative_eq!(row.p_adjusted.unwrap(), adjusted, max_relative = 1e-12);
    }
}

#[test]
fn where_there_is_no_test_a_sentence_says_why() {
    let sentence = |groups: &[Group], shared| {
        let rows = tests(groups, shared, 1);
        assert_eq!((rows.len(), rows[0].p), (1, None));
        let counts: Vec<usize> = groups.iter().map(|group| group.values.len()).collect();
        assert_eq!((&rows[0].animals, rows[0].groups.is_empty()), (&counts, false));
        (rows[0].test, rows[0].reason.clone())
    };
    let two = groups(&[&[1.0, 2.0], &[3.0, 4.0]]);
    for (groups, shared, test, reason) in [
        (groups(&[&[1.0, 2.0]]), 0, "permutation", "only one group"),
        (two, 1, "permutation", "1 animals stand in more than one group; --pairs compares those"),
        (
            groups(&[&[1.0, 2.0], &[3.0]]),
            0,
            "permutation",
            "m has fewer than two animals with a value",
        ),
        (groups(&[&[2.0, 2.0], &[2.0, 2.0]]), 0, "permutation", "all values are equal"),
        (
            groups(&[&[2.0], &[2.0], &[2.0]]),
            0,
            "kruskal_wallis",
            "f has fewer than two animals with a value",
        ),
    ] {
        assert_eq!(sentence(&groups, shared), (test, reason.to_owned()));
    }
}

/// One trail an animal, but Elm, who was on both sides; Fir has no side.
fn sides() -> (Survey, Roster) {
    let folder = TempDir::new().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    let trails = "trail,animal,side\nA,Ash,east\nB,Oak,east\nC,Yew,east\nD,Lime,west\nE,Pine,west\n\
        F,Elm,east\nG,Elm,west\nH,Fir,\nI,Box,south\n";
    let mut anchors = String::from("trail,anchor,tape_m\n");
    for trail in trails.lines().skip(1).map(|row| &row[..1]) {
        anchors += &format!("{trail},1,\n{trail},2,3\n");
    }
    write("anchors.csv", &anchors);
    write("trails.csv", trails);
    write("animals.csv", "animal\n");
    let survey = read_survey(folder.path(), &[]).unwrap().0;
    let roster = Roster::of(&survey, &[0, 1, 2, 3, 4, 5, 6, 7, 8]);
    (survey, roster)
}

/// East: f 3 and 5, m 1, 3 apart; west: f 6, m 2, 4 apart. Weighted by animals
/// (3 · 3 + 2 · 4) / 5 = 3.4. Labels can be dealt in 3 · 2 ways: east 3, 0 or −3 apart, west ±4;
/// as far as 17/5 is only this way and its mirror.
#[test]
fn within_strata_labels_stay_in_their_stratum() {
    let (survey, roster) = sides();
    let side = Factor::of(&survey, "side").unwrap();
    let of = |name: &str, animals: &[(&str, f64)]| Group {
        name: name.into(),
        values: animals.iter().map(|(n, x)| animal(survey.names.find(n).unwrap(), *x)).collect(),
    };
    let f = of("f", &[("Ash", 3.0), ("Oak", 5.0), ("Lime", 6.0)]);
    let m = of("m", &[("Yew", 1.0), ("Pine", 2.0)]);
    let row = test_within(&[f.clone(), m.clone()], &roster, &side, 1);
    assert_row(&row, "permutation_within", 3.4, Some(3.4), 2.0 / 6.0);
    assert_eq!((row.groups.as_str(), row.animals), ("f - m", vec![3, 2]));
    assert_eq!(row.effect_name, "weighted_difference_of_means");
    assert_eq!(row.reason, "labels shuffled within side");
    // Who has no one side counts nowhere, and where one group is, nothing is told.
    let odd = [("Elm", 50.0), ("Fir", 60.0), ("Box", 70.0)];
    let mut more = f.clone();
    more.values.extend(of("f", &odd).values);
    let row = test_within(&[more, m.clone()], &roster, &side, 1);
    assert_relative_eq!(row.statistic.unwrap(), 3.4, max_relative = 1e-12);
    assert_eq!(
        row.reason,
        "labels shuffled within side; south has one group only and tells nothing; 2 animals have \
         no one level of side"
    );
    let refused = |groups: &[Group]| test_within(groups, &roster, &side, 1).reason;
    let apart = [of("f", &[("Ash", 3.0), ("Oak", 5.0)]), of("m", &[("Lime", 1.0), ("Pine", 2.0)])];
    assert_eq!(refused(&apart), "no stratum has animals of both groups");
    assert!(refused(&[f.clone(), m.clone(), m]).starts_with("within strata two groups"));
    assert!(refused(&[f.clone(), f]).starts_with("3 animals stand in more than one group"));
}

/// Second less first is 3, 2, −1 and 1, on average 1.25. Of the sixteen ways to set signs three on
/// either side have a sum as far from nothing as 5, one of 7 and two of 5: p = 6/16.
#[test]
fn the_same_animals_twice_are_compared_one_by_one() {
    let mut names = Names::default();
    let all = ["Ash", "Oak", "Yew", "Elm", "Fir"].map(|name| names.enter(name));
    let group = |name: &str, values: &[(usize, f64)]| Group {
        name: name.into(),
        values: values.iter().map(|&(at, x)| animal(all[at], x)).collect(),
    };
    let first = group("1", &[(0, 10.0), (1, 20.0), (2, 30.0), (3, 40.0)]);
    let second = group("2", &[(3, 43.0), (2, 32.0), (1, 19.0), (0, 11.0), (4, 99.0)]);
    let differences = pairs::differences(&first, &second);
    let expected = [(3, 3.0), (2, 2.0), (1, -1.0), (0, 1.0)].map(|(at, d)| (all[at], d));
    assert_eq!(differences, expected);
    let row = pairs::test(&first, &second, 1);
    assert_row(&row, "sign_permutation", 1.25, Some(1.25), 6.0 / 16.0);
    assert_eq!((row.groups.as_str(), row.animals, row.interval), ("2 - 1", vec![4], None));
    assert_eq!(row.effect_name, "mean_difference");
    let reason = |second: &Group| pairs::test(&first, second, 1).reason;
    assert_eq!(reason(&group("2", &[(0, 3.0)])), "fewer than two animals have both");
    assert_eq!(reason(&group("2", &[(0, 10.0), (1, 20.0)])), "no animal differs");
    assert_eq!(reason(&group("2", &[(0, 10.0), (1, 21.0)])), "");
}

/// Six animals each a metre or two farther. Of 64 ways to set signs only all alike are refused: less than
/// the least gain, or more than the greatest, leaves all differences of one sign.
#[test]
fn a_mean_difference_has_an_interval() {
    let mut names = Names::default();
    let gains = [1.0, 1.25, 1.45, 1.55, 1.75, 2.0];
    let mut group = |name: &str, times: f64| Group {
        name: name.into(),
        values: gains
            .iter()
            .map(|g| animal(names.enter(&g.to_string()), 7.0 + times * g))
            .collect(),
    };
    let (first, second) = (group("1", 0.0), group("2", 1.0));
    let [low, high] = pairs::test(&first, &second, 1).interval.unwrap();
    assert!((low - 1.0).abs() < 1e-6 && (high - 2.0).abs() < 1e-6, "{low} {high}");
}

fn against(x: &[f64], y: &[f64]) -> Vec<TestRow> {
    let mut names = Names::default();
    let of = |(&x, &y)| Pair { animal: names.enter(&format!("{x} {y}")), x, y, at_least: false };
    let pairs: Vec<Pair> = x.iter().zip(y).map(of).collect();
    covariate::tests(&pairs, 1)
}

/// x 1 to 5 and y 2, 1, 4, 3, 10: the ranks of y are 2, 1, 4, 3, 5, Σ d² = 4,
/// ρ = 1 − 6 · 4 / (5 · 24) = 0.8; 8 of 120 orders have a ρ of 0.8 or more, as many −0.8 or less
/// (Σ d² of 0 once, 2 four times, 4 three times). Σ (x − 3)(y − 4) = 4 + 3 + 0 − 1 + 12 = 18 over
/// Σ (x − 3)² = 10 makes the slope 1.8.
#[test]
fn a_covariate_is_held_against_ranks_and_against_values() {
    let rows = against(&[1.0, 2.0, 3.0, 4.0, 5.0], &[2.0, 1.0, 4.0, 3.0, 10.0]);
    assert_eq!(rows.len(), 2);
    assert_row(&rows[0], "spearman", 0.8, Some(0.8), 16.0 / 120.0);
    assert_eq!((rows[1].test, rows[1].effect_name), ("slope", "slope"));
    assert_eq!((rows[1].animals.as_slice(), rows[0].effect_name), ([5].as_slice(), "rho"));
    assert_relative_eq!(rows[1].effect.unwrap(), 1.8, max_relative = 1e-12);
    assert_relative_eq!(rows[1].statistic.unwrap(), 1.8, max_relative = 1e-12);
}

/// Nine animals near the line y = 2 x: the slope's interval is about 2.
#[test]
fn a_slope_has_the_interval_of_its_own_test() {
    let x: Vec<f64> = (0..9).map(f64::from).collect();
    let off = [0.0, 1.5, -1.5].into_iter().cycle();
    let y: Vec<f64> = x.iter().zip(off).map(|(x, off)| 2.0 * x + off).collect();
    let rows = against(&x, &y);
    let [low, high] = rows[1].interval.unwrap();
    assert!(1.4 < low && low < 2.0 && 1.8 < high && high < 2.6, "{low} {high}");
    assert_eq!(rows[0].interval, None, "no interval of a rank correlation was tried");
}

#[test]
fn too_few_or_too_equal_numbers_are_refused() {
    let reason = |x: &[f64], y: &[f64]| {
        let rows = against(x, y);
        assert_eq!((rows.len(), rows[0].p, rows[0].test), (1, None, "spearman"));
        rows[0].reason.clone()
    };
    assert_eq!(reason(&[1.0, 2.0, 3.0], &[1.0, 3.0, 2.0]), "needs four animals with both numbers");
    let (flat, some) = ([1.0; 4], [1.0, 3.0, 2.0, 5.0]);
    assert_eq!(reason(&flat, &some), "one of the two does not vary");
    assert_eq!(reason(&some, &flat), "one of the two does not vary");
    assert_eq!(against(&some, &[4.0, 1.0, 2.0, 3.0]).len(), 2, "four are enough");
}

/// Two head north and two east: R = √8 of 4, r = √½, and Rayleigh's n r² = 2. Towards 45° all of R
/// counts, V = √8 and u = V √(2/4) = 2; towards north two of the four do, u = 2 √½.
#[test]
fn directions_are_tested_against_none_and_against_one() {
    let headings = [0.0, 90.0, 0.0, 90.0].map(Bearing::from_degrees);
    let rows = directions::tests(&headings, Some(Bearing::from_degrees(45.0)));
    assert_eq!(rows.len(), 2);
    let [rayleigh, v] = [&rows[0], &rows[1]];
    assert_eq!((rayleigh.test, rayleigh.effect_name), ("rayleigh", "mean_resultant_length"));
    assert_eq!(rayleigh.animals, [4]);
    assert_relative_eq!(rayleigh.statistic.unwrap(), 2.0, max_relative = 1e-12);
    assert_relative_eq!(rayleigh.effect.unwrap(), 0.5_f64.sqrt(), max_relative = 1e-12);
    // exp( √(1 + 16 + 4 (16 − 8)) − 9 ) = exp(7 − 9)
    assert_relative_eq!(rayleigh.p.unwrap(), (-2.0_f64).exp(), max_relative = 1e-12);
    assert_eq!((v.test, v.groups.as_str(), v.animals.as_slice()), ("v_test", "45", [4].as_slice()));
    assert_relative_eq!(v.statistic.unwrap(), 2.0, max_relative = 1e-12);
    assert_relative_eq!(v.effect.unwrap(), 0.5_f64.sqrt(), max_relative = 1e-12);
    // 1 − Φ(2) + φ(2) ((6 − 8)/64 + (30 + 2440 − 4000 + 1152)/73728), and only one way counts.
    assert_abs_diff_eq!(v.p.unwrap(), 0.020_786, epsilon = 1e-6);
    assert_eq!(v.effect_name, "mean_component");
    assert!(v.reason.starts_with("one-sided"), "{v:?}");
    let north = &directions::tests(&headings, Some(Bearing::from_degrees(0.0)))[1];
    assert_relative_eq!(north.statistic.unwrap(), 2.0_f64.sqrt(), max_relative = 1e-12);
    assert_abs_diff_eq!(north.effect.unwrap(), 0.5, epsilon = 1e-12);
    assert_eq!(directions::tests(&headings, None).len(), 1);
    let few = directions::tests(&headings[..3], Some(Bearing::from_degrees(0.0)));
    assert_eq!((few.len(), few[0].p), (1, None));
    assert_eq!(few[0].reason, "needs four animals with a net bearing");
}
